"""The days of a plan as iCalendar (RFC 5545) and as the same in XML, xCal (RFC 6321).

Every stretch of work between two breaks is an event. Times are local to the site: they carry no time zone.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import NamedTuple
from xml.etree import ElementTree

from takeoff.estimate.days.works import DayPlan
from takeoff.exchange.printable import printable

SPACE_OF_IDS = uuid.UUID("0f0a3c54-53f5-5c1e-8a55-d5a4a0b9a1c7")
"""Namespace of the events' ids: the same plan gives the same ids, so that an event taken in again replaces itself."""
PRODUCT = "-//takeoff//days//EN"
NAMESPACE = "urn:ietf:params:xml:ns:icalendar-2.0"
FOLD = 75
"""Octets of a line, without its break (RFC 5545 §3.1)."""


class _Property(NamedTuple):
    """A property: its name, the type of its value as xCal names it, and the value."""

    name: str
    kind: str
    value: str | datetime


def calendar_text(plan: DayPlan, *, title: str, at: str) -> bytes:
    """Write the days of a plan as iCalendar."""
    lines = ["BEGIN:VCALENDAR", *(_text_line(p) for p in _head())]
    for event in _events(plan, title, at):
        lines += ["BEGIN:VEVENT", *(_text_line(p) for p in event), "END:VEVENT"]
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line)).encode()


def calendar_xml(plan: DayPlan, *, title: str, at: str) -> bytes:
    """Write the days of a plan as xCal; parameters as `calendar_text`."""
    root = ElementTree.Element("icalendar", {"xmlns": NAMESPACE})
    calendar = ElementTree.SubElement(root, "vcalendar")
    _put(ElementTree.SubElement(calendar, "properties"), _head())
    components = ElementTree.SubElement(calendar, "components")
    for event in _events(plan, title, at):
        _put(ElementTree.SubElement(ElementTree.SubElement(components, "vevent"), "properties"), event)
    ElementTree.indent(root, " ")
    found: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return found


def _head() -> list[_Property]:
    return [_Property("prodid", "text", PRODUCT), _Property("version", "text", "2.0")]


def _events(plan: DayPlan, title: str, at: str) -> Iterator[list[_Property]]:
    stamp = datetime.fromisoformat(at)
    stamp = (stamp if stamp.tzinfo else stamp.replace(tzinfo=UTC)).astimezone(UTC)
    for work in plan.works:
        for begin, end in work.bars:
            key = f"{title}\n{work.work}\n{work.kind}\n{begin.isoformat()}"
            said = [f"Crew: {', '.join(work.crews)}" if work.crews else "", work.reason]
            yield [
                _Property("uid", "text", str(uuid.uuid5(SPACE_OF_IDS, key))),
                _Property("dtstamp", "date-time", stamp),
                _Property("dtstart", "date-time", begin),
                _Property("dtend", "date-time", end),
                _Property("summary", "text", printable(f"{work.room}: {work.name}")),
                _Property("location", "text", printable(work.room)),
                _Property("description", "text", printable("\n".join(t for t in said if t))),
            ]


def _text_line(p: _Property) -> str:
    if isinstance(p.value, datetime):
        return f"{p.name.upper()}:{p.value:%Y%m%dT%H%M%S}{'Z' if p.value.tzinfo else ''}"
    text = p.value
    for sign, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        text = text.replace(sign, written)
    return f"{p.name.upper()}:{text}"


def _folded(line: str) -> Iterator[str]:
    """Break a line into parts of at most so many octets, never inside a character; all but the first are indented."""
    part = ""
    for character in line:
        if len((part + character).encode()) > FOLD:
            yield part
            part = " "
        part += character
    yield part


def _put(parent: ElementTree.Element, properties: list[_Property]) -> None:
    for p in properties:
        value = ElementTree.SubElement(ElementTree.SubElement(parent, p.name), p.kind)
        if isinstance(p.value, datetime):
            value.text = f"{p.value:%Y-%m-%dT%H:%M:%S}{'Z' if p.value.tzinfo else ''}"
        else:
            value.text = p.value
