"""The sheet that goes to the boat: what to measure from where to where, with blanks for value, how, by whom and when."""

from __future__ import annotations

from collections.abc import Iterable

from reportlab.lib.pagesizes import A4
from reportlab.platypus import Flowable, KeepTogether

from costing.measurements import MEASUREMENTS, SPINNAKERS, SailKind
from costing.rules import Limit
from loft.documents import layout, letterhead, page, ticket_sheet, wording
from loft.documents.content import MeasuringSheet
from loft.documents.figure import Figure
from loft.documents.measure_drawing import measurable, measuring_drawing

_HOW = (
    "Dry and flat, on a clean floor or in light air, with just enough tension across the line measured to take out the wrinkles.",
    "A steel tape, read from its end or from 100 mm on (say which). Write what you read with its unit: 5210 mm, 5.21 m or 17 ft 1 1/8 in.",
    "Take each length twice, the second time from the other end. Two readings more than 5 mm apart (10 mm over 5 m): take a third.",
    "Write who measured, how, and on which day. What you could not measure stays empty: nobody guesses it.",
)
_POINTS = (
    "Half leech point: fold the head onto the clew, the crease meets the leech there. Three-quarter and quarter: head, then clew, onto "
    "that point; upper (7/8): head onto the three-quarter point. A width is the SHORTEST distance from its point to the luff."
)
_SPINNAKER = "Half points: fold the head onto each clew, the crease meets luff and leech there. The half width goes from one to the other."
_CARE = (
    "Aboard: two people, the boat tied up and the mast secure. The boat and spar makers' manuals and the safety rules of the place "
    "come first."
)


def measuring_sheet_pdf(doc: MeasuringSheet) -> bytes:
    """The sheet as PDF; for a boat that is not named, blank."""
    name = f"Measurement sheet, {_kind(doc)}" + (f", {doc.boat}" if doc.boat else "")
    sheet = page.Sheet(
        story=_story(doc), foot=f"{doc.letterhead.name} · {name}", running=(doc.boat or "Measurement sheet", doc.class_name),
        head=lambda canvas: letterhead.draw_letterhead(canvas, doc.letterhead, A4), head_height=letterhead.LETTERHEAD_HEIGHT - 14,
    )  # fmt: skip
    return page.render([sheet], title=name, author=doc.letterhead.name)


def asked(doc: MeasuringSheet) -> tuple[str, ...]:
    """What is measured, in the order of its numbers: the edges, what the class limits, and the rig of a sail on spars."""
    limited = {limit.measurement for limit in doc.limits}
    always = {"luff_length", "leech_length", "foot_length", "half_width", "mast_band_distance", "boom_band_distance", "luff_perpendicular"}
    without_rule = not limited
    return tuple(n for n in measurable(doc.kind) if without_rule or n in limited or n in always)


def _story(doc: MeasuringSheet) -> list[Flowable]:
    names = asked(doc)
    facts: list[tuple[str, layout.Cell]] = [
        ("Boat", doc.boat or "____________________"), ("Owner", doc.owner or "____________________"),
        ("Sail number", doc.sail_number or "__________"),
        ("Class", f"{doc.class_name}, edition {doc.edition}" if doc.edition else doc.class_name), ("Sail", _kind(doc)),
    ]  # fmt: skip
    points = _SPINNAKER if doc.kind in SPINNAKERS else _POINTS
    right: list[Flowable] = [
        layout.pairs(facts, (22, 66)), layout.gap(2), layout.text("How to measure", layout.SUBHEADING),
        *(layout.bullet(words, 84) for words in _HOW), layout.gap(1), layout.text(points, layout.SMALL), layout.gap(1),
        layout.text(f"The class measures its sails: {doc.condition}." if doc.condition else "", layout.SMALL),
        layout.gap(1), layout.text(_CARE, layout.CAUTION),
    ]  # fmt: skip
    drawing = Figure(measuring_drawing(doc.kind, names), "LEFT")
    return [
        layout.text(f"Measurement sheet: {_kind(doc)}", layout.TITLE), layout.gap(3),
        layout.side_by_side([drawing], right, (84, 92)), layout.gap(2), *_sizes(doc, names), *_fit(doc), *_signed(),
    ]  # fmt: skip


def _sizes(doc: MeasuringSheet, names: Iterable[str]) -> list[Flowable]:
    rows = [(str(i), wording.label(n), MEASUREMENTS[n].construction, _limit(doc, n), "", "", "") for i, n in enumerate(names, start=1)]
    columns = ("No.", "What", "From where to where", "Class limit, mm", "First reading", "Second", "How")
    return [
        layout.heading("Sizes", layout.HEADING),
        layout.table(columns, rows, (8, 32, 55, 30, 19, 16, 16), style=layout.FINE, pad=3.2, extra=layout.write_in(4, 5, 6)),
    ]


def _limit(doc: MeasuringSheet, name: str) -> str:
    found = [limit for limit in doc.limits if limit.measurement == name and limit.station is None]
    if not found:
        return "not limited" if not MEASUREMENTS[name].of_rig else wording.DASH
    return "; ".join(f"{_bounds(limit)} ({limit.rule})" for limit in found)


def _bounds(limit: Limit) -> str:
    return wording.limit_text(limit) if limit.minimum is not None or limit.maximum is not None else limit.printed


def _fit(doc: MeasuringSheet) -> list[Flowable]:
    """What the sail must fit, each with room for how, by whom and when."""
    if not doc.fit:
        return []
    rows = [(label, hint, "", "", "") for label, hint in doc.fit]
    columns = ("Fit", "Usually taken", "Value", "How", "By whom, when")
    grid = layout.table(columns, rows, (34, 52, 34, 26, 30), style=layout.FINE, pad=3.4, extra=layout.write_in(2, 3, 4))
    return [layout.heading("What the sail must fit", layout.HEADING), grid]


def _signed() -> list[Flowable]:
    boxes = ticket_sheet.boxes(("Measured by (name)", "Date", "Instrument", "Seen by the loft"), (56, 30, 50, 40))
    return [KeepTogether([layout.gap(3), boxes])]


def _kind(doc: MeasuringSheet) -> str:
    return SailKind(doc.kind).value.replace("_", " ")
