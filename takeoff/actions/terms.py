"""How the site is worked: the job's terms, changed and kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from datetime import date
from typing import Any

from takeoff.errors import InputError
from takeoff.job.changes import Change
from takeoff.job.edits import SetSettings
from takeoff.job.store import JobStore
from takeoff.model.site_terms import HandOver, SiteTerms


def changed_terms(terms: SiteTerms, **named: Any) -> SiteTerms:
    """Return terms with those that are named; ``None`` leaves one as it is, and days may be dates.

    Raises
    ------
    InputError
        When one is not known, or is nothing that a site can be worked by.

    Examples
    --------
    >>> changed_terms(SiteTerms(), start=date(2026, 3, 2), crews=2).start
    '2026-03-02'
    """
    known = {field.name for field in fields(SiteTerms)}
    given = {name: value for name, value in named.items() if value is not None}
    for name in given:
        if name not in known:
            raise InputError(f'there is no term "{name}"', remedy=f"Terms: {', '.join(sorted(known))}.")
    return replace(terms, **{name: _plain(value) for name, value in given.items()})


def keep_terms(store: JobStore, terms: SiteTerms | None, *, who: str, at: str) -> Change:
    """Keep how the site is worked with the job, or forget it; one edit that can be undone.

    Raises
    ------
    InputError
        When a room that is handed over is not in the job.
    """
    for found in () if terms is None else terms.handed_over:
        if found.room not in store.job.rooms:
            known = ", ".join(store.job.rooms) or "none"
            raise InputError(f'there is no room "{found.room}" to hand over', remedy=f"Rooms: {known}.")
    return store.do(SetSettings(settings=replace(store.job.settings, site=terms)), who=who, at=at)


def handed_over(terms: SiteTerms, days: Mapping[str, str]) -> tuple[HandOver, ...]:
    """Return the hand-overs of terms with these by room; an empty day takes a room's out."""
    merged = {found.room: found.day for found in terms.handed_over} | dict(days)
    return tuple(HandOver(room=room, day=day) for room, day in merged.items() if day)


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Iterable) and not isinstance(value, str):
        return tuple(_plain(each) for each in value)
    return value
