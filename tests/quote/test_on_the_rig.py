"""A trysail ordered by the example class and pattern: its area is compared with its own boat's rig, and nobody quotes it unchecked."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing import quote
from costing.errors import InputError
from loft.catalogue import formats
from tests import skerling

D = Decimal
CLASS = formats.read_class(skerling.text("fellmere_28_2026.toml"))
PATTERN = formats.read_pattern(skerling.text("fm28_trysail_v1.toml"))
RIG = {"mast_band_distance": D(9800), "boom_band_distance": D(3400)}


def house(**changed: object) -> quote.House:
    own = replace(skerling.house(), class_rule=CLASS, pattern=PATTERN, others=(), pass_through=())
    return replace(own, terms=replace(own.terms, minimum_sails=0), **changed)  # type: ignore[arg-type]


def priced(sizes: dict[str, Decimal], of: quote.House | None = None) -> quote.BatchResult:
    sail = quote.SailRequest("row 2", "Bittern", "Maud Pellow", "41", sizes=sizes)
    return quote.price_batch(quote.BatchRequest("Bittern", "private", (sail,)), of or house(), on=skerling.PRICED_ON)


def refused(sizes: dict[str, Decimal], of: quote.House | None = None) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as raised:
        priced(sizes, of)
    return [(p.path, p.code, p.message) for p in raised.value.problems]


def test_its_area_stands_against_the_boat_s_own_rig() -> None:
    """17.5 % of 9.8 m x 3.4 m is 5.831 m2; half of the leech times the tack's distance from it is the regulations' area of the sail."""
    result = priced(RIG)
    (sail,), (design,) = result.batch.sails, result.designs.values()
    (said,) = [s for s in sail.assumed if s.startswith("On this boat's rig")]
    assert "of at most 5.8310 m2 (OSR trysail, max 17.5 % of P x E" in said and "checked by Rowena Birkett on 2026-02-20" in said
    # by hand: a leech of 4,600 mm less margin and a height of the triangle of about 2,130 mm give some 4.9 m2
    area = D(said.split("area ")[1].split(" ")[0])
    assert D("4.7") < area < D("5.0")
    assert not any("cannot determine" in s for s in design.assumed)


def test_a_smaller_rig_makes_it_too_large() -> None:
    """17.5 % of 8 m x 3 m is 4.2 m2."""
    ((path, code, message),) = refused({"mast_band_distance": D(8000), "boom_band_distance": D(3000)})
    assert (path, code) == ("row 2.area", "outside_maximum")
    assert "over the maximum of 4.2 m2 (OSR trysail)" in message


def test_without_the_rig_it_cannot_be_determined_and_is_said() -> None:
    (sail,) = priced({}).batch.sails
    (said,) = [s for s in sail.assumed if "cannot determine" in s]
    assert said.startswith("area (OSR trysail): cannot determine")


def test_two_boats_with_one_design_are_told_their_own_rig() -> None:
    sails = tuple(
        quote.SailRequest(f"row {i}", f"Boat {i}", "Maud Pellow", str(40 + i), sizes={**RIG, "mast_band_distance": D(p)})
        for i, p in ((2, 9800), (3, 9900))
    )  # fmt: skip
    result = quote.price_batch(quote.BatchRequest("Two", "private", sails), house(), on=skerling.PRICED_ON)
    assert len(result.designs) == 1
    first, second = (next(s for s in sail.assumed if s.startswith("On this")) for sail in result.batch.sails)
    assert "5.8310" in first and "5.8905" in second


def test_no_storm_sail_is_quoted_that_nobody_has_checked() -> None:
    rule = CLASS.sail_or_none(PATTERN.sail_kind)
    unchecked = replace(rule, limits=tuple(x for x in rule.limits if "checked by" not in x.note))
    of = house(class_rule=replace(CLASS, sails=(unchecked,)))
    assert ("row 2.pattern", "not_checked") in [(path, code) for path, code, _ in refused(RIG, of)]
    of = house(class_rule=replace(CLASS, sails=()))
    assert ("row 2.pattern", "not_checked") in [(path, code) for path, code, _ in refused(RIG, of)]


def test_a_kind_without_any_limit_is_quoted_and_said_so() -> None:
    """The demo's main under a class that says nothing of mainsails, its sizes those of the pattern."""
    own = skerling.house()
    designed = next(iter(quote.price_batch(skerling.batch(), own, on=skerling.PRICED_ON).designs.values()))
    sizes = {t.measurement: t.value for t in designed.targets} | own.pattern.sizes
    silent = replace(own, class_rule=replace(own.class_rule, sails=()), pattern=replace(own.pattern, sizes=sizes))
    request = replace(skerling.batch(), sails=skerling.batch().sails[:1])
    (design,) = quote.price_batch(request, silent, on=skerling.PRICED_ON).designs.values()
    assert design.headroom == ()
    assert design.assumed[0] == "No limit for a mainsail in edition 2025 of the class rules: every size is the pattern's or was asked for"
    assert any(s.startswith("Half width: the pattern's") and "1 % more would add" in s for s in design.assumed)
