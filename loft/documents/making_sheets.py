"""The sewer's and the finisher's sheets: steps in order, the sail with its parts, numbers by side, kit and measuring."""

from __future__ import annotations

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether

from costing import money
from costing.quote import finished
from loft.documents import finished_sizes, layout, page, rings, sail_details, ticket_sheet, wording
from loft.documents.content import TicketDocument
from loft.documents.drawing import SIGNAL
from loft.documents.figure import Figure
from loft.documents.sail_drawing import making_sail, noted

_SEWER_CAUTION = (
    "Guards on, power off to thread, eyes protected against broken needles. Windows: blunt scissors only. "
    "The machine maker's manual, official guidance and the rules of this place come first."
)
_FINISHER_CAUTION = (
    "Ring press: hands clear. Battens of glass or carbon: eyes, gloves, dust mask, extraction; coiled battens are under tension. "
    "The maker's manual, official guidance and the rules of this place come first."
)
_FEW_STEPS = 9
_TALLEST = 150  # mm: a drawing on the first page, under the sail's name and what it waits for
_RULE = 17  # mm for a rule number; a longer one stands under the measurement
_OWN_CHECK = "The loft's own check; the class's measurer certifies."
_NO_CERTIFICATE = f"The loft's own check of a sail that is {wording.NOT_LEGAL}: no measurer can certify it."
_OUTSIDE = "Outside a limit the sail goes no further: recut it, measure it again, or ask the owner whether it is sold as NON-CLASS."


def sewer_sheet(doc: TicketDocument) -> page.Sheet:
    """The sewer's pages for one sail."""
    steps = ticket_sheet.station_steps(doc, "sewer")
    beside = [_facts(doc), *_seams(doc), *_rings(doc)]
    free = 112 if len(steps) <= _FEW_STEPS and not doc.waiting_for else 92  # what the page has room for anyhow
    height = max(free, min(sum(block.wrap(84 * mm, A4[1])[1] for block in beside) / mm - 6, _TALLEST))
    drawing = Figure(noted(making_sail(doc.design, width=90, height=height), doc.not_legal), "LEFT")
    story: list[Flowable] = [
        layout.side_by_side([drawing], beside, (92, 84)),
        *ticket_sheet.step_table(doc, steps),
        *ticket_sheet.defer(_SEWER_CAUTION),
    ]
    return ticket_sheet.sheet(doc, "Sewer", story)


def finisher_sheet(doc: TicketDocument) -> page.Sheet:
    """The finisher's pages for one sail."""
    sides = [
        Figure(making_sail(doc.design, side=side, numbers=doc.sail.numbers, width=66, height=92, marks=False), "LEFT")
        for side in ("starboard", "port")
    ]
    story: list[Flowable] = [
        *_number_notice(doc),
        layout.table((), [[*sides, [_facts(doc, (17, 26))]]], (66, 66, 44), pad=0),
        *ticket_sheet.step_table(doc, ticket_sheet.station_steps(doc, "finisher")),
        KeepTogether(_rings(doc, (60, 26, 60, 30))),
        *_kit(doc),
        *_battens(doc),
        *_measuring(doc),
        *_by_eye(doc),
        *_fit(doc),
        *_bagging(doc),
        *ticket_sheet.defer(_FINISHER_CAUTION),
    ]
    return ticket_sheet.sheet(doc, "Finisher", story)


def _facts(doc: TicketDocument, widths_mm: tuple[float, float] = (22, 62)) -> Flowable:
    sail = doc.sail
    number = sail.sail_number or ticket_sheet.TO_FOLLOW
    worn = None if _wears_none(doc) else sail.number_colour or "not stated: ask"
    rows: list[tuple[str, layout.Cell]] = [
        ("Sail number", f"{number}, not worn on this sail" if worn is None else number),
        *([("Number colour", worn)] if worn else []),
        ("Cloth", wording.spelled(sail.cloth_label)),
        ("Colour", sail.colour),
        ("Chosen", wording.options(sail) or wording.DASH),
        ("NOT chosen", ", ".join(sail.not_chosen) or wording.DASH),
    ]
    if doc.insignia and any("insignia_side" in operation.drivers for operation in sail.operations):
        where = [f"{check.text} ({check.rule})" for check in doc.by_eye if "insignia" in check.text.lower()]
        rows.append(("Insignia", [layout.text(doc.insignia, layout.CELL_BOLD), *layout.texts(where, layout.CELL)]))
    if sail.note:
        rows.append(("Note", sail.note))
    return layout.pairs(rows, widths_mm, layout.CELL_BOLD)


def _seams(doc: TicketDocument) -> list[Flowable]:
    rows = [
        (seam.name, seam.between, wording.mm(sail_details.length(seam.line))) for seam in sail_details.named_seams(doc.design.panels)
    ]  # fmt: skip
    return [
        layout.text("Seams", layout.SUBHEADING),
        layout.table(("", "Panels", "Finished length, mm"), rows, (20, 32, 32), right=(2,), pad=2),
    ]


def _rings(doc: TicketDocument, widths_mm: tuple[float, ...] = (22, 15, 32, 15)) -> list[Flowable]:
    """Where rings away from the corners are pressed, each with the rule or the word that it is by."""
    places = rings.places(doc.design)
    name, figure, line, by = widths_mm
    if all(layout.room_for([place.source], 0) <= by for place in places):
        rows: list[list[layout.Cell]] = [[place.name, place.mm, place.measured, place.source] for place in places]
        table = layout.table(("Ring", "mm", "Straight line", "By"), rows, widths_mm, right=(1,), pad=2)
    else:
        rows = [[layout.noted(place.name, place.source), place.mm, place.measured] for place in places]
        table = layout.table(("Ring, by", "mm", "Straight line"), rows, (name + by, figure, line), right=(1,), pad=2)
    return [layout.text("Rings away from the corners", layout.SUBHEADING), table] if rows else []


def _number_notice(doc: TicketDocument) -> list[Flowable]:
    if doc.sail.sail_number and doc.sail.numbers is not None:
        plan = doc.sail.numbers
        place = "Both sides back to back" if plan.starboard_base == plan.port_base else "Starboard side uppermost"
        words = (
            f"Number {plan.text}: at least {plan.height_mm:g} mm high, {plan.gap_mm:g} mm apart, {plan.edge_mm:g} mm from the edge "
            f"({plan.source}). {place}; each side has its own figures, drawn below."
        )
        crossed = {side: sail_details.under_number(doc.design, plan, side) for side in ("starboard", "port")}
        notes = [f"{side.capitalize()} number crosses {' and '.join(what)}: sew first." for side, what in crossed.items() if what]
        return [layout.text(words, layout.BODY), *layout.texts(notes, layout.CELL_BOLD), layout.gap(1)]
    if _wears_none(doc):
        return [layout.text("This sail wears no sail number.", layout.BODY), layout.gap(1)]
    words = f"Sail {ticket_sheet.TO_FOLLOW}: put no figures on; the other steps go on. The sail stays here until its number is known."
    return [layout.framed([layout.text(words, layout.NOTICE)], 176, SIGNAL), layout.gap(2)]


def _wears_none(doc: TicketDocument) -> bool:
    """Whether no operation of the sail puts figures on; sails kept before operations named their drivers are taken to wear a number."""
    drivers = {driver for operation in doc.sail.operations for driver in operation.drivers}
    return bool(drivers) and not any(driver.startswith("number") for driver in drivers)


def _kit(doc: TicketDocument) -> list[Flowable]:
    rows = [
        (layout.TickBox(4), m.label or m.material, wording.plain(money.quantity_3(m.amount)), m.unit, wording.spelled(m.how))
        for m in doc.design.takeoff.materials
        if m.material not in doc.left_out
    ]
    plan = doc.sail.numbers
    if plan is not None:  # the number is the sail's own: its design does not have it
        characters = len(plan.text.replace(" ", ""))
        name = " ".join(f"sail number characters {doc.sail.number_colour}".split()) + f", at least {plan.height_mm:g} mm high"
        rows.append((layout.TickBox(4), name, str(2 * characters), "piece", f"{plan.text}: {characters} characters × 2 sides"))
    title = layout.heading("Kit and materials for this sail", layout.HEADING)
    return [title, layout.table(("", "Item", "Quantity", "Unit", "How found"), rows, (8, 56, 20, 18, 74), right=(2,), pad=2)]


def _battens(doc: TicketDocument) -> list[Flowable]:
    """How long each batten is cut, by its pocket."""
    rows = [(layout.TickBox(4), part.label) for part in doc.design.parts if part.kind == "pocket"]
    return [layout.heading("Battens", layout.HEADING), layout.table((), rows, (8, 168), pad=2)] if rows else []


def _measuring(doc: TicketDocument) -> list[Flowable]:
    """Limit, target and tolerance beside a blank for what the tape says; every limit is there, whether the design has a value or not."""
    own = doc.finished or finished.as_designed(doc.design, doc.to_measure)
    sizes = finished_sizes.texts(own)
    beside = all(layout.room_for([t.rule], 0) <= _RULE for t in sizes)
    rows: list[list[layout.Cell]] = []
    for t in sizes:
        under = t.printed if beside else "; ".join(filter(None, (t.rule, t.printed)))
        own_cells: list[layout.Cell] = [layout.noted(t.name, under), t.limit, t.target, t.tolerance]
        rows.append([*([t.rule] if beside else []), *own_cells, t.measured or ("" if t.typed else "computed"), ""])
    names, widths = ("Measurement, mm", "Class limit", "Target", "Tolerance", "Measured", "by"), (27, 19, 24, 25, 12)
    head, room = (("Rule", *names), (_RULE, 69 - _RULE, *widths)) if beside else (names, (69, *widths))
    figures = [len(head) - 5 + i for i in range(3)]
    blanks = layout.write_in(len(head) - 2, len(head) - 1)
    edition = f" Limits of edition {doc.edition}." if doc.edition else ""
    limited = any(row.limits for row in own)
    silent = "" if limited else "The class rules have no limit for this kind of sail: measure it against the design. "
    check, then = (_NO_CERTIFICATE, "") if doc.not_legal else (_OWN_CHECK, f" {_OUTSIDE}")
    words = f"{silent}{check} Take each reading as the class rules and the Equipment Rules of Sailing say.{edition}{then}"
    return [
        layout.room(45),
        layout.heading("Measuring", layout.HEADING),
        layout.text(words, layout.BODY),
        layout.gap(1),
        layout.table(head, rows, room, right=figures, pad=3.4, extra=blanks),
        *layout.texts(_of_this_boat(doc), layout.SMALL),
        *layout.texts([wording.spelled(n) for n in doc.sail.edition_notes if n.startswith("OUTSIDE")], layout.CAUTION),
    ]


def _of_this_boat(doc: TicketDocument) -> list[str]:
    """What was given for this boat, and how its sail stands against the limits on its rig."""
    given = [f"Given for this boat: {'; '.join(doc.sail.given)}."] if doc.sail.given else []
    return [wording.spelled(sentence) for sentence in (*given, *doc.sail.assumed)]


def _by_eye(doc: TicketDocument) -> list[Flowable]:
    """Text rules, each with a box to tick and room for who looked: none is passed in silence."""
    if not doc.by_eye:
        return []
    rows = [(layout.TickBox(4), check.rule, check.text, "") for check in doc.by_eye]
    title = layout.heading("To check by eye", layout.HEADING)
    return [title, layout.table(("", "Rule", "Tick when it is so", "by"), rows, (8, 22, 126, 20), pad=3, extra=layout.write_in(3))]


def _fit(doc: TicketDocument) -> list[Flowable]:
    """The boat's fit sheet, each value with how it was taken, by whom and when."""
    if not doc.fit:
        return []
    rows = [(line.what, line.value or wording.DASH, f"{line.how}; {line.by}, {line.taken_on}") for line in doc.fit]
    title = layout.heading("Fit sheet of the boat", layout.HEADING)
    return [title, layout.table(("What", "Value", "How, by whom and when"), rows, (46, 50, 80), pad=2)]


def _bagging(doc: TicketDocument) -> list[Flowable]:
    label = f"Royalty label on: {doc.royalty_label_place}" if doc.royalty_label_place else "No royalty label is asked for"
    ticks = [
        f"NO class label on it: the sail is {wording.NOT_LEGAL}" if doc.not_legal else label,
        "Pins, needles and blades counted off the sail:  out ______  back ______",
        *([] if _wears_none(doc) else ["Numbers checked by a second person on BOTH sides"]),
        "Battens, bag, card, as the options say",
    ]
    return [KeepTogether([layout.text("Before bagging", layout.HEADING), layout.tick_list(ticks, 176, layout.STEP)])]
