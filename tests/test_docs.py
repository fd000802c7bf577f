"""The pages under docs/: they build, leave nothing out, their commands run, and their figures are the program's."""

from __future__ import annotations

import ast
import contextlib
import importlib
import io
import json
import math
import operator
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

import pytest

from takeoff import actions
from takeoff.cli.main import run
from takeoff.exchange import catalogue_file, edits_entries, job_json
from takeoff.exchange.catalogue_file import read_catalogue
from takeoff.gui.commands import COMMANDS
from takeoff.gui.dialogs.job_dialogs import OTHER_KEYS
from takeoff.measure.rules import RULES
from takeoff.model.systems import Basis, Hazard, StepKind, Substrate
from takeoff.units import FOOT, SQUARE_FOOT, US_GALLON_LITRES
from tests.conftest import MadeOnce

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
PAGES = sorted(path.name for path in DOCS.glob("*.md"))
DEMO = "takeoff demo --out demo"
CUT = (250, 528, 2472, 1556)
"""Pixels of the sample scan that hold the dimensions of one room."""
COARSER = 0.72
"""Part of the scan's pixels that the cut is brought to: its letters are still read, and it is read in one part."""
HALF = 0.5000001
pytestmark = pytest.mark.usefixtures("sheets_read_once")


def text_of(page: str) -> str:
    return (DOCS / page).read_text(encoding="utf-8")


def section(page: str, heading: str) -> str:
    """What stands under a heading of the second level, up to the next."""
    found = re.search(rf"^## {re.escape(heading)}\n(.*?)(?=^## |\Z)", text_of(page), re.DOTALL | re.MULTILINE)
    assert found is not None, f"{page} has no heading {heading}"
    return found[1]


def keys_in(part: str) -> list[str]:
    """Names in code in the first column of the tables of a part."""
    return [name for row in re.findall(r"^\| ([^|]*)\|", part, re.MULTILINE) for name in re.findall(r"`([^`]+)`", row)]


@pytest.fixture
def script(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], Any]:
    """Import a script of docs/."""
    monkeypatch.syspath_prepend(str(DOCS))
    return importlib.import_module


# -- the site ------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    words = [sys.executable, "-m", "mkdocs", "build", "--strict", "--site-dir", str(folder)]
    built = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert built.returncode == 0, built.stderr
    assert "WARNING" not in built.stderr
    return folder


def test_site_builds_without_a_warning_and_has_every_page(site):
    assert {path.stem for path in site.glob("*.html")} - {"404"} == {Path(page).stem for page in PAGES}


def test_site_takes_nothing_from_the_network(site):
    for path in site.rglob("*.html"):
        loaded = re.findall(r'<(?:script|link|img)[^>]*(?:src|href)="((?:https?:)?//[^"]+)"', path.read_text())
        assert loaded == [], path.name
    for path in site.rglob("*.css"):
        assert re.findall(r"url\(['\"]?(?:https?:)?//", path.read_text()) == [], path.name


@pytest.mark.parametrize("page", [*PAGES, "../README.md", "../DEVELOPERS.md", "../sample_plans/README.md"])
def test_every_link_to_a_file_leads_somewhere(page):
    path = DOCS / page
    for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", path.read_text(encoding="utf-8")):
        if "://" not in target:
            assert (path.parent / target).exists(), target


def test_every_picture_and_drawing_is_used_and_small():
    used = {Path(t).name for page in PAGES for t in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", text_of(page))}
    made = [*(DOCS / "pictures").iterdir(), *(DOCS / "drawings").iterdir()]
    assert {path.name for path in made} == used
    assert max(path.stat().st_size for path in made) <= 150_000


# -- nothing is left out -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("page", PAGES)
def test_tables_of_commands_options_and_keys_are_those_of_the_program(page, script):
    assert script("make_tables").with_tables(text_of(page)) == text_of(page), "run: python docs/make_tables.py"


def test_every_command_and_option_has_its_place(script):
    tables = script("make_tables")
    for name, command in tables.commands().items():
        part = section("commands.md", name)
        for parameter in command.params:
            names = [n for n in parameter.opts if n.startswith("-")]
            assert all(n in part or n in tables.SHARED for n in names), (name, names)
    general = section("commands.md", "What holds for all")
    for option in ("--version", "--debug", *tables.SHARED):
        assert f"`{option}`" in general


def test_every_command_has_an_example(script):
    for name in script("make_tables").commands():
        part = section("commands.md", name)
        assert re.search(
            rf"^takeoff {name}\b", "\n".join(re.findall(r"```sh\n(.*?)```", part, re.DOTALL)), re.MULTILINE
        )


def test_every_command_and_key_of_the_window_is_described():
    page = text_of("window.md")
    for c in COMMANDS:
        assert f"| {c.menu} | {c.label.rstrip('…')} |" in page
        assert not c.key_text or f"`{c.key_text}`" in page
    for key, what in OTHER_KEYS:
        assert f"| `{key}` | {what} |" in page


@pytest.mark.parametrize("rule", RULES)
def test_every_measuring_rule_has_its_section_with_drawing_and_the_programs_figure(rule, script):
    part = section("measuring-rules.md", rule)
    assert f"drawings/rule-{rule}.svg" in part
    measured = RULES[rule].measured_area(script("make_drawings").whole_wall())
    (figure,) = re.findall(r"\*\*([0-9.]+) m²\*\*", part)
    assert float(figure) == pytest.approx(measured, abs=0.005)
    if " = " in part:
        worked = re.search(r"^([0-9][^=\n]*) = \*\*", part, re.MULTILINE)
        assert worked is not None
        assert evaluate(worked[1]) == pytest.approx(float(figure), abs=1e-9)


def test_drawings_are_those_that_the_script_makes(script):
    drawn = script("make_drawings").all_drawings()
    assert {path.stem for path in (DOCS / "drawings").iterdir()} == set(drawn)
    for name, svg in drawn.items():
        assert (DOCS / "drawings" / f"{name}.svg").read_text(encoding="utf-8") == svg, (
            "run: python docs/make_drawings.py"
        )


@pytest.mark.parametrize(
    ("page", "heading", "entry"),
    [
        ("catalogue.md", "The file", catalogue_file.CatalogueEntry),
        ("catalogue.md", "A product", catalogue_file.ProductEntry),
        ("catalogue.md", "A pack", catalogue_file.PackEntry),
        ("catalogue.md", "A system", catalogue_file.SystemEntry),
        ("catalogue.md", "Rates", catalogue_file.RatesEntry),
        ("catalogue.md", "People of a crew", catalogue_file.PersonEntry),
        ("catalogue.md", "A line of your own", catalogue_file.LineEntry),
        ("edits-file.md", "The file", edits_entries.EditsFile),
        ("edits-file.md", "A room", edits_entries.RoomEntry),
        ("edits-file.md", "A run", edits_entries.RunEntry),
        ("edits-file.md", "An opening", edits_entries.OpeningEntry),
        ("edits-file.md", "A cove", edits_entries.CoveEntry),
        ("job-file.md", "JSON out and in", job_json.JobFile),
    ],
)
def test_every_key_of_a_file_is_described_and_no_other(page, heading, entry):
    assert keys_in(section(page, heading)) == sorted(
        keys_in(section(page, heading)), key=keys_in(section(page, heading)).index
    )
    assert sorted(keys_in(section(page, heading))) == sorted(entry.__struct_encode_fields__)


def test_every_key_kind_and_basis_of_a_step_is_described_and_no_other():
    keys, kinds, bases = re.split(r"^### .*\n", section("catalogue.md", "A step"), flags=re.MULTILINE)
    assert sorted(keys_in(keys)) == sorted(catalogue_file.StepUse.__struct_fields__)
    assert set(keys_in(kinds)) == set(get_args(StepKind))
    assert set(keys_in(bases)) == set(get_args(Basis))


def test_every_hazard_and_substrate_is_named():
    assert all(f'`"{h}"`' in section("catalogue.md", "A product") for h in get_args(Hazard))
    assert all(f'`"{s}"`' in section("catalogue.md", "Rates") for s in get_args(Substrate))


def test_defaults_of_rates_are_those_of_the_program():
    from takeoff.model.systems import Rates

    for name, stated in re.findall(
        r"^\| `(\w+)` \|[^|]*\| ([0-9.]+) \|$", section("catalogue.md", "Rates"), re.MULTILINE
    ):
        assert float(stated) == getattr(Rates(), name), name


# -- commands run --------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Fence:
    """A fenced block of a page: language, text, and what the comment before it says."""

    language: str
    text: str
    name: str = ""
    reason: str = ""
    code: int = 0
    is_on_cut: bool = False


def fences(text: str) -> Iterator[Fence]:
    pattern = r"(?:<!-- (file|not run|exits with 1|on a cut): (.*?) -->\n)?```(\w*)\n(.*?)```"
    for kind, words, language, body in re.findall(pattern, text, re.DOTALL):
        yield Fence(
            language=language,
            text=body,
            name=words if kind == "file" else "",
            reason=words if kind == "not run" else "",
            code=1 if kind == "exits with 1" else 0,
            is_on_cut=kind == "on a cut",
        )


def called(words: list[str]) -> tuple[int, str, str]:
    """Run the program in this process: exit code, what went to stdout, and what went to stderr."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(words)
    return code, out.getvalue(), err.getvalue()


def run_line(line: str, code: int) -> None:
    """Run one command line of a page: takeoff in this process, python in another."""
    words = shlex.split(line, comments=True)
    assert not {"|", "&&", ";", "||", "&"} & set(words), "write it on lines of its own"
    target = words[words.index(">") + 1] if ">" in words else ""
    if target:
        words = words[: words.index(">")]
    if words[0] == "python":
        call = [sys.executable, *words[1:]]
        done = subprocess.run(call, env={"PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=False)
        assert done.returncode == code, done.stderr
        return
    assert words[0] == "takeoff", line
    found, out, err = called(words[1:])
    assert found == code, f"{line}\n{err}"
    if target:
        Path(target).write_text(out, encoding="utf-8")


@contextlib.contextmanager
def scan_cut_down() -> Iterator[None]:
    """Cut the sample scan down to a few of its dimensions: reading the text of all of it takes a minute."""
    from PIL import Image, ImageOps

    path = Path("sample_plans/facility-scan.png")
    whole = path.read_bytes()
    with Image.open(path) as scan:
        cut = ImageOps.scale(scan.crop(CUT), COARSER)
        cut.save(path, dpi=[COARSER * dpi for dpi in scan.info["dpi"]])
    yield
    path.write_bytes(whole)


def run_fences(text: str, demo: Path) -> int:
    """Write the files and run the commands of a page in order; return the number of commands.

    ``demo`` is the folder that ``takeoff demo --out demo`` made: where a page has that line, a copy of it is taken.
    """
    count = 0
    for fence in fences(text):
        if fence.name:
            Path(fence.name).write_text(fence.text, encoding="utf-8")
        elif fence.language == "sh" and not fence.reason:
            with scan_cut_down() if fence.is_on_cut else contextlib.nullcontext():
                for line in fence.text.splitlines():
                    if line == DEMO:
                        shutil.copytree(demo, "demo")
                    elif line.strip() and not line.startswith("#"):
                        run_line(line, fence.code)
                    count += 1
    return count


@pytest.fixture
def demo(demo_made: Path) -> Path:
    """What the line ``takeoff demo --out demo`` makes, run once for all pages that have it."""
    return demo_made / "demo"


@pytest.fixture(scope="module")
def bid(wing_made: Path) -> Path:
    """The job of the tutorial, at its end."""
    return wing_made


def furnish(folder: Path, bid: Path) -> None:
    """Make a folder as the pages expect it: the sample plans, and the job of the tutorial."""
    plans = folder / "sample_plans"
    shutil.copytree(actions.sample_plans(), plans, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(bid, folder / "bid.takeoff")


@pytest.fixture
def folder(tmp_path: Path, bid: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder as the pages expect it, to work in."""
    furnish(tmp_path, bid)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(scope="module")
def ran(made_once: MadeOnce, bid: Path, demo_made: Path) -> Callable[[str], Path]:
    """Run the commands of a page, once for all tests: the folder where they ran; ``count.txt`` says how many."""

    def run_page(page: str) -> Path:
        def fill(folder: Path) -> None:
            furnish(folder, bid)
            with contextlib.chdir(folder):
                count = run_fences(text_of(page), demo_made / "demo")
            (folder / "count.txt").write_text(str(count))

        return made_once(f"page-{page.removesuffix('.md')}", fill)

    return run_page


@pytest.mark.long
@pytest.mark.parametrize("page", [page for page in PAGES if "```sh" in text_of(page)])
def test_every_command_of_a_page_runs(page, ran):
    assert int((ran(page) / "count.txt").read_text()) > 0


def test_every_command_that_is_not_run_says_why():
    left_out = [fence for page in PAGES for fence in fences(text_of(page)) if fence.reason]
    assert {fence.reason for fence in left_out} == {"opens a window and waits for a person"}
    assert all(re.fullmatch(r"takeoff open( \S+)?\n", fence.text) for fence in left_out)


def test_the_job_by_hand_of_the_readme_runs(folder, demo):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (block,) = (fence.text for fence in fences(text) if "takeoff new" in fence.text)
    shutil.copy("sample_plans/facility-imperial.pdf", "plans.pdf")
    shutil.copy("sample_plans/facility-edits.json", "walls.json")
    Path("bid.takeoff").unlink()
    assert run_fences(f"```sh\n{block}```", demo) >= 6


def test_files_of_the_pages_are_json_and_toml():
    names = [fence.name for page in PAGES for fence in fences(text_of(page)) if fence.name]
    assert len(names) == len(set(names))
    for page in PAGES:
        for fence in fences(text_of(page)):
            if fence.language == "json":
                json.loads(fence.text)
            elif fence.language == "toml" and fence.name == "letterhead.toml":
                tomllib.loads(fence.text)  # the page's report is made with it
            elif fence.language == "toml":
                read_catalogue(fence.text.encode())


# -- figures are the program's -------------------------------------------------------------------------------------

OPERATORS: dict[type, Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


def evaluate(words: str) -> float:
    """Work out arithmetic as a page writes it."""
    plain = words.translate({ord("×"): "*", ord("÷"): "/", ord("−"): "-"})

    def value(node: ast.AST) -> float:
        if isinstance(node, ast.BinOp):
            return OPERATORS[type(node.op)](value(node.left), value(node.right))
        if isinstance(node, ast.Name):
            assert node.id == "π"
            return math.pi
        assert isinstance(node, ast.Constant), words
        return float(node.value)

    return value(ast.parse(plain.strip(), mode="eval").body)


def worked_rows() -> list[tuple[str, str, str]]:
    rows = re.findall(r"^\| (.*?) \| (.*?) \| ([0-9.]+) \|$", text_of("estimate-worked.md"), re.MULTILINE)
    return [(label, how, result) for label, how, result in rows]


def unit_in_last_place(result: str) -> float:
    return 10.0 ** -len(result.partition(".")[2])


@pytest.mark.parametrize("row", worked_rows(), ids=lambda row: row[0][:40])
def test_arithmetic_of_the_worked_estimate_gives_the_figure_beside_it(row):
    _, how, result = row
    assert evaluate(how) == pytest.approx(float(result), abs=HALF * unit_in_last_place(result))


def figures_of_the_program(measured: Any, estimated: Any) -> dict[str, float]:
    """Figures by the names that the worked estimate gives them, in its units."""
    total = measured["total"]
    found = {
        key: value / (SQUARE_FOOT if key.endswith("_area") else FOOT)
        for key, value in total.items()
        if "_" in key and isinstance(value, float)
    }
    found["length"] = total["length"] / FOOT
    found["u_net_area"] = total["u"]["net_area"] / SQUARE_FOOT
    for line in estimated["materials"]:
        found[f"need_{line['product']}"] = line["needed"] / US_GALLON_LITRES
        found[f"cost_{line['product']}"] = line["cost"]["amount"]
    for line in estimated["labour"]:
        found[f"hours_{line['step']}"] = line["hours"]
        found[f"labour_{line['step']}"] = line["cost"]["amount"]
    found.update({line["id"]: line["amount"] for line in estimated["price"]})
    found["hours"], found["crew_days"] = estimated["hours"], estimated["crew_days"]
    found["price_per_area"] = estimated["price_per_area"]["amount"] * SQUARE_FOOT
    return found


def test_the_worked_estimate_is_the_programs(ran):
    wash = str(ran("estimate-worked.md") / "wash.takeoff")
    measured = json.loads(called(["measure", wash, "--json"])[1])
    found = figures_of_the_program(measured, json.loads(called(["estimate", wash, "--json"])[1]))
    compared = set()
    for label, _, result in worked_rows():
        name = re.match(r"`(\w+)`", label)
        if name is not None:
            step = unit_in_last_place(result)
            assert found[name[1]] == pytest.approx(float(result), abs=HALF * step), name[1]
            compared.add(name[1])
    assert {"net_area", "coated_area", "u_net_area", "hours", "direct", "price"} <= compared
    prices = {line for line in found if line.startswith(("need_", "cost_", "hours_", "labour_"))}
    assert prices <= compared


def test_the_tutorials_figures_are_the_programs(ran):
    code, out, _ = called(["measure", str(ran("tutorial.md") / "wing.takeoff")])
    assert code == 0
    printed = " ".join(out.split())
    (row,) = re.findall(r"^\| (104 Process .*) \|$", text_of("tutorial.md"), re.MULTILINE)
    for cell in row.split(" | "):
        assert cell in printed, cell


def test_every_key_of_the_measured_json_is_described(bid):
    total = json.loads(called(["measure", str(bid), "--json"])[1])["total"]
    assert set(total) - {"id", "label", "runs"} == set(keys_in(section("commands.md", "measure"))) & set(total)


CHECK = ["check", "bid.takeoff", "sample_plans/area-schedule.csv"]
REVISE = ["revise", "bid.takeoff", "--sheet", "A-101", "--plan", "sample_plans/facility-rev-b.pdf"]


@pytest.mark.parametrize(
    "words",
    [
        ["measure", "bid.takeoff", "--explain"],
        ["estimate", "bid.takeoff"],
        ["sheets", "bid.takeoff"],
        ["history", "bid.takeoff"],
        ["scale", "bid.takeoff", "1", "--ratio", "1:48"],
        ["trace", "bid.takeoff", "A-101", "--at", "500,400"],
        CHECK,
        REVISE,
        ["estimate", "bid.takeoff", "--range", "--draws", "100", "--against", "sheet-panel"],
        ["days", "bid.takeoff", "--start", "2026-03-02", "--limit", "0"],
        ["cut", "bid.takeoff", "--limit", "0"],
        ["progress", "bid.takeoff"],
        ["finishes", "bid.takeoff", "A-601"],
    ],
    ids=lambda words: words[0],
)
def test_every_key_of_a_commands_json_is_named(words, folder):
    found = json.loads(called([*words, "--json"])[1])
    keys = found if isinstance(found, dict) else found[0]
    assert [key for key in keys if f"`{key}`" not in section("commands.md", words[0])] == []


AUTHORS = re.compile(r"\b([A-Z][a-zóé]+)(?: and (?:others|[A-Z][a-z]+))? \(?((?:18|19|20)[0-9]{2})\b")
STANDARDS = re.compile(r"JCGM 100|NIST Handbook 44|WMO No\. 8|MIL-HDBK-\d+|ISO 8502-4|ISO 5455|ISO 32000")


def test_every_source_that_the_program_names_for_its_formulas_stands_among_them():
    page = text_of("formulas.md")
    layers = ("units", "geometry", "measure", "system", "estimate", "sheet", "audit")
    named = set()
    for path in (path for layer in layers for path in (ROOT / "takeoff" / layer).rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        named |= {found[0] for found in AUTHORS.findall(text)} | set(STANDARDS.findall(text))
    assert {"NIST Handbook 44", "JCGM 100", "WMO No. 8"} <= named
    assert {name for name in named if name not in page} - {"Armstrong", "Custom", "Mon"} == set()


def test_check_values_agree_and_the_page_is_as_the_script_makes_it(script):
    made = script("make_check_values")
    assert [value for value in made.all_values() if not value.agrees] == []
    assert text_of("check-values.md") == made.page(), "run: python docs/make_check_values.py"


def test_check_values_would_show_a_difference(script):
    made = script("make_check_values")
    assert not made.Value("a foot", "0.3048", "NIST", 0.3049).agrees
    assert made.Value("a foot", "0.3048", "NIST", 0.30484).agrees
