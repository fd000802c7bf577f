"""Pages for the author of the drawings, set by typst from data: the check of stated areas, and questions with clips."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from takeoff.audit.areas import BASES
from takeoff.audit.verdict import AreaCheck, CheckLine, leading_texts
from takeoff.report.files import table_csv, write_whole
from takeoff.report.html import address_of, render
from takeoff.report.pdf import paper_name
from takeoff.report.tables import Table, texts
from takeoff.report.typesetting import set_layout
from takeoff.units import Display


def write_check_pdf(check: AreaCheck, path: Path, *, show: Display, source: str, **told: str | list[str]) -> Path:
    """Write the page as PDF; a `ReportError` where it cannot be set or written.

    ``source`` names the table that was checked; ``told`` are words: ``job``, ``date``, ``rule``, ``sheets``.
    """
    differing = [line for line in check.lines if line.verdict == "differs"]
    unclear = [line for line in check.lines if line.verdict == "cannot say"]
    data = {
        **told,
        "paper": paper_name(show),
        "opening": _opening(check, source),
        "basis": f"The stated areas are read as {BASES[check.basis]}.",
        "rows": [_row(line, show) for line in check.lines],
        "leading": [f"{text}." for text in leading_texts(check)],
        "differing": [
            {
                "room": line.room_label,
                "text": f"stated {line.match.stated.text}, measured {show.area(line.measured or 0.0)}: {line.reason}.",
                "causes": [{"text": f"It {c.text}.", "arithmetic": c.arithmetic} for c in line.causes],
            }
            for line in differing
        ],
        "unclear": [f"{line.room_label or line.match.stated.label}: {line.reason}." for line in unclear],
        "notes": [
            *(f"{line.match.stated.label}: {d}." for line in check.lines for d in line.match.doubts),
            *(f"{fault}." for fault in check.faults),
            *(f"{d}." for d in check.doubts),
            *([f"Measured, and not in the table: {', '.join(check.unstated)}."] if check.unstated else []),
        ],
    }
    return write_whole(path, set_layout("check_report.typ", data, {}, remedy="Use --json instead."))


def _opening(check: AreaCheck, source: str) -> str:
    count, off, unclear = len(check.lines), check.count("differs"), check.count("cannot say")
    text = (
        f"We measured the rooms on the drawings named below and compared them with the {count} "
        f"area{'s' * (count != 1)} stated in {source}. {check.count('agrees')} of them agree within what can be "
        f"measured."
    )
    if off:
        text += (
            f" {off} differ{'s' * (off == 1)} by more than that; a likely cause is offered where one makes the figures "
            f"agree. Would you please look at {'it' if off == 1 else 'them'} and tell us which figure to use?"
        )
    if unclear:
        text += f" Of {unclear} area{'s' * (unclear != 1)} nothing can be said, for the reason given below."
    return text


def _row(line: CheckLine, show: Display) -> list[str]:
    def signed(value: float | None) -> str:
        if value is None:
            return ""
        shown = show.area(abs(value))
        return shown if not shown.strip("0.,sfm² ") else f"{'+' if value >= 0 else '−'}{shown}"

    return [
        line.room_label or line.match.stated.label,
        "" if line.height is None else show.length(line.height),
        line.match.stated.text,
        "" if line.measured is None else show.area(line.measured),
        signed(line.difference),
        line.relative_words,
        "" if line.u is None else f"± {show.area(line.u)}",
        line.verdict,
    ]


OPENING = (
    "The drawings do not settle the points below. Until they are answered the bid rests on what is said under each. "
    "Please answer by number."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question: the sheet and places it is about, what is taken meanwhile, and a clip of the plan as PNG.

    ``picture`` is empty where the question has no place; ``key`` is that of the open point or its group.
    """

    number: int
    key: str
    sheet: str
    text: str
    places: tuple[str, ...]
    meanwhile: str
    picture: bytes


def write_questions(
    questions: Sequence[Question], folder: Path, *, job: str, date: str, show: Display
) -> tuple[Path, ...]:
    """Write all questions of a job as tagged PDF, as a web page that needs no network, and as CSV for the answers.

    The paper goes by how figures are shown. A `ReportError` is raised where they cannot be set or written.
    """
    data = {"job": job, "date": date, "opening": OPENING}
    files = {
        "questions.pdf": _pdf(questions, data | {"paper": paper_name(show)}),
        "questions.html": _html(questions, data),
        "questions.csv": _csv(questions),
    }
    return tuple(write_whole(folder / name, written) for name, written in files.items())


def _csv(questions: Sequence[Question]) -> bytes:
    titles = ("Number", "Sheet", "Question", "Where", "Assumed meanwhile", "Answer", "Key")
    rows = tuple((str(q.number), q.sheet, q.text, "; ".join(q.places), q.meanwhile, "", q.key) for q in questions)
    return table_csv(Table(id="questions", title="Questions", columns=texts(*titles), rows=rows))


def _html(questions: Sequence[Question], data: dict[str, str]) -> bytes:
    items = [asdict(q) | {"picture": address_of(q.picture, "png")} for q in questions]
    return render("questions.html.jinja", questions=items, **data)


def _pdf(questions: Sequence[Question], data: dict[str, str]) -> bytes:
    files = {f"{q.number}.png": q.picture for q in questions if q.picture}
    items = [asdict(q) | {"picture": f"{q.number}.png" if q.picture else ""} for q in questions]
    return set_layout("questions.typ", data | {"questions": items}, files, remedy="Use the web page instead.")
