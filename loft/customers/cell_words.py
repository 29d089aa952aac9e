"""What the cells of a list of boats say that are neither names nor lengths: options, luff curve, mail address, days, yes and no."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from costing.errors import Collector
from costing.quote import Pattern
from costing.sail import LuffCurve
from loft.catalogue import formats


def options(text: str, pattern: Pattern | None) -> tuple[frozenset[str], frozenset[str]]:
    """What "window; no cunningham" chooses and leaves out, by code or label of the pattern's option table.

    A word that the table does not know passes as it is: the calculation refuses it together with all else that cannot be made.
    """
    table = pattern.options if pattern else ()
    codes = {o.code.casefold(): o.code for o in table} | {o.label.casefold(): o.code for o in table}
    chosen: set[str] = set()
    declined: set[str] = set()
    for word in filter(None, (w.strip().casefold() for w in text.replace(",", ";").split(";"))):
        left_out, name = word.startswith("no "), word.removeprefix("no ").strip()
        code = codes.get(name) or codes.get(name.replace(" ", "_")) or name
        (declined if left_out else chosen).add(code)
    return frozenset(chosen), frozenset(declined)


def luff_curve(text: str, problems: Collector) -> LuffCurve | None:
    """A boat's own luff curve; None for an empty cell, and a problem for one that cannot be read."""
    if not text:
        return None
    try:
        return formats.read_luff_curve(text)
    except ValueError as error:
        problems.add("luff_curve", "not_a_curve", str(error))
        return None


def address(text: str, problems: Collector) -> str:
    """A mail address; what could end a header's line is none (cells with control characters are refused before)."""
    if not text:
        return ""
    try:
        validate_email(text)
    except ValidationError:
        told = f"{text!r} is not a mail address: write one address, like maud@example.org, or leave it empty"
        problems.add("email", "not_an_address", told)
        return ""
    return text


def day(text: str, problems: Collector) -> date | None:
    """The day of certification; None for an empty cell, and a problem for what is no day."""
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        problems.add("certified_on", "not_a_day", f"{text!r} is not a day: write it year first, like 2026-03-31")
        return None


def yes(text: str, problems: Collector) -> bool:
    """Whether the sail is to be NON-CLASS; a problem for what is neither yes nor no, an empty cell is no."""
    if text.casefold() not in ("", "yes", "no"):
        problems.add("non_class", "not_yes_or_no", f"{text!r} is neither yes nor no: write yes for a sail that is sold as NON-CLASS")
    return text.casefold() == "yes"
