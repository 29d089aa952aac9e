"""What the customer gave: each value beside what it decides, and how it was measured where that is on record."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from costing import quote
from costing.sail import LuffCurve
from tests import skerling
from tests.quote import test_on_the_rig

D = Decimal


def given(**asked: object) -> tuple[str, ...]:
    whole = skerling.batch()
    sails = (replace(whole.sails[0], **asked),)
    return quote.price_batch(replace(whole, sails=sails), skerling.house(), on=skerling.PRICED_ON).batch.sails[0].given


def test_a_boom_that_decides_the_foot_is_told_with_its_value_and_how_it_was_measured() -> None:
    said = given(sizes={"boom_band_distance": D(2460)}, measured={"boom_band_distance": "measured by Jory Ash on 2026-03-02 (steel tape)"})
    reason = "boom band distance (E) of 2,460 mm less 20 mm that the relaxed edge stays short of it"
    assert said == (
        "boom band distance (E) 2,460 mm, measured by Jory Ash on 2026-03-02 (steel tape): "
        f"it decides the foot length, 2,440 mm: {reason}",
    )  # fmt: skip


def test_a_boom_that_decides_nothing_is_told_too_and_what_decided() -> None:
    """The class allows 2,460 mm and the loft keeps 10 back."""
    (said,) = given(sizes={"boom_band_distance": D(2480)})
    assert said == "boom band distance (E) 2,480 mm: the foot length is 2,450 mm by the 2,460 mm limit (C.6.3 (c)) less 10 mm kept back"


def test_a_size_and_a_luff_curve_that_were_asked_for() -> None:
    said = given(
        sizes={"luff_length": D(5205), "leech_length": D(5550)},
        luff_curve=LuffCurve(((0.0, 0.0), (0.25, 30.0), (0.5, 45.0), (0.75, 35.0), (1.0, 0.0))),
    )
    assert said == (
        "luff length 5,205 mm, leech length 5,550 mm: the sail is made so",
        "luff curve 30 mm at 0.25, 45 mm at 0.5, 35 mm at 0.75 of the luff: the sail's own",
    )


def test_a_size_that_the_mast_cuts_back_and_one_that_the_loft_aims_at_anyway() -> None:
    short = "mast band distance (P) of 5,200 mm less 40 mm that the relaxed edge stays short of it"
    assert given(sizes={"luff_length": D(5190), "leech_length": D(5560), "mast_band_distance": D(5200)}) == (
        f"luff length 5,190 mm: it is made 5,160 mm by the {short}",
        "leech length 5,560 mm: the sail is made so",
        f"mast band distance (P) 5,200 mm: it decides the luff length, 5,160 mm: {short}",
    )


def test_nothing_given_is_told_as_nothing() -> None:
    assert given() == ()


def test_a_storm_sail_s_rig_is_for_its_limits() -> None:
    (sail,) = test_on_the_rig.priced({"mast_band_distance": D(9800), "boom_band_distance": D(3400)}).batch.sails
    assert sail.given == ("mast band distance (P) 9,800 mm, boom band distance (E) 3,400 mm: for the limits on this boat's rig",)
