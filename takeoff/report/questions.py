"""Questions to the author of the drawings: numbered, with clips of the plan and what the bid assumes meanwhile."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from takeoff.report.csv import table_csv
from takeoff.report.files import write_whole
from takeoff.report.html import render
from takeoff.report.pdf import paper_name
from takeoff.report.tables import Table, texts
from takeoff.report.typesetting import set_layout
from takeoff.units import Display

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
    """Write the questions as tagged PDF, as a web page that needs no network, and as CSV with a column for the answers.

    Parameters
    ----------
    questions
        All questions of a job.
    folder
        Where to write to.
    job, date
        Name of the job, and the date of the pages.
    show
        How figures are shown; the paper goes by it.

    Raises
    ------
    ReportError
        If they cannot be set or written.
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
    drawn = [f"data:image/png;base64,{base64.b64encode(q.picture).decode()}" if q.picture else "" for q in questions]
    items = [asdict(q) | {"picture": picture} for q, picture in zip(questions, drawn, strict=True)]
    return render("questions.html.jinja", questions=items, **data)


def _pdf(questions: Sequence[Question], data: dict[str, str]) -> bytes:
    files = {f"{q.number}.png": q.picture for q in questions if q.picture}
    items = [asdict(q) | {"picture": f"{q.number}.png" if q.picture else ""} for q in questions]
    return set_layout("questions.typ", data | {"questions": items}, files, remedy="Use the web page instead.")
