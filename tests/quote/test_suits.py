"""Batches whose sails name their patterns: what is shared over the batch, what by pattern, and what it takes for a suit."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest

from costing.errors import InputError
from costing.quote import (
    BatchRequest,
    BatchResult,
    House,
    PricedSail,
    SailRequest,
    freeze_batch,
    price_batch,
    thaw_batch,
    ticket_plan,
)
from loft.catalogue import formats
from tests import skerling

MAIN, FLAT = "SK13-MAIN", "SK13-FLAT"


@cache
def _house() -> House:
    return replace(skerling.house(), others=(formats.read_pattern(skerling.second_main_text()),))


def _sail(row: int, boat: str, number: str | None, pattern: str = "", **changes: object) -> SailRequest:
    return replace(SailRequest(f"row {row}", boat, f"Owner of {boat}", number, pattern=pattern), **changes)  # type: ignore[arg-type]


def _priced(*sails: SailRequest, house: House | None = None, terms: str = skerling.TERMS) -> BatchResult:
    return price_batch(BatchRequest("C", "trade", sails, terms), house or _house(), on=skerling.PRICED_ON)


@cache
def _two_suits() -> BatchResult:
    return _priced(
        _sail(2, "Heron", "214"), _sail(3, "Heron", "214", FLAT), _sail(4, "Dipper", "187"), _sail(5, "Dipper", "187", FLAT),
    )  # fmt: skip


def _minutes(sail: PricedSail, operation: str) -> tuple[Decimal, Decimal, Decimal]:
    (found,) = (o for o in sail.operations if o.operation == operation)
    return found.own_min, found.order_min, found.lay_min


def test_a_batch_of_one_pattern_is_priced_as_if_the_house_knew_no_other() -> None:
    alone = price_batch(skerling.batch(), skerling.house(), on=skerling.PRICED_ON)
    among = price_batch(skerling.batch(), _house(), on=skerling.PRICED_ON)
    assert among == alone
    assert str(among.batch.totals.net) == "10104.63"  # what the demo printed before a batch could hold several patterns
    named = replace(skerling.batch(), sails=tuple(replace(s, pattern=MAIN) for s in skerling.batch().sails))
    assert price_batch(named, _house(), on=skerling.PRICED_ON).batch == alone.batch


def test_a_batch_of_another_pattern_is_that_patterns_own() -> None:
    other = _house().making(FLAT)
    named = _priced(_sail(2, "Heron", "214", FLAT))
    assert named.batch == _priced(_sail(2, "Heron", "214"), house=replace(other, others=())).batch
    assert (named.batch.pattern_code, named.batch.is_mixed) == (FLAT, False)


def test_each_sail_is_made_by_its_own_pattern() -> None:
    batch, designs = _two_suits().batch, _two_suits().designs
    assert [s.pattern_code for s in batch.sails] == [MAIN, FLAT, MAIN, FLAT]
    assert [designs[s.design_key].pattern for s in batch.sails] == ["SK13-MAIN v3", "SK13-FLAT v1"] * 2
    assert len(designs) == 2
    rounds = {p: dict(d.sizes)["foot_round"] for d in designs.values() for p in (d.pattern,)}
    assert rounds == {"SK13-MAIN v3": Decimal("55.0"), "SK13-FLAT v1": Decimal("35.0")}  # as the two pattern files say
    assert [(p.code, p.version, p.called) for p in batch.made_by] == [
        (MAIN, 3, "Skerling 13 mainsail, cross-cut"), (FLAT, 1, "Skerling 13 flat mainsail"),
    ]  # fmt: skip
    assert batch.sails[1].label == "Heron 214, Skerling 13 flat mainsail"
    assert [i.label for i in batch.sails[1].items if not i.pass_through] == ["Skerling 13 flat mainsail"]


def test_set_up_of_the_order_is_shared_by_all_and_that_of_a_lay_by_pattern_and_cloth() -> None:
    batch = _two_suits().batch
    # the house: 20 min an order, 8 min a lay; two lays of two sails each
    assert [_minutes(s, "check_and_confirm")[1] for s in batch.sails] == [Decimal(5)] * 4
    assert [_minutes(s, "lay_and_cut")[2] for s in batch.sails] == [Decimal(4)] * 4


def test_a_boat_is_confirmed_once_for_its_suit_and_each_sail_priced_as_if_alone() -> None:
    main, flat, _, _ = _two_suits().batch.sails
    assert (_minutes(main, "check_and_confirm")[0], _minutes(flat, "check_and_confirm")[0]) == (Decimal(6), Decimal(0))
    (alone,) = _priced(_sail(3, "Heron", "214", FLAT)).batch.sails
    assert flat.one_off_cost == alone.one_off_cost
    assert flat.items[0].unit_price == alone.items[0].unit_price


def test_the_break_of_a_cloth_is_that_of_the_whole_batch() -> None:
    """Tarnside: DW170 is 16.40 a metre, 15.20 from 50 m, 13.95 from 80 m; five mains alone stay below 50 m, ten sails do not."""
    mains = [_sail(2 + i, f"Boat {i}", str(300 + i)) for i in range(5)]
    both = [*mains, *(_sail(12 + i, f"Boat {i}", str(300 + i), FLAT) for i in range(5))]

    def dw170(result: BatchResult) -> tuple[Decimal, set[Decimal]]:
        lines = [line for s in result.batch.sails for line in s.cost_lines if line.code == "DW170"]
        return sum((line.quantity for line in lines), Decimal(0)), {line.unit_cost for line in lines}

    (few, dear), (many, cheaper) = dw170(_priced(*mains)), dw170(_priced(*both))
    assert few < 50 <= many < 80
    assert (dear, cheaper) == ({Decimal("16.4000")}, {Decimal("15.2000")})


def test_learning_counts_the_sails_of_one_pattern() -> None:
    labour = replace(_house().labour, learning_per_doubling=Decimal("0.95"), learning_floor=Decimal("0.85"))
    house = replace(_house(), labour=labour)
    sails = [_sail(2, "A", "1"), _sail(3, "B", "2"), _sail(4, "C", "3", FLAT), _sail(5, "D", "4"), _sail(6, "E", "5")]
    batch = _priced(*sails, house=house).batch
    learned = [[o.how for o in s.operations if o.operation == "learning"] for s in batch.sails]
    assert [len(how) for how in learned] == [1, 1, 0, 1, 1]  # a single flat main teaches nothing
    assert all("the mean of 4 sails" in how[0] for i, how in enumerate(learned) if i != 2)


def test_the_discount_counts_every_sail() -> None:
    assert _two_suits().batch.discount == 0
    five = [_sail(2 + i, f"Boat {i}", str(300 + i), FLAT if i % 2 else "") for i in range(5)]
    batch = _priced(*five).batch
    assert batch.discount == Decimal("0.05")  # the terms: 5 % from 5 sails
    assert batch.totals.net == sum(s.net for s in batch.sails)


def test_what_is_passed_on_is_passed_on_for_each_sail() -> None:
    batch = _two_suits().batch
    assert [s.pass_through for s in batch.sails] == [batch.sails[0].pass_through] * 4
    assert batch.sails[0].pass_through > 0


REFUSED = [
    ("a pattern that nobody has", [_sail(2, "A", "1", "SK13-FLOT")], "row 2.pattern", "did you mean SK13-FLAT?"),
    ("one number, two owners", [_sail(2, "A", "7"), _sail(3, "B", "7", FLAT)], "row 2.sail_number", "more than one owner"),
    ("an option of its own table", [_sail(2, "A", "1", FLAT, options=frozenset({"kite"}))], "row 2.options", "Skerling 13 flat mainsail"),
    ("a cloth that its pattern has not", [_sail(2, "A", "1", FLAT, cloth="nothing")], "row 2.cloth", "no sailcloth"),
]


@pytest.mark.parametrize(("sails", "path", "message"), [case[1:] for case in REFUSED], ids=[case[0] for case in REFUSED])
def test_what_is_wrong_is_told_at_its_sail(sails: list[SailRequest], path: str, message: str) -> None:
    with pytest.raises(InputError) as refused:
        _priced(*sails)
    assert [message in p.message for p in refused.value.problems if p.path == path] == [True], refused.value.problems


def test_an_unknown_pattern_hides_nothing_that_is_wrong_with_other_sails() -> None:
    wide = _sail(4, "C", "3", sizes={"half_width": Decimal(4000)})
    with pytest.raises(InputError) as refused:
        _priced(_sail(2, "A", "1", "nonsense"), _sail(3, "B", "2", colour="violet"), wide)
    assert [p.path for p in refused.value.problems] == ["row 2.pattern", "row 3.colour", "row 4.half_width"]


@pytest.mark.parametrize(
    ("written", "right"),
    [
        ("mian", "did you mean SK13-MAIN or SK13-FLAT?"),
        ("main sail", "did you mean SK13-MAIN or SK13-FLAT?"),
        ("nonsense", "there are SK13-MAIN, SK13-FLAT"),
    ],
)
def test_a_sailor_s_or_misspelt_word_for_a_sail_leads_to_the_patterns_of_its_kind(written: str, right: str) -> None:
    with pytest.raises(InputError) as refused:
        _priced(_sail(2, "A", "1", written))
    assert [p.message for p in refused.value.problems] == [f"the loft has no pattern {written!r} for class SK13; {right}"]


WARNED = [
    ("a suit", [_sail(2, "A", "7"), _sail(3, "A", "7", FLAT)], False),
    ("two of one pattern", [_sail(2, "A", "7"), _sail(3, "A", "7")], True),
    ("two boats of one owner", [_sail(2, "A", "7", owner="X"), _sail(3, "B", "7", FLAT, owner="X")], True),
]


@pytest.mark.parametrize(("sails", "warned"), [case[1:] for case in WARNED], ids=[case[0] for case in WARNED])
def test_one_number_for_a_suit_is_right_and_anything_else_is_told(sails: list[SailRequest], warned: bool) -> None:
    assert any("sail number 7" in w for w in _priced(*sails).batch.warnings) is warned


def test_a_pattern_of_another_class_is_refused_only_when_a_sail_is_made_by_it() -> None:
    foreign = replace(_house().others[0], class_code="TERN")
    house = replace(_house(), others=(foreign,))
    assert _priced(_sail(2, "A", "1"), house=house).batch.totals.net > 0
    with pytest.raises(InputError, match="class TERN"):
        _priced(_sail(2, "A", "1"), _sail(3, "A", "1", FLAT), house=house)


def test_a_mixed_batch_comes_back_equal_and_an_older_snapshot_has_one_pattern() -> None:
    batch = _two_suits().batch
    assert thaw_batch(freeze_batch(batch)) == batch
    older = json.loads(freeze_batch(_priced(_sail(2, "Heron", "214")).batch))
    del older["value"]["patterns"]
    for sail in older["value"]["sails"]:
        del sail["pattern_code"]
    thawed = thaw_batch(json.dumps(older).encode())
    assert [(p.code, p.version, p.called) for p in thawed.made_by] == [(MAIN, 3, "mainsail")]
    assert thawed.pattern_of(thawed.sails[0]).royalty_label == thawed.royalty_label


def test_sails_of_a_boat_are_drawn_together_with_their_line_numbers() -> None:
    assert [[n for n, _ in boat] for boat in _two_suits().batch.boats()] == [[1, 2], [3, 4]]


def test_each_sail_has_the_steps_of_its_own_pattern() -> None:
    other = replace(_house().others[0], steps=tuple(reversed(_house().pattern.steps)))
    main, flat, _, _ = _two_suits().batch.sails
    forward, back = ticket_plan(main, _house().pattern)[0].steps, ticket_plan(flat, other)[0].steps
    assert [s.operation for s in forward] == [s.operation for s in back][::-1]
    assert len(forward) > 1
