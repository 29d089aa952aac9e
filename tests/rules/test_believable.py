"""Doubts about measurement sets: each with what was measured and what was expected."""

from decimal import Decimal

import pytest

from costing import rules
from costing.measurements import SailKind

D = Decimal
RIG = {"mast_band_distance": D(5250), "boom_band_distance": D(2450)}


def found(sizes=None, kind=SailKind.MAINSAIL, rig=RIG, repeats=None) -> list[tuple[str, str]]:
    sizes = {n: D(v) for n, v in (sizes or {}).items()}
    repeats = {n: [D(v) for v in values] for n, values in (repeats or {}).items()}
    return [(p.path, p.code) for p in rules.doubts(kind, sizes, rig=rig, repeats=repeats)]


@pytest.mark.parametrize(
    ("label", "sizes", "expected"),
    [
        ("as known", {"mast_band_distance": "5250", "boom_band_distance": "2450"}, []),
        ("just within 1 %", {"mast_band_distance": "5302.5", "boom_band_distance": "2425.5"}, []),
        ("P off", {"mast_band_distance": "5303"}, [("mast_band_distance", "off_the_rig")]),
        ("E off", {"boom_band_distance": "2425"}, [("boom_band_distance", "off_the_rig")]),
        ("swapped", {"mast_band_distance": "2455", "boom_band_distance": "5240"}, [("mast_band_distance", "swapped")]),
        ("a sound triangle", {"luff_length": "5210", "foot_length": "2440", "leech_length": "5560"}, []),
        (
            "leech too short",
            {"luff_length": "5210", "foot_length": "2440", "leech_length": "5100"},
            [("leech_length", "short_for_the_luff")],
        ),
        ("nothing to compare", {"luff_length": "5210"}, []),
    ],
)
def test_doubts_about_a_main(label, sizes, expected):
    assert found(sizes) == expected, label


@pytest.mark.parametrize(
    ("label", "readings", "expected"),
    [
        ("short, within 5 mm", {"boom_band_distance": ["2450", "2455"]}, []),
        ("short, 6 mm", {"boom_band_distance": ["2450", "2453", "2456"]}, [("boom_band_distance", "repeats_differ")]),
        ("long, within 10 mm", {"mast_band_distance": ["5250", "5260"]}, []),
        ("long, 11 mm", {"mast_band_distance": ["5250", "5261"]}, [("mast_band_distance", "repeats_differ")]),
        ("read once", {"mast_band_distance": ["5250"]}, []),
    ],
)
def test_repeats(label, readings, expected):
    assert found(repeats=readings) == expected, label


def test_a_jib_s_leech_may_be_shorter_than_its_luff():
    """Luff 4,650, foot 1,700: a leech of 4,250 is a jib's, one of 3,500 too short (law of cosines at 45 degrees)."""
    jib = {"luff_length": "4650", "foot_length": "1700", "leech_length": "4250"}
    assert found(jib, SailKind.HEADSAIL) == []
    assert found(jib | {"leech_length": "3500"}, SailKind.HEADSAIL) == [("leech_length", "short_for_the_luff")]


def test_a_doubt_says_what_and_by_how_much():
    (doubt,) = rules.doubts(SailKind.MAINSAIL, {"mast_band_distance": D(5330)}, rig=RIG)
    assert doubt.message == "mast band distance (P) 5,330 mm is 1.5 % off the 5,250 mm that is known: measure it again"
    (doubt,) = rules.doubts(SailKind.MAINSAIL, {"mast_band_distance": D(2455), "boom_band_distance": D(5240)}, rig=RIG)
    assert doubt.message == "P 2,455 mm and E 5,240 mm look swapped: 5,250 mm and 2,450 mm are known"
