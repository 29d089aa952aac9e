"""A design against the edition that is in force on another day than today: by which rule, by how much, and what nobody knows."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from costing import quote
from costing.errors import InputError
from costing.measurements import SailKind
from costing.quote import editions, snapshot
from costing.rules import Choice, ClassRule, Limit, OptionRule, SailRule
from tests import skerling

D = Decimal
MARCH_2027 = date(2027, 3, 1)


def edition_2027(*changed: Limit, options: tuple[OptionRule, ...] | None = None, **of_the_sail: object) -> ClassRule:
    """The class's edition of 2025 with some limits of its mainsail put in place of those on the same measurement."""
    old = skerling.house().class_rule
    main, *others = old.sails
    names = {x.measurement for x in changed}
    limits = (*(x for x in main.limits if x.measurement not in names), *changed)
    said = replace(main, limits=limits, options=main.options if options is None else options, **of_the_sail)
    return replace(old, edition="2027", valid_from=MARCH_2027, sails=(said, *others))


def maximum(measurement: str, mm: str, **more: object) -> Limit:
    return Limit(measurement, "C.6.3 (x)", None, D(mm), f"max {mm} mm", **more)  # type: ignore[arg-type]


def priced(*known: ClassRule, certified_on: date | None = None) -> quote.PricedSail:
    """The first boat of the batch alone."""
    house = replace(skerling.house(), editions=(*known, skerling.house().class_rule))
    whole = skerling.batch()
    request = replace(whole, sails=(replace(whole.sails[0], certified_on=certified_on),))
    (sail,) = quote.price_batch(request, house, on=skerling.PRICED_ON).batch.sails
    return sail


def design() -> quote.Design:
    result = quote.price_batch(replace(skerling.batch(), sails=skerling.batch().sails[:1]), skerling.house(), on=skerling.PRICED_ON)
    (found,) = result.designs.values()
    return found


def test_the_day_is_the_end_of_the_lead_time_unless_somebody_says_another() -> None:
    assert skerling.house().pattern.lead_time_weeks == "4 to 6"
    assert priced().certified_on == date(2026, 4, 13)  # six weeks after 2 March
    assert priced(certified_on=date(2026, 3, 20)).certified_on == date(2026, 3, 20)
    assert priced().edition_notes == ()


def test_a_day_that_is_over_is_refused_and_that_of_the_quote_is_not() -> None:
    assert priced(certified_on=skerling.PRICED_ON).certified_on == skerling.PRICED_ON
    with pytest.raises(InputError) as refused:
        priced(certified_on=date(1999, 1, 1))
    assert [f"{p.path}: {p.message}" for p in refused.value.problems] == [
        "row 2.certified_on: 1999-01-01 is over on 2026-03-02, the day of the quote: "
        "write a day from then on, or leave it empty for the end of the lead time"
    ]


@pytest.mark.parametrize(
    ("label", "terms", "pattern", "said", "day"),
    [
        ("the pattern takes longer", "4 to 6 weeks from release", "5 to 7", "5 to 7 weeks from release", date(2026, 4, 20)),
        ("the terms take longer", "8 weeks from release", "5 to 7", "8 weeks from release", date(2026, 4, 27)),
        ("the terms say none", "", "5 to 7 weeks", "5 to 7 weeks", date(2026, 4, 20)),
        ("nobody says", "", "", "", date(2026, 3, 2)),
        ("terms that name a day", "ready by 30 June 2027", "5 to 7", "5 to 7 weeks; ready by 30 June 2027", date(2026, 4, 20)),
    ],
)
def test_one_lead_time_is_said_and_the_day_follows_from_it(label: str, terms: str, pattern: str, said: str, day: date) -> None:
    house, whole = skerling.house(), skerling.batch()
    slow = replace(house, terms=replace(house.terms, lead_time=terms), pattern=replace(house.pattern, lead_time_weeks=pattern))
    batch = quote.price_batch(replace(whole, sails=whole.sails[:1]), slow, on=skerling.PRICED_ON).batch
    assert (batch.lead_time, batch.sails[0].certified_on) == (said, day), label


def test_a_narrower_limit_of_the_edition_in_force_then_is_said_with_rule_and_amount() -> None:
    # the pattern's half width is the limit of 1,475 mm less a margin of 5 mm
    later = edition_2027(maximum("half_width", "1460"))
    (breach, head) = priced(later, certified_on=MARCH_2027).edition_notes
    assert head == "Expected to be certified on 2027-03-01, when edition 2027 is in force; designed under edition 2025"
    assert breach == "OUTSIDE edition 2027: half width 1,470 mm is 10 mm over the maximum of 1,460 mm (C.6.3 (x))"
    assert priced(later, certified_on=date(2027, 2, 28)).edition_notes == ()


def test_an_edition_that_the_sail_keeps_is_named_all_the_same() -> None:
    (head,) = priced(edition_2027(maximum("half_width", "1480")), certified_on=MARCH_2027).edition_notes
    assert head.endswith("designed under edition 2025; it keeps every limit of that edition that can be compared")


def test_a_new_limit_without_a_value_is_said_and_not_passed() -> None:
    found = priced(edition_2027(maximum("headboard_size", "130")), certified_on=MARCH_2027).edition_notes
    assert "Edition 2027: Headboard (C.6.3 (x)): the design has no value of it; measure the finished sail" in found


def test_no_edition_for_that_day_is_said() -> None:
    ended = replace(skerling.house().class_rule, valid_to=date(2026, 3, 31))
    house = replace(skerling.house(), editions=(ended,), class_rule=ended)
    result = quote.price_batch(replace(skerling.batch(), sails=skerling.batch().sails[:1]), house, on=skerling.PRICED_ON)
    (note,) = result.batch.sails[0].edition_notes
    assert note.startswith("Expected to be certified on 2026-04-13: no edition of the class that is in force then is loaded")


def test_a_limit_for_sails_certified_from_a_day_on_binds_on_that_day_only() -> None:
    rule = edition_2027(maximum("half_width", "1460", certified_from=date(2027, 6, 1)))
    pattern = skerling.house().pattern
    assert editions.against(design(), pattern, rule, on=date(2027, 5, 31)).breaches == ()
    (breach,) = editions.against(design(), pattern, rule, on=date(2027, 6, 1)).breaches
    assert "10 mm over the maximum of 1,460 mm" in breach


@pytest.mark.parametrize(
    ("label", "rule", "expected"),
    [
        ("cloth", edition_2027(permitted_cloth=("laminate",), permitted_cloth_rule="C.6.2 (b)"), "is not a permitted cloth (C.6.2 (b))"),
        ("forbidden", edition_2027(options=(OptionRule("numbers", Choice.FORBIDDEN, "C.9"),)), "numbers is forbidden (C.9)"),
        ("required", edition_2027(options=(OptionRule("reef", Choice.REQUIRED, "C.8"),)), "reef is required (C.8) and the sail has none"),
    ],
)
def test_what_is_permitted_forbidden_and_required_is_compared_too(label: str, rule: ClassRule, expected: str) -> None:
    (breach,) = editions.against(design(), skerling.house().pattern, rule, on=MARCH_2027).breaches
    assert breach.endswith(expected), label


def test_the_edition_that_it_was_designed_under_finds_nothing() -> None:
    house = skerling.house()
    found = editions.against(design(), house.pattern, house.class_rule, on=skerling.PRICED_ON)
    assert found.breaches == ()
    main = house.class_rule.sail(SailKind.MAINSAIL)
    assert len(found.left_open) == 0 and len(main.limits) == 16


def test_an_edition_without_this_kind_of_sail_has_no_limit_for_it() -> None:
    house = skerling.house()
    empty = replace(house.class_rule, sails=(SailRule(SailKind.HEADSAIL, ()),))
    assert not empty.says_of(SailKind.MAINSAIL)
    assert editions.against(design(), house.pattern, empty, on=MARCH_2027).breaches == ()


def test_a_sail_that_was_frozen_before_days_were_kept_is_read_with_none() -> None:
    old = replace(priced(), certified_on=None, edition_notes=())
    frozen = snapshot.freeze_sail(old).replace(b'"certified_on":null,', b"").replace(b'"edition_notes":[],', b"")
    assert b"certified_on" not in frozen
    assert snapshot.thaw_sail(frozen) == old
