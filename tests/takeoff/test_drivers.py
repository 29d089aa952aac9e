"""Drivers read off a sail whose every length can be worked with a pencil."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.cloth import Edge, EdgeMethod, EdgePatch, Lay, Make, Panel, Part, Patch, Placement, Pocket, Section, TakeUp, Window
from costing.measurements import Corner, SailKind
from costing.sail import Outline
from costing.takeoff import DRIVERS, geometry_drivers

SAIL = Outline(
    SailKind.MAINSAIL,
    luff=((0.0, 0.0), (0.0, 4000.0)),
    head=((0.0, 4000.0), (100.0, 4000.0)),
    leech=((100.0, 4000.0), (3100.0, 0.0)),  # 3 - 4 - 5
    foot=((3100.0, 0.0), (0.0, 0.0)),
)


def _square(side: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (side, 0.0), (side, side), (0.0, side))


def _panel(mark: str, lower: float) -> Panel:
    return Panel(mark, _square(900), _square(900), ((0.0, 0.0), (lower, 0.0)) if lower else (), (), (), full_width=True)


def _part(name: str, kind: str, side: float, material: str = "DW170") -> Part:
    return Part(name, kind, name, material, _square(side))


EDGE = Edge(EdgeMethod.CUT, 25.0, 5.0)
MAKE = Make(
    cut="cross-cut", roll_width_mm=1370, seams=(), seam_overlap_mm=15, take_up=TakeUp(1.5, 0.002, 0.001, 0.001),
    luff=EDGE, leech=EDGE, foot=EDGE,
    patches=(Patch(Corner.HEAD, 0.09, 2, 25, ""), Patch(Corner.CLEW, 0.09, 3, 25, "")),
    edge_patches=(EdgePatch("cunningham", "luff", 280, 120, 2, "", ""), EdgePatch("reef 1 luff", "luff", 900, 120, 1, "", ""),
        EdgePatch("reef 1 leech", "leech", 900, 120, 1, "", "")),
    pockets=(Pocket("lower", 0.25, 600, 25, False, ""), Pocket("middle", 0.5, 600, 25, False, ""), Pocket("top", 0.75, 0, 25, True, "")),
    windows=(Window("window", 0.5, 480, 500, 300, "FILM-05"),),
)  # fmt: skip
PARTS = (
    _part("P1", "panel", 900), _part("P2", "panel", 900),
    *(_part(f"HEAD-{i}", "patch", 250) for i in (1, 2)), *(_part(f"CLEW-{i}", "patch", 500) for i in (1, 2, 3)),
    *(_part(f"CUNNINGHAM-{i}", "patch", 100) for i in (1, 2)), _part("POCKET-lower", "pocket", 200),
    _part("WINDOW", "window", 400, "FILM-05"),
)  # fmt: skip
LAYS = tuple(
    Lay(code, width, (Section(0, length),), (Placement("", "P1", 0, 0, 0, 0),), 1.0, 1.0)
    for code, width, length in (("DW170", 1355.0, 6734.4), ("FILM-05", 1000.0, 600.0))
)


@pytest.mark.parametrize(
    ("code", "amount"),
    [
        ("panel", "2"), ("seam", "1"), ("seam_m", "1.235"),  # 1234.6 mm
        ("body_m2", "6.4"),  # (0.1 + 3.1) / 2 x 4
        ("luff_m", "4"), ("leech_m", "5"), ("foot_m", "3.1"), ("head_m", "0.1"), ("corner", "3"),
        ("patch", "2"), ("patch_layer", "5"), ("patch_edge_m", "8.8"),  # 2 x 1 + 3 x 2 + 2 x 0.4
        ("cunningham", "1"), ("reef", "1"),  # a reef row has a patch at the luff and one at the leech
        ("pocket", "3"), ("pocket_short", "2"), ("pocket_full", "1"), ("pocket_edge_m", "0.8"),
        ("window", "1"), ("window_edge_m", "1.6"),
        ("laid_m", "7.334"), ("laid_m2", "9.7251"),  # 6.734 + 0.6; 1.355 x 6.7344 + 1 x 0.6 = 9.725112
    ],
)  # fmt: skip
def test_amount(code: str, amount: str) -> None:
    found = {d.code: d for d in geometry_drivers(SAIL, (_panel("P1", 0), _panel("P2", 1234.6)), PARTS, MAKE, LAYS)}
    assert found[code].amount == Decimal(amount)
    assert found[code].unit == DRIVERS[code].unit


def test_what_is_not_there_is_no_driver() -> None:
    bare = Make(**{f: getattr(MAKE, f) for f in MAKE.__slots__} | {"patches": (), "edge_patches": (), "pockets": (), "windows": ()})
    codes = {d.code for d in geometry_drivers(SAIL, (_panel("P1", 0),), PARTS[:1], bare, LAYS[:1])}
    assert codes == {"panel", "body_m2", "laid_m", "laid_m2", "luff_m", "leech_m", "foot_m", "head_m", "corner"}


def test_how_a_sum_was_found_can_be_followed() -> None:
    panels = (_panel("P1", 0), _panel("P2", 1234.6), _panel("P3", 800.4))
    found = {d.code: d for d in geometry_drivers(SAIL, panels, PARTS, MAKE, LAYS)}
    assert (found["seam_m"].amount, found["seam_m"].how) == (Decimal("2.035"), "sew lines: 1.235 + 0.8")
    assert found["patch_layer"].how == "layers: head 2, clew 3"
    assert found["laid_m"].how == "lays: DW170 6.734 m + FILM-05 0.6 m"
