"""The cutter's sheet: what to pull, the lay to scale, every panel's size, and boxes for what was really used."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable, KeepTogether, PageBreak

from costing.cloth import Lay, Panel, Part, Table
from costing.quote import colours
from loft.documents import lay_marks, layout, page, panel_sizes, ticket_sheet, wording
from loft.documents.content import TicketDocument
from loft.documents.figure import Figure
from loft.documents.lay_drawing import lay_strips

CAUTION = (
    "Blades away from the hand. Two people or a trolley for a roll. Hot knife and laser only with extraction and never near window film. "
    "The machine maker's manual, official guidance and the rules of this place come first."
)
_MARK_WORDS = {
    "sew": "sew line", "strike-up": "strike-up", "edge": "edge line", "fold": "fold line", "pocket": "pocket line", "window": "window line",
    "hole": "window hole (drawn, not cut)", "ring": "ring cross", "hank": "hank cross",
}  # fmt: skip

_WINDOW_HOLE = {False: "A window's hole is cut out after sewing.", True: "A window's hole is cut on the table, with its panel."}


def cutter_sheet(doc: TicketDocument) -> page.Sheet:
    """The cutter's pages for one sail."""
    story: list[Flowable] = [
        *_cloth(doc),
        *_pull(doc),
        *_used(doc),
        *ticket_sheet.step_table(doc, ticket_sheet.station_steps(doc, "cutter")),
        *ticket_sheet.defer(CAUTION),
        PageBreak(),
        *_lays(doc),
        *_panels(doc),
        *_other_parts(doc),
    ]
    return ticket_sheet.sheet(doc, "Cutter", story)


def _cloth(doc: TicketDocument) -> list[Flowable]:
    table = doc.design.table
    rows: list[tuple[str, layout.Cell]] = [
        ("Cloth", f"{doc.design.cloth.code}: {wording.spelled(doc.sail.cloth_label)}"),
        ("Colour", doc.sail.colour),
        ("Lay", "FACE UP (the face is the port side), never mirrored"),
        *(
            [("Laid with", f"other sails: lay {', lay '.join(doc.shared_lays)}. Cut that there, not from this sheet.")]
            if doc.shared_lays
            else []
        ),
        ("Tool, pen", f"{table.tool}, {table.pen}; {table.gap_mm:g} mm between parts"),
    ]
    if doc.sail.note:
        rows.append(("Note", doc.sail.note))
    return [layout.pairs(rows, (24, 152), layout.BIG_BOLD)]


def _roll(doc: TicketDocument, lay: Lay) -> str:
    """What a lay is cut from: its material, and its colour where the sail has several."""
    several = colours.slots_in(doc.sail.colour) and lay.material == doc.design.cloth.code
    return f"{lay.material} {colours.of_slot(doc.sail.colour, lay.colour)}" if several else lay.material


def _pull(doc: TicketDocument) -> list[Flowable]:
    """Metres to pull, section by section, in figures that can be read from the roll."""
    story: list[Flowable] = []
    for lay in doc.design.lays:
        rows: list[Sequence[layout.Cell]] = [
            (f"Section {s.number + 1}", f"{wording.metres_to_pull(s.length_mm)} m") for s in lay.sections
        ]  # fmt: skip
        story.append(layout.heading(f"Pull – {_roll(doc, lay)}, usable width {wording.mm(lay.usable_width_mm)} mm", layout.HEADING))
        story.append(layout.table((), rows, (62, 50), right=(1,), style=layout.HUGE, pad=4))
    return [*story, layout.text("Metres are rounded up to the whole centimetre, here and at the lay.", layout.SMALL)]


def _used(doc: TicketDocument) -> list[Flowable]:
    names = ("Really used", "Roll", "Lot", "Actual metres", "By", "Date")
    materials = [_roll(doc, lay) for lay in doc.design.lays]
    alike = "sail and colour" if colours.slots_in(doc.sail.colour) else "sail"
    return [
        layout.gap(3),
        ticket_sheet.boxes(names, (40, 32, 32, 28, 20, 24), materials),
        layout.gap(1),
        layout.text(f"All body panels of one {alike} come from one lot.", layout.SMALL),
    ]


def _lays(doc: TicketDocument) -> list[Flowable]:
    story: list[Flowable] = []
    for lay in doc.design.lays:
        title = layout.heading(f"Lay – {_roll(doc, lay)}, face up, seen from above", layout.HEADING)
        key = lay_marks.key(doc.design, lay, 176)
        above = [title, Figure(key, "LEFT"), layout.gap(1)] if key.height else [title]
        first, *others = (Figure(strip, "LEFT") for strip in lay_strips({"": doc.design}, lay, width=176))
        story += [KeepTogether([*above, first]), layout.gap(2)]  # a heading and a key say nothing without their drawing
        for strip in others:
            story += [strip, layout.gap(2)]
    return story


def _panels(doc: TicketDocument) -> list[Flowable]:
    rows = []
    for panel in doc.design.panels:
        sizes = panel_sizes.panel_sizes(panel)
        marks = ", ".join(_counted(k, n, doc.design.table) for k, n in panel_sizes.mark_counts(panel).items() if k != "mark")
        colour = colours.of_slot(doc.sail.colour, panel.colour) if panel.colour else ""
        full = ", ".join(filter(None, (colour, "full width" if panel.full_width else "")))
        widths = (sizes.length, sizes.luff_end, sizes.leech_end, sizes.widest)
        rows.append((panel.mark, *(wording.DASH if mm is None else wording.mm(mm) for mm in widths), marks, full))
    return [
        layout.heading("Panels, cut sizes in mm", layout.HEADING),
        layout.table(
            ("Mark", "Length along the roll", *_ends(doc.design.panels), "Greatest width", "Pen marks", ""),
            rows, (14, 20, 20, 20, 20, 64, 18), right=(1, 2, 3, 4), pad=3,
        ),
        layout.gap(1),
        layout.text(
            "Widths across the roll at the inner end of the sew lines, seam allowance included. Strike-up marks meet and sew lines lie "
            f"on each other when two panels are stuck together. {_WINDOW_HOLE[doc.design.table.window_holes]}", layout.SMALL,
        ),
    ]  # fmt: skip


def _ends(panels: Sequence[Panel]) -> tuple[str, str]:
    """What the widths at the two ends of the panels are called; of a mitre cut the ends are those of the sheet's drawing."""
    named = {"from the leech": ("foot", "luff"), "upper half, from the clew": ("left", "right")}
    words = named.get(panels[0].place, ("luff", "leech"))
    return f"Width at {words[0]} end", f"Width at {words[1]} end"


def _counted(kind: str, count: int, table: Table) -> str:
    words = "window hole (cut on the table)" if kind == "hole" and table.window_holes else _MARK_WORDS.get(kind, kind)
    plural = "" if count == 1 or kind == "hole" else "es" if words.endswith("s") else "s"
    return f"{count} {words}{plural}"


def _other_parts(doc: TicketDocument) -> list[Flowable]:
    """Everything but panels, by material: film and other materials apart from the body cloth."""
    materials: dict[str, list[Part]] = {}
    marks = lay_marks.short_marks(doc.design.parts)
    for part in doc.design.parts:
        if part.kind != "panel":
            materials.setdefault(part.material, []).append(part)
    story: list[Flowable] = []
    for material, parts in materials.items():
        apart = "" if material == doc.design.cloth.code else " – another material, laid apart"
        story.append(layout.heading(f"Other parts of {material}{apart}", layout.HEADING))
        rows = [(marks[p.id], p.id, p.label, *(wording.mm(v) for v in panel_sizes.extent(p.outer))) for p in parts]
        story.append(
            layout.table(
                ("Mark", "Part id", "Part", "Along the roll", "Across"), rows, (16, 38, 76, 24, 22), right=(3, 4), style=layout.FINE, pad=1
            )
        )
    return story
