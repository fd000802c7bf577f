"""Questions to the author of the drawings: numbered, with clips of the plan and what the bid assumes meanwhile."""

from __future__ import annotations

import base64
from dataclasses import asdict, dataclass
from pathlib import Path

from takeoff.report.csv import table_csv
from takeoff.report.files import write_whole
from takeoff.report.html import render
from takeoff.report.letterhead import Paper
from takeoff.report.tables import Table, texts
from takeoff.report.typesetting import set_layout

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


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionSheet:
    """All questions of a job, and the paper of the PDF."""

    job: str
    date: str
    paper: Paper
    questions: tuple[Question, ...]


def questions_csv(sheet: QuestionSheet) -> bytes:
    """Write the questions as CSV, with an empty column for the answers."""
    titles = ("Number", "Sheet", "Question", "Where", "Assumed meanwhile", "Answer", "Key")
    rows = tuple((str(q.number), q.sheet, q.text, "; ".join(q.places), q.meanwhile, "", q.key) for q in sheet.questions)
    return table_csv(Table(id="questions", title="Questions", columns=texts(*titles), rows=rows))


def questions_html(sheet: QuestionSheet) -> bytes:
    """Write the questions as one page that needs no network."""
    drawn = {
        q.number: f"data:image/png;base64,{base64.b64encode(q.picture).decode()}" for q in sheet.questions if q.picture
    }
    items = [asdict(q) | {"picture": drawn.get(q.number, "")} for q in sheet.questions]
    return render("questions.html.jinja", job=sheet.job, date=sheet.date, opening=OPENING, questions=items)


def questions_pdf(sheet: QuestionSheet) -> bytes:
    """Write the questions as a tagged PDF.

    Raises
    ------
    ReportError
        If it cannot be set.
    """
    files = {f"{q.number}.png": q.picture for q in sheet.questions if q.picture}
    data = {
        "job": sheet.job,
        "date": sheet.date,
        "paper": "us-letter" if sheet.paper == "letter" else "a4",
        "opening": OPENING,
        "questions": [asdict(q) | {"picture": f"{q.number}.png" if q.picture else ""} for q in sheet.questions],
    }
    return set_layout("questions.typ", data, files, remedy="Use the web page instead.")


def write_questions(sheet: QuestionSheet, folder: Path) -> tuple[Path, ...]:
    """Write the questions as PDF, web page and CSV.

    Raises
    ------
    ReportError
        If they cannot be set or written.
    """
    files = {
        "questions.pdf": questions_pdf(sheet),
        "questions.html": questions_html(sheet),
        "questions.csv": questions_csv(sheet),
    }
    return tuple(write_whole(folder / name, data) for name, data in files.items())
