import tomllib

import pytest

from takeoff.errors import CatalogueError
from takeoff.exchange.catalogue_file import default_catalogue, default_catalogue_text, read_catalogue
from takeoff.exchange.catalogue_writer import catalogue_text, put_in, take_out
from takeoff.model.systems import Labour

TWO = """
schema = "takeoff.catalogue/1"
name = "Two"
currency = "EUR"
steps = [
    { id = "prime", name = "Prime", kind = "coat", basis = "net_area", product = "resin", wet_film = "5 mil", labour = "20 m2/h", day = 1 },
    { id = "top", step = "prime", name = "Top coat", wet_film = "8 mil", day = 2 },
]
[[products]]
id = "resin"
name = "Resin"
unit = "L"
packs = [{ name = "kit", size = "3 gal", price = 264 }]
[[systems]]
id = "one"
name = "One"
steps = ["prime", "top"]
[[systems]]
id = "other"
name = "Other"
steps = [
    "prime",
    { step = "prime", id = "again", name = "Prime again", day = 2 },
    { id = "own", name = "Own", kind = "work", basis = "net_area" },
]
"""  # noqa: E501


def steps(text, system):
    return {step.id: step for step in read_catalogue(text.encode()).system(system).steps}


def test_a_rate_is_changed_in_one_place_for_every_system_that_uses_the_step():
    faster = TWO.replace('labour = "20 m2/h"', 'labour = "25 m2/h"')
    for system, id in (("one", "prime"), ("one", "top"), ("other", "prime"), ("other", "again")):
        assert steps(TWO, system)[id].labour == Labour(rate=20.0)
        assert steps(faster, system)[id].labour == Labour(rate=25.0)


def test_a_system_says_what_is_different_with_it():
    again, own = (steps(TWO, "other")[id] for id in ("again", "own"))
    assert (again.name, again.day, again.wet_film) == ("Prime again", 2, pytest.approx(127e-6))
    assert (own.name, own.product) == ("Own", None)
    assert steps(TWO, "one")["top"].wet_film == pytest.approx(203.2e-6)


def test_steps_written_out_in_full_make_the_same_catalogue():
    full = put_in(tomllib.loads(TWO))
    assert [step["id"] for step in full["systems"][1]["steps"]] == ["prime", "again", "own"]
    del full["steps"]
    import tomli_w

    assert read_catalogue(tomli_w.dumps(full).encode()) == read_catalogue(TWO.encode())


def test_a_catalogue_is_written_with_each_step_once_and_read_back_the_same():
    text = catalogue_text(default_catalogue())
    raw = tomllib.loads(text)
    written = [step for system in raw["systems"] for step in system["steps"] if "kind" in step]
    bare = [{key: value for key, value in step.items() if key not in ("day", "id")} for step in raw["steps"] + written]
    assert all(bare.count(step) == 1 for step in bare)
    assert [[step.id for step in s.steps] for s in read_catalogue(text.encode()).systems] == [
        [step.id for step in s.steps] for s in default_catalogue().systems
    ]
    assert catalogue_text(read_catalogue(text.encode())) == text


def test_the_shipped_catalogue_writes_no_labour_rate_of_a_step_twice():
    raw = tomllib.loads(default_catalogue_text())
    own = [step for system in raw["systems"] for step in system["steps"] if isinstance(step, dict) and "kind" in step]
    rates = [(step["id"], step["labour"]) for step in [*raw["steps"], *own] if "labour" in step]
    assert len(rates) == len(set(rates))


def test_taking_out_and_putting_in_gives_the_same_steps():
    full = put_in(tomllib.loads(TWO))["systems"]
    listed, using = take_out(full)
    assert put_in({"steps": listed, "systems": using})["systems"] == full


@pytest.mark.parametrize(
    ("old", "new", "line", "found"),
    [
        ('"8 mil"', '"8 miles"', '"8 miles"', "not a film"),
        ('kind = "coat", basis', 'kind = "magic", basis', '"magic"', "magic"),
        ('steps = ["prime", "top"]', 'steps = ["prime", "topp"]', 'id = "one"', 'no step "topp"'),
        ('step = "prime", name', 'step = "later", name', "", 'no step "later"'),
        ('id = "top"', 'id = "prime"', 'id = "prime", name', "same id"),
        ('id = "again", name', 'id = "again", coat = 2, name', 'step = "prime", id = "again"', 'no key "coat"'),
    ],
)  # fmt: skip
def test_a_fault_in_a_step_is_refused_with_its_place(old, new, line, found):
    text = TWO.replace(old, new, 1)
    with pytest.raises(CatalogueError) as caught:
        read_catalogue(text.encode())
    assert found in caught.value.message
    if line:
        number = next(n for n, words in enumerate(text.splitlines(), start=1) if line in words)
        assert f"line {number}," in caught.value.where
