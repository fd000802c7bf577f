"""Tables and pictures of a planned job: what stands in them, and that they are pictures."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from datetime import date, datetime

import pytest
from shapely.geometry import box

from takeoff.estimate.days.works import DayPlan, PlannedWork, RoomReady
from takeoff.estimate.simulate import Driver, PriceRange
from takeoff.model.cut_lists import CutList, Piece, StockLength, StockPlan
from takeoff.model.figures import Elevation
from takeoff.model.systems import Step
from takeoff.report.planning_pictures import SIDE, tornado_svg, week_pictures
from takeoff.report.planning_tables import cut_table, days_table, drivers_table, range_table, ready_table
from takeoff.report.wall_names import name_walls
from takeoff.system.cutting import cut_rolls
from takeoff.system.hanging import hang_mat
from takeoff.units import Display

SVG = "{http://www.w3.org/2000/svg}"
METRIC = Display(system="metric", precision=1, currency="EUR")


def make_work(room, name, day, start, end, *, kind="work", reason="starts the job"):
    at = [datetime(2026, 3, day, hour) for hour in (start, end)]
    return PlannedWork(
        work=f"{room}/{name}", room=room, step=name, name=name, kind=kind, start=at[0], end=at[1],
        bars=((at[0], at[1]),), crews=("Crew 1",), reason=reason, batches=2,
    )  # fmt: skip


PLAN = DayPlan(
    works=(
        make_work("Wash & <dry>", "Prime", 2, 7, 11),
        make_work("Store", "Prime", 2, 11, 15, reason="waits for Crew"),
        make_work("Wash & <dry>", "Abrade", 4, 7, 8, kind="abrade"),
        make_work("Wash & <dry>", "Glaze", 4, 8, 12, reason="follows its abrading"),
    ),
    rooms=(RoomReady(room="Store", done=datetime(2026, 3, 2, 15), ready=datetime(2026, 3, 5, 15)),),
    finish=datetime(2026, 3, 4, 12),
    days=3,
    hours=21.0,
    bound=20.0,
    abraded=1,
    notes=("1 recoat window is missed and abrading is added before the next step.",),
)
RANGE = PriceRange(
    draws=1000, seed=1, likely=1000.0, mean=1010.0, deviation=50.0, p10=950.0, p50=1005.0, p80=1060.0, p90=1080.0,
    drivers=(
        Driver(id="labour", label="All labour & more", low_price=960.0, high_price=1080.0, share=0.8),
        Driver(id="material", label="All material", low_price=980.0, high_price=1020.0, share=0.2),
    ),
)  # fmt: skip


def rectangles(svg):
    return [
        {k: float(v) if k in ("x", "y", "width", "height") else v for k, v in e.attrib.items()}
        for e in ElementTree.fromstring(svg).iter(f"{SVG}rect")
    ]


def texts(svg):
    return [e.text for e in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def make_face(*, door=(), is_closed=False):
    wall = box(0, 0, 10, 3)
    net = wall.difference(box(*door)) if door else wall
    return Elevation(
        run="a", face="left", room=None, system=None, length=10.0, is_closed=is_closed, top="ceiling", base=0.0,
        wall=wall, net=net, profile=((0.0, 3.0), (10.0, 3.0)), openings=(), corners=(),
        line=(),
    )  # fmt: skip


def test_each_step_of_a_week_is_written_in_its_day_with_its_time_beside_a_bar_as_long_as_its_hours():
    ((title, picture),) = week_pictures(PLAN, width=720.0, height=400.0)
    assert title == "Week from Mon 2026-03-02"
    said = texts(picture)
    assert {"Store", "Wash & <dry>", "Mon 2026-03-02", "Fri 2026-03-06", "08:00 Glaze", "07:00 Abrade"} <= set(said)
    glaze, abrade = ([r for r in rectangles(picture)[1:] if (r.get("stroke-dasharray") is None) != dashed]
                     for dashed in (False, True))  # fmt: skip
    assert len(abrade) == 1
    assert max(r["width"] for r in glaze) == pytest.approx(4 * abrade[0]["width"], abs=0.05)  # 4 h to 1 h
    column = (720.0 - SIDE) / 5
    wednesday = SIDE + 2 * column
    assert all(wednesday <= r["x"] <= wednesday + column for r in abrade)


def test_a_week_with_more_rooms_than_a_page_holds_goes_on_and_every_week_has_its_own():
    days = [date(2026, 3, 2), date(2026, 3, 3), date(2026, 3, 9)]
    hours = {
        day: (datetime(day.year, day.month, day.day, 7), datetime(day.year, day.month, day.day, 9)) for day in days
    }
    works = tuple(
        replace(PLAN.works[0], work=f"{room}{day}", room=f"Room {room}", bars=(hours[day],))
        for day in days
        for room in range(20)
    )
    pictures = week_pictures(replace(PLAN, works=works, rooms=()), width=720.0, height=250.0)
    assert len(pictures) == 4
    for monday, n in (("2026-03-02", 40), ("2026-03-09", 20)):
        pages = [p for p in pictures if monday in p[0]]
        assert sum(text.startswith("07:00") for p in pages for text in texts(p[1])) == n


def test_a_plan_of_nothing_has_no_week():
    empty = replace(PLAN, works=(), rooms=(), finish=None, days=0, hours=0.0, bound=0.0, abraded=0, notes=())
    assert week_pictures(empty, width=720.0, height=400.0) == ()
    assert days_table(empty).rows == ()


def test_bars_of_the_spread_are_as_wide_as_their_prices_are_apart():
    svg = tornado_svg(RANGE, "EUR")
    bars = [r["width"] for r in rectangles(svg)[1:]]
    # 40 and 80 about the likely price, then 20 and 20
    assert [bar / bars[2] for bar in bars] == pytest.approx([2.0, 4.0, 1.0, 1.0], abs=0.01)
    assert "All labour & more (80 %)" in texts(svg)
    assert any("P10 950   P50 1,005   P80 1,060" in text for text in texts(svg))


def test_the_cut_list_names_every_cut_its_roll_and_what_is_left():
    layout = hang_mat(make_face(), Step(id="m", name="Mat", kind="mat", basis="net_area", lap=0.05), width=1.27)
    rolls = cut_rolls([layout], roll_length=10.0)
    stock = StockPlan(
        stock_length=3.0, lower_bound=1, first_fit=1, joints=0,
        stock=(StockLength(number=1, left=0.9, pieces=(Piece(label="jamb", length=2.1),)),),
    )  # fmt: skip
    cuts = [CutList(product="m", name="Mat", rolls=rolls), CutList(product="t", name="Trim", lengths=stock)]
    table = cut_table(cuts, METRIC, name_walls([make_face()], {"": "Store"}))
    assert [row[2] for row in table.rows if row[0] == "Mat"] == list(range(1, 10))
    assert [row[1] for row in table.rows][:4] == ["roll 1", "roll 1", "roll 1", "roll 2"]
    assert [row[7] for row in table.rows][:4] == ["", "", "1.000 m", ""]
    assert {row[5] for row in table.rows if row[0] == "Mat"} == {f"Store, wall, drop {n}" for n in range(1, 10)}
    assert table.rows[-1] == ("Trim", "length 1", 1, "2.100 m", "", "jamb", "", "0.900 m")
    assert "Mat: 3 rolls, no plan takes fewer than 3; waste" in table.note
    assert "Trim: 1 length, no plan takes fewer than 1." in table.note


def test_tables_of_days_and_range_say_what_the_plan_says():
    table = days_table(PLAN)
    assert table.rows[1] == ("Store", "Prime", "Mon 2026-03-02 11:00", "Mon 2026-03-02 15:00", "Crew 1", 2,
                             "waits for Crew")  # fmt: skip
    assert table.note.startswith("3 working days, 21 working hours (at least 20 h).")
    assert ready_table(PLAN).rows == (("Store", "Mon 2026-03-02 15:00", "Thu 2026-03-05 15:00"),)
    assert ("P80: not exceeded in 80 of 100 draws", 1060.0) in range_table(RANGE, "EUR").rows
    assert ("All material", 980.0, 1020.0, 20.0) in drivers_table(RANGE, "EUR").rows


def test_rooms_of_the_days_come_in_the_order_of_the_rooms_not_of_the_work():
    other = replace(PLAN.works[0], room="Attic", work="Attic/x")
    done = replace(PLAN.rooms[0], room="Attic")
    plan = replace(PLAN, works=(*PLAN.works, other), rooms=(done, *PLAN.rooms))
    ((_, picture),) = week_pictures(plan, width=720.0, height=400.0)
    assert picture.index(">Attic<") < picture.index(">Store<")
