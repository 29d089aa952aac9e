"""The drivers of cost: every quantity that a kit item or a labour standard may refer to, in one table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from costing.errors import did_you_mean


@dataclass(frozen=True, slots=True)
class DriverKind:
    """A driver: its code, its unit ("m", "m2" or the counted things in the plural), one of them, and what is counted."""

    code: str
    unit: str
    one: str
    meaning: str


_ALL = (
    # once for each ...
    DriverKind("order", "orders", "order", "set-up shared by the whole batch"),
    DriverKind("lay", "lays", "lay", "set-up shared by the sails of one pattern and cloth"),
    DriverKind("boat", "boats", "boat", "one for each sail's boat"),
    DriverKind("sail", "sails", "sail", "one for each sail"),
    DriverKind("variant", "variants", "variant", "one when the sail departs from the pattern's own shape"),
    # the body
    DriverKind("panel", "panels", "panel", "body panels"),
    DriverKind("seam", "seams", "seam", "seams between body panels"),
    DriverKind("seam_m", "m", "m", "length of all seams along the sew line"),
    DriverKind("three_step_seam", "seams", "seam", "seams between body panels that are sewn with one row of three-step"),
    DriverKind("three_step_seam_m", "m", "m", "length of the seams sewn with one row of three-step, along the sew line"),
    DriverKind("body_m2", "m2", "m2", "area inside the finished outline"),
    DriverKind("laid_m", "m", "m", "length of all lays on all rolls"),
    DriverKind("laid_m2", "m2", "m2", "usable roll area of all lays"),
    # edges, along the finished edge
    DriverKind("luff_m", "m", "m", "length of the luff edge"),
    DriverKind("leech_m", "m", "m", "length of the leech edge"),
    DriverKind("foot_m", "m", "m", "length of the foot edge"),
    DriverKind("head_m", "m", "m", "length of the head edge"),
    DriverKind("edge_tape_m", "m", "m", "length of luff, leech and foot of a spinnaker, which are bound with one tape"),
    DriverKind("shelf_foot_m", "m", "m", "length of the seam between the foot and its shelf"),
    DriverKind("corner", "corners", "corner", "corners of the sail"),
    # patches
    DriverKind("patch", "patches", "patch", "corner patches, however many layers each has"),
    DriverKind("patch_layer", "layers", "layer", "layers of all corner patches"),
    DriverKind("patch_edge_m", "m", "m", "perimeter of all patch layers, corner and edge patches"),
    DriverKind("cunningham", "cunningham patches", "cunningham patch", "edge patches named cunningham"),
    DriverKind("reef", "reef rows", "reef row", "rows of reef patches"),
    DriverKind("edge_patch", "edge patches", "edge patch", "edge patches of any other name"),
    # battens and window
    DriverKind("pocket", "pockets", "pocket", "batten pockets of either kind"),
    DriverKind("pocket_short", "short pockets", "short pocket", "batten pockets that end inside the sail"),
    DriverKind("pocket_full", "full-length pockets", "full-length pocket", "batten pockets from leech to luff"),
    DriverKind("pocket_edge_m", "m", "m", "perimeter of all pocket pieces"),
    DriverKind("window", "windows", "window", "window panes"),
    DriverKind("window_edge_m", "m", "m", "perimeter of all window panes"),
    # marks on the sail
    DriverKind("number", "numbers", "number", "one when the sail carries a sail number"),
    DriverKind("number_character", "characters", "character", "characters of the sail number, both sides counted"),
    DriverKind("insignia_side", "sides", "side", "sides that carry the class insignia"),
    DriverKind("royalty_label", "royalty labels", "royalty label", "the class's labels sewn on"),
    # what kits usually count
    DriverKind("ring", "rings", "ring", "pressed rings (kit)"),
    DriverKind("webbed_ring", "webbed rings", "webbed ring", "rings sewn in with webbing (kit)"),
    DriverKind("eyelet", "eyelets", "eyelet", "eyelets (kit)"),
    DriverKind("slide", "slides", "slide", "slides (kit)"),
    DriverKind("batten", "battens", "batten", "battens cut, tapered and capped (kit)"),
    DriverKind("hank", "hanks", "hank", "hanks along the luff, at the pattern's spacing"),
    DriverKind("headboard", "headboards", "headboard", "headboards (kit)"),
    DriverKind("tell_tale_set", "sets of tell-tales", "set of tell-tales", "sets of tell-tales, all that a sail takes (kit)"),
    DriverKind("bag", "bags", "bag", "sail bags (kit)"),
)

#: Every driver by code.
DRIVERS: dict[str, DriverKind] = {kind.code: kind for kind in _ALL}


def driver_kind(code: str) -> DriverKind:
    """The kind of a driver; a code that only a kit counts gets its words from the code itself."""
    words = code.replace("_", " ")
    return DRIVERS.get(code) or DriverKind(code, f"{words}s", words, "counted by the kit")


def spelled(amount: Decimal, kind: DriverKind) -> str:
    """An amount with its unit in words: "7 patches", "1 window", "13.482 m"."""
    return f"{plain(amount)} {kind.one if amount == 1 else kind.unit}"


def plain(number: Decimal) -> str:
    """A number without trailing zeros or exponent."""
    return f"{number.normalize():f}"


def unknown_driver(code: str, known: Iterable[str]) -> str:
    """What to tell the owner about a driver that does not exist."""
    return f"there is no driver {code!r}{did_you_mean(code, sorted(known))}"
