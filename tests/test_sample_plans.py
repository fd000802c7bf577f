"""The sample plans are what their script draws, and their tracing agrees with their stated quantities."""

import json
import math
import subprocess
import sys
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pikepdf
import pymupdf
import pytest
from PIL import Image

ROOT = Path(__file__).parent.parent
PLANS = ROOT / "sample_plans"
JSON_FILES = ("facility-edits.json", "facility-metric-edits.json", "facility-scan-edits.json", "facility-truth.json",
              "facility-set-truth.json")  # fmt: skip
PDF_FILES = {"facility-imperial.pdf": 3, "facility-metric.pdf": 1, "facility-set.pdf": 8}
FIGURES = ("gross_area", "deducted_area", "net_area", "return_area", "base_length")
POINT = 0.0254 / 72

# metres to the point along x and y: 1/4" = 1'-0" is 1:48; the scan is the imperial sheet stretched by 0.997 and 1.002
SCALES = {
    "facility-edits.json": (48 * POINT, 48 * POINT),
    "facility-metric-edits.json": (50 * POINT, 50 * POINT),
    "facility-scan-edits.json": (48 * POINT / 0.997, 48 * POINT / 1.002),
}


@pytest.fixture(scope="module")
def redrawn(made_once):
    def fill(folder):
        for script in ("sample_plans.draw", "sample_plans.bidset"):
            subprocess.run([sys.executable, "-m", script, str(folder)], cwd=ROOT, check=True, capture_output=True)

    return made_once("plans-drawn", fill)


@pytest.fixture(scope="module")
def truth():
    return read("facility-truth.json")


def read(name, folder=PLANS):
    return json.loads((folder / name).read_text(encoding="utf-8"))


def metres(value):
    """Turn a length of the edits files into metres: a number, or feet and inches as the plan writes them."""
    if isinstance(value, int | float):
        return float(value)
    feet, _, inches = value.rpartition("-") if "'" in value else ("0'", "", value)
    return int(feet.rstrip("'")) * 0.3048 + int(inches.rstrip('"')) * 0.0254


def sides(run, scale):
    """List a run's segments as (start, end, bulge) in metres."""
    points = [(x * scale[0], y * scale[1]) for x, y in run["points"]]
    pairs = list(zip(points, points[1:] + points[:1], strict=True))[: None if run["closed"] else -1]
    return [(a, b, bulge) for (a, b), bulge in zip(pairs, run.get("bulges", [0] * len(pairs)), strict=True)]


def side_length(side):
    a, b, bulge = side
    angle = 4 * math.atan(abs(bulge))
    return math.dist(a, b) * (angle / 2 / math.sin(angle / 2) if bulge else 1.0)


def measured(edits, scale):
    """Measure each run of an edits file by plain sums; tops are level or straight between corners."""
    rooms = {room["id"]: room for room in edits["rooms"]}
    found = {}
    for run in edits["runs"]:
        length = sum(side_length(side) for side in sides(run, scale)) * (2 if run["face"] == "both" else 1)
        top = run.get("height", rooms[run["room"]]["height"])
        if isinstance(top, list):
            gross = sum((b[0] - a[0]) * (a[1] + b[1]) / 2 for a, b in pairwise(top))
            lowest = min(h for _, h in top)
        else:
            lowest = metres(top)
            gross = length * lowest
        figures = dict.fromkeys(FIGURES, 0.0) | {"gross_area": gross, "base_length": length}
        for o in run.get("openings", ()):
            width, height, sill, reveal = (metres(o.get(k, 0)) for k in ("width", "height", "sill", "reveal"))
            figures["deducted_area"] += width * max(0.0, min(sill + height, lowest) - sill)
            figures["base_length"] -= width if sill == 0 else 0.0
            figures["return_area"] += reveal * (2 * height + 2 * width) if o.get("coated") else 0.0
        for end in run.get("ends", ()):
            figures["return_area"] += metres(run["thickness"]) * lowest if end == "return" else 0.0
        figures["net_area"] = gross - figures["deducted_area"]
        found[run["id"]] = figures
    return found


@pytest.mark.parametrize("name", JSON_FILES)
def test_json_files_are_what_the_script_writes(name, redrawn):
    assert read(name, redrawn) == read(name)


@pytest.mark.parametrize(("name", "pages"), PDF_FILES.items())
def test_plans_are_what_the_script_draws(name, pages, redrawn):
    with pymupdf.open(PLANS / name) as kept, pymupdf.open(redrawn / name) as drawn:
        assert kept.page_count == drawn.page_count == pages
        for a, b in zip(kept, drawn, strict=True):
            assert a.get_text("words") == b.get_text("words")
            assert len(a.get_drawings()) == len(b.get_drawings()) > 20


def test_scan_is_what_the_script_makes(redrawn):
    with Image.open(PLANS / "facility-scan.png") as kept, Image.open(redrawn / "facility-scan.png") as drawn:
        assert kept.size == drawn.size
        assert kept.mode == "L"
        assert kept.info["dpi"] == pytest.approx((200, 200), abs=0.001)
        # another version of the renderer may shade edges a little differently
        assert np.abs(np.asarray(kept, dtype=np.int16) - np.asarray(drawn)).mean() < 1.0


def test_sample_plans_stay_small():
    assert sum(path.stat().st_size for path in PLANS.iterdir() if path.is_file()) < 5_000_000
    assert (PLANS / "facility-scan.png").stat().st_size < 3_000_000


@pytest.mark.parametrize("name", SCALES)
def test_tracing_measures_to_the_true_quantities(name, truth):
    found = measured(read(name), SCALES[name])
    assert found.keys() == truth["runs"].keys()
    for run, figures in found.items():
        for key in FIGURES:
            assert figures[key] == pytest.approx(truth["runs"][run][key], abs=2e-5), (run, key)


def test_true_totals_are_the_sums_of_rooms_and_of_runs(truth):
    for key, total in truth["total"].items():
        for parts in (truth["rooms"], truth["runs"]):
            assert sum(part[key] for part in parts.values()) == pytest.approx(total, abs=1e-5), key


def test_net_is_gross_less_deducted_everywhere(truth):
    for part in (*truth["rooms"].values(), *truth["runs"].values(), truth["total"]):
        assert part["net_area"] == pytest.approx(part["gross_area"] - part["deducted_area"], abs=2e-6)
        assert 0 < part["net_area"] <= part["gross_area"]


def test_process_room_agrees_with_a_hand_worked_figure(truth):
    # 36' x 22' room 12' high: 116 x 12 = 1392 sf; one 6070 (42), two 6' x 4' (48), one 5' x 3' (15): 1287 sf
    walls = truth["runs"]["104-walls"]
    assert walls["gross_area"] / 0.3048**2 == pytest.approx(1392, abs=1e-3)
    assert walls["net_area"] / 0.3048**2 == pytest.approx(1287, abs=1e-3)
    assert walls["base_length"] / 0.3048 == pytest.approx(110, abs=1e-4)
    # two windows, 4 in deep reveals, 20' round each: 2 x 20 x 1/3 = 13.33 sf
    assert walls["return_area"] / 0.3048**2 == pytest.approx(40 / 3, abs=1e-3)


def test_store_has_trapezoids_at_both_gables(truth):
    # 15'-8" wide falling from 12' to 9', 22' deep: 2 x 15.667 x 10.5 + 22 x 12 + 22 x 9 = 791 sf
    assert truth["runs"]["107-walls"]["gross_area"] / 0.3048**2 == pytest.approx(791, abs=1e-3)


def test_wainscot_top_cuts_the_pass_through(truth):
    # doors to 4': 3 x 6' and 5 x 3' wide = 33' x 4' = 132 sf; pass-through 4' wide from 3' to 4' = 4 sf
    assert truth["runs"]["101-walls"]["deducted_area"] / 0.3048**2 == pytest.approx(136, abs=1e-3)


def layer_corners(page, layers):
    corners = []
    for path in page.get_drawings():
        if path.get("layer") in layers:
            for item in path["items"]:
                if item[0] == "re":
                    r = item[1]
                    corners += [r.tl, r.tr, r.bl, r.br]
                else:
                    corners += [p for p in item[1:] if isinstance(p, pymupdf.Point)]
    return np.array([(p.x, p.y) for p in corners])


@pytest.mark.parametrize(
    ("plan", "edits"),
    [("facility-imperial.pdf", "facility-edits.json"), ("facility-metric.pdf", "facility-metric-edits.json")],
)
def test_traced_corners_are_corners_of_the_drawn_walls(plan, edits):
    with pymupdf.open(PLANS / plan) as doc:
        drawn = layer_corners(doc[0], {"A-WALL", "A-COLS"})
    for run in read(edits)["runs"]:
        if run["line"] == "face":
            for point in run["points"]:
                assert np.hypot(*(drawn - point).T).min() < 0.01, (run["id"], point)


def test_scan_shows_wall_behind_each_traced_face_and_paper_before_it():
    with Image.open(PLANS / "facility-scan.png") as image:
        grey = np.asarray(image)
    for run in read("facility-scan-edits.json")["runs"]:
        if run["line"] != "face" or "bulges" in run:
            continue
        points = run["points"]
        for a, b in zip(points, points[1:] + points[:1], strict=True):
            along = np.subtract(b, a) / math.dist(a, b)
            right = np.array([-along[1], along[0]])
            coated = right if run["face"] == "right" else -right
            spots = np.array([np.add(a, np.subtract(b, a) * f) for f in np.linspace(0.02, 0.98, 200)])
            wall, room = ((spots + coated * d) * 200 / 72 for d in (-4.0, 4.0))
            tone = [np.median(grey[p[:, 1].astype(int), p[:, 0].astype(int)]) for p in (wall, room)]
            assert 120 < tone[0] < 220, run["id"]
            assert tone[1] > 235, run["id"]


def test_metric_plan_carries_its_scale_and_the_imperial_set_does_not():
    with pikepdf.open(PLANS / "facility-metric.pdf") as pdf:
        (viewport,) = pdf.pages[0].VP
        measure = viewport.Measure
        assert str(measure.Subtype) == "/RL"
        assert str(measure.R) == "1:50"
        # ISO 32000-2, 12.9: the first factor turns points into the unit; at 1:50 a point is 25.4 / 72 x 50 mm
        assert float(measure.X[0].C) == pytest.approx(25.4 / 72 * 50, rel=1e-6)
        assert str(measure.X[0].U) == "mm"
        box = [float(v) for v in viewport.BBox]
        height = float(pdf.pages[0].MediaBox[3])
    assert box[0] < box[2]
    assert box[1] < box[3]
    for run in read("facility-metric-edits.json")["runs"]:
        for x, y in run["points"]:
            assert box[0] < x < box[2]
            assert box[1] < height - y < box[3]
    with pikepdf.open(PLANS / "facility-imperial.pdf") as pdf:
        assert all("/VP" not in page for page in pdf.pages)


@pytest.mark.parametrize("name", PDF_FILES)
def test_no_two_texts_on_a_sheet_touch(name):
    with pymupdf.open(PLANS / name) as doc:
        for page in doc:
            lines = [line for block in page.get_text("dict")["blocks"] for line in block.get("lines", ())]
            boxes = []
            for line in lines:
                box, upright = pymupdf.Rect(line["bbox"]), abs(line["dir"][1]) > 0.5
                trim = 0.22 * (box.width if upright else box.height)
                across, down = (trim, 0) if upright else (0, trim)
                box = pymupdf.Rect(box.x0 + across, box.y0 + down, box.x1 - across, box.y1 - down)
                boxes.append((box, line))
            assert len(boxes) > 20
            for (a, line_a), (b, line_b) in combinations(boxes, 2):
                assert (a & b).is_empty, (line_a["spans"][0]["text"], line_b["spans"][0]["text"])
            assert all(page.rect.contains(a) for a, _ in boxes)


def test_finish_schedule_reads_as_a_table():
    with pymupdf.open(PLANS / "facility-imperial.pdf") as doc:
        rows = doc[2].find_tables(clip=(110, 140, 2000, 520)).tables[0].extract()
    head = "ROOM NO.|ROOM NAME|FLOOR|BASE|WALL N|WALL E|WALL S|WALL W|CEILING|HEIGHT|REMARKS"
    assert rows[0] == head.split("|")
    edits = {room["number"]: room for room in read("facility-edits.json")["rooms"]}
    assert [row[0] for row in rows[1:]] == sorted(edits)
    for row in rows[1:]:
        room = edits[row[0]]
        assert row[1] == room["name"].upper()
        assert row[9].split(" TO ")[0] == room["height"]
        assert (row[3] == "B1") == ("cove" in room)
