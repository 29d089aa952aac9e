"""The rows of a boat's fit sheet by the kinds of sail that must fit: what is asked and how it is taken (common practice, no source)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from costing.measurements import SPINNAKERS, SailKind


@dataclass(frozen=True, slots=True)
class Item:
    """A row of the sheet; hint: how it is usually taken; length: its value is one, kept in mm as well; kinds: the sails that it is for."""

    code: str
    label: str
    hint: str
    kinds: frozenset[SailKind]
    length: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Rows of the sheet under one heading."""

    heading: str
    items: tuple[Item, ...]


def _of(kinds: frozenset[SailKind], text: str) -> Iterator[Item]:
    """A row from each line "code | label | hint", with "| mm" behind a length."""
    for line in text.strip().splitlines():
        code, label, hint, *unit = (part.strip() for part in line.split("|"))
        yield Item(code, label, hint, kinds, length=unit == ["mm"])


_MAINSAIL = """
mast_make | Mast make | read on the mast's plate or the order
mast_section | Mast section | read on the mast, or its two diameters
luff_groove | Luff groove, inside | calliper at three heights, the narrowest | mm
rope_diameter | Luff rope diameter | the old sail's rope, calliper | mm
slides | Slides or cars | kind, size and number, or none
tack_setback | Tack set-back | aft face of the mast to the middle of the tack pin | mm
tack_height | Tack height | upper edge of the boom or deck to the middle of the tack pin | mm
clew_fitting | Clew fitting | slide, hook, strap or outhaul, and its width
headboard_pin | Headboard pin | diameter, and its distance from the luff
batten_system | Batten system | pockets, end boxes, or cars, and their make
boom_bands | Boom bands | aft face of the mast to the fore edge of the band
"""
_ON_A_STAY = """
stay | Stay | wire, rod, rope or foil: which, and its diameter
luff_attachment | Hanks or luff tape | hanks: kind, size and number; tape: its cord and the foil's groove
hoist | Longest hoist | tack pin to the halyard's shackle, hoisted fully, along the stay | mm
stay_setback | Tack set-back from the stay | middle of the stay to the middle of the tack pin, square to the stay | mm
tack_fitting | Tack fitting | pin, hook, shackle, strop or drum, and its height above the deck
sheet_lead | Sheeting position | tack pin aft to both ends of the lead's track; from the centreline
sheets | Sheets | tied, spliced or shackled, and their diameter
"""
_POLE = """
pole_length | Spinnaker pole | mast fitting to the end of the pole, along it | mm
pole_fitting | Pole fitting on the mast | lowest and highest position above the deck
"""
_BOWSPRIT = "bowsprit | Bowsprit or tack point | stay at the deck to the tack block, run out fully | mm"
_SPINNAKER = """
spinnaker_hoist | Spinnaker halyard | deck at the mast to its sheave | mm
spinnaker_leads | Leads of sheets and guys | blocks: forward of the transom, and from the centreline
launching | Launching and stowing | bag, chute or snuffer; the chute's opening, places of retrieving patches
"""
_TRYSAIL = """
trysail_mast | Mast make and section | read on the mast, or its two diameters
trysail_track | Trysail track or groove | its own or the mast's: kind, size, and from the deck to its lower end
trysail_slides | Slides or lashings | kind, size and number; where the sail waits on its track
trysail_tack | Tack strop | deck to the tack, so that the sail clears the stowed main | mm
trysail_sheets | Sheeting without the boom | where both sheets lead to: aft of the mast, from the centreline
trysail_halyard | Halyard | which one, and its shackle
"""

GROUPS = (
    Group("Mast, boom and mainsail", tuple(_of(frozenset({SailKind.MAINSAIL}), _MAINSAIL))),
    Group("Headsail", tuple(_of(frozenset({SailKind.HEADSAIL}), _ON_A_STAY))),
    Group(
        "Spinnakers",
        (
            *_of(frozenset({SailKind.SYMMETRIC_SPINNAKER}), _POLE),
            *_of(frozenset({SailKind.ASYMMETRIC_SPINNAKER}), _BOWSPRIT),
            *_of(SPINNAKERS, _SPINNAKER),
        ),
    ),
    Group("Trysail", tuple(_of(frozenset({SailKind.TRYSAIL}), _TRYSAIL))),
    # it may hank onto a stay of its own
    Group("Storm jib", tuple(replace(item, code=f"storm_{item.code}") for item in _of(frozenset({SailKind.STORM_JIB}), _ON_A_STAY))),
)
ITEMS = tuple(item for group in GROUPS for item in group.items)
BY_CODE = {item.code: item for item in ITEMS}


def of_kind(kind: SailKind) -> tuple[Item, ...]:
    """The rows that a kind of sail must fit, in the order of the sheet."""
    return tuple(item for item in ITEMS if kind in item.kinds)
