"""Faults of a command line in one sentence, told by the codes of the library that reads it, never by its wording."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

_SAID: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "greater_than_equal": lambda context: f"it must be {context['ge']} or more",
    "greater_than": lambda context: f"it must be more than {context['gt']}",
    "less_than_equal": lambda context: f"it must be {context['le']} or less",
    "less_than": lambda context: f"it must be less than {context['lt']}",
    "int_parsing": lambda context: "it must be a whole number",
    "int_parsing_size": lambda context: "it must be a whole number of fewer digits",
    "float_parsing": lambda context: "it must be a number",
    "finite_number": lambda context: "it must be a finite number",
    "value_error": lambda context: str(context["error"]),
}
"""What is wrong with a value, by the code of the check that it failed."""


def usage_fault(error: Any) -> str:
    """Say what is wrong with a command line, with one mark at the end.

    Parameters
    ----------
    error
        A usage error of the library that reads command lines: ``format_message``, and where it is about a value
        ``param``, ``ctx`` and, as its cause, an error with a list of coded ``errors``.

    Examples
    --------
    >>> import typer
    >>> usage_fault(typer.BadParameter("no such day"))
    'Invalid value: no such day.'
    """
    coded = getattr(error.__cause__, "errors", None)
    first = coded()[0] if coded is not None else {}
    said = _SAID.get(first.get("type", ""))
    if said is None:
        text = str(error.format_message())
    else:
        text = f"Invalid value for {error.param.get_error_hint()}: {said(first.get('ctx', {}))}"
    text = text.rstrip(".")
    return text if text.endswith("?") else f"{text}."
