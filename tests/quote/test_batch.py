"""The association's batch priced from the fixtures, checked with arithmetic of its own."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest

from costing.errors import CostingBug, InputError
from costing.quote import BatchRequest, BatchResult, design, numbering, price_batch
from tests import skerling


@cache
def _result() -> BatchResult:
    return price_batch(skerling.batch(), skerling.house(), on=skerling.PRICED_ON)


def _half_up(thousandths_times_ten_thousandths: int) -> int:
    """Cents of quantity (in thousandths) x unit cost (in ten-thousandths), half up, in integers."""
    sign = -1 if thousandths_times_ten_thousandths < 0 else 1
    return sign * ((abs(thousandths_times_ten_thousandths) + 50_000) // 100_000)


def _scaled(number: Decimal, places: int) -> int:
    scaled = number.scaleb(places)
    assert scaled == int(scaled), f"{number} has more than {places} places"
    return int(scaled)


def test_every_cost_line_is_quantity_times_unit_cost() -> None:
    lines = [(s.label, line) for s in _result().batch.sails for line in s.cost_lines]
    assert len(lines) > 12 * 30
    for label, line in lines:
        product = _scaled(line.quantity, 3) * _scaled(line.unit_cost, 4)
        assert _scaled(line.amount, 2) == _half_up(product), (label, line)
        assert line.how and line.source, (label, line)


def test_sums_of_a_sail() -> None:
    for sail in _result().batch.sails:
        own = [_scaled(line.amount, 2) for line in sail.cost_lines if line.group != "pass-through"]
        passed = [_scaled(line.amount, 2) for line in sail.cost_lines if line.group == "pass-through"]
        assert (_scaled(sail.cost, 2), _scaled(sail.pass_through, 2)) == (sum(own), sum(passed))
        assert sum(_scaled(i.net, 2) for i in sail.items) == _scaled(sail.net, 2)
        for item in sail.items:
            assert _scaled(item.unit_price, 2) * item.quantity - _scaled(item.discount, 2) == _scaled(item.net, 2)
        made = sail.net - sail.pass_through
        assert sail.margin is not None
        assert abs(sail.margin - (made - sail.cost) / made) <= Decimal("0.00005")


def test_totals() -> None:
    batch = _result().batch
    net = sum(_scaled(i.net, 2) for s in batch.sails for i in s.items)
    tax = (net * 20 + 50) // 100  # everything is at 20 %
    totals = batch.totals
    assert [_scaled(x, 2) for x in (totals.net, totals.tax, totals.gross)] == [net, tax, net + tax]
    assert _scaled(totals.deposit, 2) == (net + tax + 1) // 2


def test_twelve_sails_make_a_tier_and_labels_are_not_discounted() -> None:
    batch = _result().batch
    assert (batch.discount, batch.discount_reason) == (Decimal("0.10"), "batch of 12 sails: 10 % from 10")
    for sail in batch.sails:
        made, label, fee = sail.items
        assert abs(made.discount - made.unit_price / 10) <= Decimal("0.005")
        assert (label.discount, label.net, fee.discount, fee.net) == (0, Decimal("18.00"), 0, Decimal("12.50"))


def test_identical_designs_are_computed_once() -> None:
    result = _result()
    assert len(result.designs) < len(result.batch.sails)
    by_boat = {s.boat: s.design_key for s in result.batch.sails}
    assert by_boat["Heron"] == by_boat["Whimbrel"] == by_boat["Linnet"]  # the same options, whatever colour or number
    assert by_boat["Heron"] != by_boat["Dipper"]  # no window
    variants = {s.boat for s in result.batch.sails if result.designs[s.design_key].variant}
    assert variants == {"Lapwing", "Wagtail"}
    assert all(key == found.key for key, found in result.designs.items())


def test_known_designs_are_taken_as_they_are() -> None:
    first = _result()
    marked = {k: replace(d, assumed=("known",)) for k, d in first.designs.items()}
    again = price_batch(skerling.batch(), skerling.house(), on=skerling.PRICED_ON, known=marked)
    assert {d.assumed for d in again.designs.values()} == {("known",)}
    assert again.batch == first.batch


def test_the_same_request_gives_the_same_batch() -> None:
    assert price_batch(skerling.batch(), skerling.house(), on=skerling.PRICED_ON) == _result()


def test_boats_of_one_design_have_one_price_though_their_numbers_differ() -> None:
    prices = {s.boat: s.items[0].unit_price for s in _result().batch.sails}
    assert prices["Heron"] == prices["Whimbrel"] == prices["Linnet"]
    costs = {s.boat: s.cost for s in _result().batch.sails}
    assert costs["Linnet"] >= costs["Whimbrel"] - Decimal("0.05")  # reckoned with as many characters


def test_a_short_number_has_the_price_of_the_longest_and_costs_less() -> None:
    heron = next(s for s in skerling.batch().sails if s.boat == "Heron")
    short = replace(heron, path="row 99", boat="Wren", owner="Nell Bray", sail_number="7")
    request = replace(skerling.batch(), sails=(heron, short))
    one, other = price_batch(request, skerling.house(), on=skerling.PRICED_ON, known=_result().designs).batch.sails
    assert one.items[0].unit_price == other.items[0].unit_price
    # two characters fewer on each of two sides, 3 min each: 12 min
    minutes = [next(o.own_min for o in s.operations if o.operation == "numbers") for s in (one, other)]
    assert minutes[0] - minutes[1] == 12
    assert other.cost < one.cost


def test_a_lay_that_does_not_hold_is_our_bug_and_never_priced() -> None:
    found = next(iter(_result().designs.values()))
    lay, parts = found.lays[0], tuple(p for p in found.parts if p.material == found.cloth.code)
    assert design.audited(lay, {"": parts}, found.cloth, found.table) is lay
    first, *rest = lay.placements
    moved = replace(lay, placements=(replace(first, y=first.y + 500), *rest))
    with pytest.raises(CostingBug, match="the lay on DW170 does not hold"):
        design.audited(moved, {"": parts}, found.cloth, found.table)


def test_a_variant_costs_more() -> None:
    """Fifteen minutes more for the cutting file."""
    lines = {s.boat: {x.code: x for x in s.cost_lines} for s in _result().batch.sails}
    own, other = lines["Wagtail"]["cutting_file"], lines["Heron"]["cutting_file"]
    assert (own.quantity - other.quantity, own.how) == (15, "5 x 1 sail + 15 x 1 variant = 20 min")


def test_set_up_is_shared_to_the_cent() -> None:
    """At 27.50 / 0.75 / 60 = 0.6111 a minute: 20 min = 12.22 for the order, 8 min = 4.89 for each of three rolls (white, light
    grey, red); 5 % on each: 0.61, 0.24."""
    house = skerling.house()
    labour = replace(house.labour, rate_per_paid_hour=Decimal("27.50"), productive_fraction=Decimal("0.75"))
    batch = price_batch(skerling.batch(), replace(house, labour=labour), on=skerling.PRICED_ON, known=_result().designs).batch
    shared: dict[str, Decimal] = {}
    for sail in batch.sails:
        for line in sail.cost_lines:
            if line.unit == "share":
                shared[line.code] = shared.get(line.code, Decimal(0)) + line.amount
    assert {code: str(amount) for code, amount in shared.items()} == {
        "check_and_confirm-order": "12.22", "unplanned-order": "0.61", "lay_and_cut-lay": "14.67", "unplanned-lay": "0.72",
    }  # fmt: skip


def test_a_blank_in_a_sail_number_is_not_cut_and_not_charged() -> None:
    request = skerling.batch()
    heron = next(s for s in request.sails if s.boat == "Heron")

    def taken(number: str) -> tuple[Decimal, Decimal]:
        one = replace(request, sails=(replace(heron, sail_number=number),))
        (sail,) = price_batch(one, skerling.house(), on=skerling.PRICED_ON).batch.sails
        assert sail.numbers is not None
        assert sail.numbers.text == number
        characters = next(line for line in sail.cost_lines if "characters" in line.label)
        return characters.quantity, sail.items[0].unit_price

    assert taken("K 21") == taken("K21")
    assert taken("K 21")[0] == 6  # three a side


def test_numbers_that_are_no_option_are_said() -> None:
    own = skerling.house()
    fixed = replace(own.pattern, options=tuple(o for o in own.pattern.options if o.code != "numbers"))
    request = skerling.batch()
    bare = tuple(replace(s, options=s.options - {"numbers"}, declined=s.declined - {"numbers"}) for s in request.sails)
    sails = price_batch(replace(request, sails=bare), replace(own, pattern=fixed), on=skerling.PRICED_ON).batch.sails
    assert all(numbering.ALWAYS in sail.assumed for sail in sails)
    assert not any(numbering.ALWAYS in sail.assumed for sail in _result().batch.sails)


def test_number_to_follow_is_reckoned_and_said() -> None:
    linnet = next(s for s in _result().batch.sails if s.boat == "Linnet")
    assert (linnet.label, linnet.sail_number, linnet.numbers) == ("Linnet (number to follow)", None, None)
    assert linnet.assumed == ("Sail number to follow: reckoned with 3 characters a side",)
    heron = next(s for s in _result().batch.sails if s.boat == "Heron")
    assert heron.numbers is not None
    assert (heron.label, heron.numbers.text, heron.numbers.height_mm, heron.assumed) == ("Heron 214", "214", 300.0, ())


def test_options_chosen_and_not() -> None:
    sails = {s.boat: s for s in _result().batch.sails}
    assert "Window" in sails["Heron"].chosen
    assert "Window" in sails["Dipper"].not_chosen
    assert "Cunningham ring" in sails["Goosander"].not_chosen
    assert all("Reef" not in s.not_chosen for s in sails.values())  # what the class forbids is no choice


def test_designs_are_inside_the_class() -> None:
    """The limits of edition 2025 as the fixture prints them."""
    limits = {"luff_length": "5230", "leech_length": "5570", "foot_length": "2460", "foot_round": "60", "quarter_width": "1995",
              "half_width": "1475", "three_quarter_width": "860", "upper_width": "500", "top_width": "140"}  # fmt: skip
    for found in _result().designs.values():
        sizes = dict(found.sizes)
        for name, maximum in limits.items():
            assert sizes[name] <= Decimal(maximum), (found.key, name)
        assert sizes["half_width"] >= 1380
        assert all(h.room >= 0 for h in found.headroom)
        compared = {h.limit.measurement for h in found.headroom}
        assert {"primary_reinforcement_size", "batten_pocket_count", "cloth_weight", "batten_pocket_length"} <= compared


def test_unknown_terms_and_buyer_are_refused_together() -> None:
    request = BatchRequest("A", "friend", skerling.batch().sails[:1], "CHEAP")
    with pytest.raises(InputError) as refused:
        price_batch(request, skerling.house(), on=skerling.PRICED_ON)
    assert [p.code for p in refused.value.problems] == ["unknown_buyer", "unknown_terms"]


def test_private_buyers_see_prices_with_tax() -> None:
    """The price shown, less tax at 20 % and rounded once, is the unit price: in integers, cents of shown x 5 / 6 half up."""
    request = replace(skerling.batch(), buyer="private")
    batch = price_batch(request, skerling.house(), on=skerling.PRICED_ON, known=_result().designs).batch
    for sail in batch.sails:
        main = sail.items[0]
        assert _scaled(main.unit_price, 2) == (_scaled(main.shown_unit_price, 2) * 10 + 6) // 12
        assert main.shown_unit_price > main.unit_price


def test_a_single_sail_bears_everything_and_reaches_the_target() -> None:
    request = replace(skerling.batch(), sails=skerling.batch().sails[:1])
    batch = price_batch(request, skerling.house(), on=skerling.PRICED_ON, known=_result().designs).batch
    (sail,) = batch.sails
    assert (sail.cost, batch.discount) == (sail.one_off_cost, 0)
    assert sail.margin is not None
    assert abs(sail.margin - Decimal("0.42")) < Decimal("0.0001")
    assert any("at least 5 sails" in w for w in batch.warnings)
