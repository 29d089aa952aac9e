"""The cloth instructions of a pattern file: how the loft makes the sail."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from costing.cloth import (
    CUTS,
    Centre,
    ColourSlot,
    Edge,
    EdgeMethod,
    EdgePatch,
    Gores,
    Hanks,
    Make,
    Patch,
    Pocket,
    Seam,
    Shelf,
    Stitch,
    TakeUp,
    Window,
)
from costing.measurements import Corner
from loft.catalogue.formats.reader import Reader


def read_make(t: Reader) -> Make:
    """The [make] table."""
    gores = tuple(_gores(row) for row in t.tables("gores"))
    make = Make(
        cut=t.text("cut"),
        roll_width_mm=t.mm("roll_width"),
        seams=tuple(_seam(row, gored=bool(gores)) for row in t.tables("seams")),
        seam_overlap_mm=t.mm("seam_overlap"),
        take_up=_take_up(t.table("take_up")),
        luff=_edge(t.table("luff")),
        leech=_edge(t.table("leech")),
        foot=_edge(t.table("foot")),
        patches=tuple(_patch(row) for row in t.tables("patches")),
        edge_patches=tuple(_edge_patch(row) for row in t.tables("edge_patches")),
        pockets=tuple(_pocket(row) for row in t.tables("pockets")),
        windows=tuple(_window(row) for row in t.tables("windows")),
        foot_leg_fraction=float(t.fraction("foot_leg")),
        gores=gores,
        colours=tuple(_colours(row) for row in t.tables("colours")),
        centre=t.choice("centre", Centre) if t.has("centre") else Centre.CROSS_CUT,
        stitch=t.choice("stitch", Stitch) if t.has("stitch") else Stitch.ZIGZAG,
        foot_seams=tuple(_seam(row, gored=False) for row in t.tables("foot_seams")),
        hanks=_hanks(t.table("hanks")) if t.has("hanks") else None,
        shelf=_shelf(t.table("shelf")) if t.has("shelf") else None,
    )
    if t.has("mitre"):
        make = _with_mitre(make, t.table("mitre"))
    if make.cut in CUTS and make.cut != "mitre" and (make.foot_seams or make.mitre_broadseam_mm):
        t.wrong("cut", "no_mitre", f"foot_seams and mitre are of a mitre cut, and this one is {make.cut}")
    if make.cut and make.cut not in CUTS:
        t.wrong("cut", "unknown_cut", f"{make.cut!r} is not a cut that can be computed; known: {', '.join(CUTS)}")
    for name, seams in (("seams", make.seams), ("foot_seams", make.foot_seams)):
        for i in range(1, len(seams)):
            if seams[i].height_mm <= seams[i - 1].height_mm:
                t.wrong(f"{name}[{i}].height", "not_rising", "the seams rise from the clew: this one is not above the one before")
    return make


def _hanks(t: Reader) -> Hanks:
    spacing = t.mm("spacing")
    if spacing <= 0:
        t.wrong("spacing", "not_positive", "hanks stand some way apart: more than 0 mm")
    return Hanks(spacing_mm=spacing, option=t.text("option", ""))


def _shelf(t: Reader) -> Shelf:
    depth = t.mm("depth")
    if depth <= 0:
        t.wrong("depth", "not_positive", "a shelf has a depth: more than 0 mm")
    return Shelf(depth_mm=depth, allowance_mm=t.mm("allowance"), material=t.text("material", ""), option=t.text("option", ""))


def _with_mitre(make: Make, t: Reader) -> Make:
    return replace(make, mitre_broadseam_mm=t.mm("broadseam", 0), mitre_run_out=float(t.fraction("run_out")))


def _seam(row: Reader, *, gored: bool) -> Seam:
    """gored: its broadseam lies in the middle and runs out at both ends."""
    height, broadseam = row.mm("height"), row.mm("broadseam", 0)
    return Seam(height, broadseam) if gored else Seam(height, broadseam, float(row.fraction("run_out")))


def _colours(row: Reader) -> ColourSlot:
    slot = ColourSlot(name=row.code("name"), panels=row.texts("panels"), option=row.text("option", ""))
    if " " in slot.name or "+" in slot.name:
        row.wrong("name", "wrong_value", f'{slot.name!r} is not one word: a sail\'s colours are written "white + accent red"')
    return slot


def _gores(row: Reader) -> Gores:
    return Gores(
        corner=row.choice("corner", Corner),
        count=row.integer("count", least=2),
        reach_mm=row.mm("reach", 0),
        foot_mm=row.mm("foot", 0),
        broadseam_mm=row.mm("broadseam", 0),
        fullest=float(row.fraction("fullest", Decimal("0.5"))),
    )


def _take_up(t: Reader) -> TakeUp:
    return TakeUp(
        per_seam_mm=t.mm("per_seam"),
        luff_fraction=float(t.fraction("luff")),
        leech_fraction=float(t.fraction("leech")),
        foot_fraction=float(t.fraction("foot")),
    )


def _edge(t: Reader) -> Edge:
    return Edge(
        method=t.choice("method", EdgeMethod),
        finished_width_mm=t.mm("finished_width"),
        allowance_mm=t.mm("allowance"),
        left_full_mm=t.mm("left_full", 0),
    )


def _patch(row: Reader) -> Patch:
    return Patch(
        corner=row.choice("corner", Corner),
        size_fraction=float(row.fraction("size")),
        layers=row.integer("layers", least=1) if row.has("layers") else None,
        step_mm=row.mm("step"),
        material=row.text("material", ""),
        option=row.text("option", ""),
    )


def _edge_patch(row: Reader) -> EdgePatch:
    """Patterns of earlier releases say from_tack at the leech too, and have always meant from the clew."""
    edge = row.text("edge")
    return EdgePatch(
        name=row.text("name"),
        edge=edge,
        from_corner_mm=row.mm("from_clew" if edge == "leech" and row.has("from_clew") else "from_tack"),
        radius_mm=row.mm("radius"),
        layers=row.integer("layers", least=1),
        material=row.text("material", ""),
        option=row.text("option", ""),
    )


def _pocket(row: Reader) -> Pocket:
    full_length = row.flag("full_length", False)
    if full_length and row.has("batten_length"):
        told = "leave it out: a full-length pocket runs from the leech to the luff, and its batten's length follows from the sail"
        row.wrong("batten_length", "not_for_full_length", told)
    return Pocket(
        name=row.text("name"),
        leech_fraction=float(row.fraction("leech_fraction")),
        batten_length_mm=0.0 if full_length else row.mm("batten_length"),
        batten_width_mm=row.mm("batten_width"),
        full_length=full_length,
        material=row.text("material", ""),
        option=row.text("option", ""),
    )


def _window(row: Reader) -> Window:
    return Window(
        name=row.text("name"),
        centre_foot_fraction=float(row.fraction("centre_foot")),
        centre_height_mm=row.mm("centre_height"),
        width_mm=row.mm("width"),
        height_mm=row.mm("height"),
        film=row.text("film"),
        option=row.text("option", ""),
    )
