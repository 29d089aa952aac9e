"""Sails sold as NON-CLASS: what may lie outside a limit, what is said of it, and what such a sail goes without."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from costing import quote, rules
from costing.errors import InputError
from costing.measurements import SailKind
from costing.quote import batch_json, snapshot
from costing.quote.request import PassThrough
from costing.takeoff import KitItem
from tests import skerling
from tests.quote.test_on_the_rig import house as with_trysail

D = Decimal
LONG = quote.SailRequest("row 2", "Lapwing", "Ada Thwaite", "171", sizes={"luff_length": D("5240")})
OVER = "luff length 5,240 mm is 10 mm over the maximum of 5,230 mm (C.6.3 (a))"
STANDARD = replace(LONG, path="row 3", boat="Heron", owner="Maud Pellow", sail_number="214", sizes={})


def priced(*sails: quote.SailRequest, house: quote.House | None = None) -> quote.BatchResult:
    return quote.price_batch(quote.BatchRequest("Association", "trade", sails), house or skerling.house(), on=skerling.PRICED_ON)


def marked(sail: quote.SailRequest = LONG, **sizes: str) -> quote.SailRequest:
    return replace(sail, non_class=True, sizes={name: D(value) for name, value in sizes.items()} or sail.sizes)


def refusals(*sails: quote.SailRequest) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as refused:
        priced(*sails)
    return [(p.path, p.code, p.message) for p in refused.value.problems]


def test_without_the_mark_a_breach_is_refused_and_the_ways_are_told() -> None:
    ((path, code, told),) = refusals(LONG)
    ways = "ask for a size inside the limit, measure the boat again, or have the owner sell it as NON-CLASS"
    assert (path, code, told) == ("row 2.luff_length", "outside_maximum", f"{OVER}; {ways}")


def test_with_it_the_sail_is_made_as_it_was_asked_for_and_says_by_how_much() -> None:
    result = priced(marked(), STANDARD)
    sail, other = result.batch.sails
    (breach,) = sail.breaches
    assert (breach.measurement, breach.rule, breach.side) == ("luff_length", "C.6.3 (a)", "maximum")
    assert (breach.value, breach.limit, breach.by) == (D("5240"), D("5230"), D("10"))
    assert sail.not_legal == (OVER,) and other.not_legal == ()
    design = result.designs[sail.design_key]
    assert dict(design.sizes)["luff_length"] == D("5240.0")
    target = next(t for t in design.targets if t.measurement == "luff_length")
    assert (target.decided_by, target.reason) == ("boat", "5,240 mm asked for this boat, outside the class's limit")
    assert design.variant


def with_limit(measurement: str, **changed: Decimal) -> quote.House:
    """The house with another bound in its class's rules for the mainsail."""
    own = skerling.house()
    rule = own.class_rule.sail_or_none(own.pattern.sail_kind)
    limits = tuple(replace(x, **changed) if x.measurement == measurement else x for x in rule.limits)  # type: ignore[arg-type]
    sails = tuple(replace(rule, limits=limits) if s.kind is rule.kind else s for s in own.class_rule.sails)
    return replace(own, class_rule=replace(own.class_rule, sails=sails))


def test_each_limit_has_its_sentence() -> None:
    (sail,) = priced(marked(leech_length="5580", luff_length="5232")).batch.sails
    assert sail.not_legal == (
        "luff length 5,232 mm is 2 mm over the maximum of 5,230 mm (C.6.3 (a))",
        "leech length 5,580 mm is 10 mm over the maximum of 5,570 mm (C.6.3 (b))",
    )
    (sail,) = priced(marked(half_width="1445"), house=with_limit("half_width", minimum=D(1450))).batch.sails
    assert sail.not_legal == ("half width 1,445 mm is 5 mm under the minimum of 1,450 mm (C.6.3 (f))",)


def test_what_lies_inside_and_was_not_asked_for_keeps_the_margin_that_the_loft_keeps_back() -> None:
    """5,560 mm is the leech's limit less the loft's 10 mm; a leech of 5,565 mm that is asked for is made."""
    for asked, made in (({}, "5560.0"), ({"leech_length": "5565"}, "5565.0")):
        (design,) = priced(marked(luff_length="5240", **asked)).designs.values()
        assert dict(design.sizes)["leech_length"] == D(made)


def test_it_carries_no_label_no_fee_and_no_step_for_the_label() -> None:
    sail, other = priced(marked(), STANDARD).batch.sails
    assert [i.label for i in sail.items if i.pass_through] == [] and sail.pass_through == 0
    assert [i.label for i in other.items if i.pass_through] == ["Royalty label, class association", "Measuring fee, class association"]
    assert "royalty_label" not in {o.operation for o in sail.operations}
    assert "royalty_label" in {o.operation for o in other.operations}
    assert not {"LABEL-SK13", "MEASURING-SK13"} & {line.code for line in sail.cost_lines}


def test_what_is_charged_on_for_no_class_stays() -> None:
    carriage = PassThrough("LABEL-SK13", "Carriage", "S")
    house = replace(skerling.house(), pass_through=(*skerling.house().pass_through, carriage))
    (sail,) = priced(marked(), house=house).batch.sails
    assert [i.label for i in sail.items if i.pass_through] == ["Carriage"]


def test_what_the_kit_takes_for_the_label_is_left_out() -> None:
    own = skerling.house()
    label = KitItem("LABEL-SK13", "sail", D(1), counts_as="royalty_label")
    house = replace(own, pattern=replace(own.pattern, kit=(*own.pattern.kit, label)), pass_through=())
    sail, other = priced(marked(), STANDARD, house=house).batch.sails
    assert "LABEL-SK13" not in {line.code for line in sail.cost_lines}
    assert "LABEL-SK13" in {line.code for line in other.cost_lines}


def test_it_is_certified_on_no_day_and_no_edition_is_asked() -> None:
    own = skerling.house()
    later = replace(own.class_rule, edition="2027", valid_from=skerling.PRICED_ON, valid_to=None)
    sail, other = priced(marked(), STANDARD, house=replace(own, editions=(later,))).batch.sails
    assert (sail.certified_on, sail.edition_notes) == (None, ())
    assert other.certified_on is not None and other.edition_notes


def test_a_mark_for_nothing_is_said_and_the_sail_is_a_class_sail_to_the_last_figure() -> None:
    plain, for_nothing = priced(STANDARD).batch, priced(replace(STANDARD, non_class=True)).batch
    (one,), (other,) = plain.sails, for_nothing.sails
    note = "Marked NON-CLASS, and nothing of it is outside the class's limits: it is made, priced and sold as a class sail"
    assert other == replace(one, assumed=(*one.assumed, note))
    assert for_nothing.totals == plain.totals
    assert f"row 3, Heron 214: {note[0].lower()}{note[1:]}" in for_nothing.warnings


def test_the_desk_is_warned_of_each() -> None:
    warnings = priced(marked(), STANDARD).batch.warnings
    assert f"row 2, Lapwing 171: NON-CLASS, not class legal: {OVER}; the owner agrees in writing before it is issued" in warnings
    assert len([w for w in warnings if "NON-CLASS" in w]) == 1


def test_a_design_that_was_made_for_it_lets_no_class_sail_through() -> None:
    """The window's area is the design's, not asked for: both rows come to the same design, and only the marked one may have it."""
    house = with_limit("window_area", maximum=D("0.1"))
    legal = replace(STANDARD, options=frozenset({"window"}))
    for order in ((marked(legal), legal), (legal, marked(legal))):
        with pytest.raises(InputError) as refused:
            priced(*order, house=house)
        assert [(p.path, p.code) for p in refused.value.problems] == [("row 3.window_area", "outside_maximum")]
    alone = priced(marked(legal), house=house)
    assert [b.measurement for b in alone.batch.sails[0].breaches] == ["window_area"]
    with pytest.raises(InputError, match="NON-CLASS"):  # known already, and asked again
        quote.price_batch(quote.BatchRequest("", "trade", (legal,)), house, on=skerling.PRICED_ON, known=alone.designs)


def test_a_storm_sail_too_large_for_its_boat_s_rig() -> None:
    sail = quote.SailRequest(
        "row 2", "Bittern", "Maud Pellow", "41", sizes={"mast_band_distance": D(8000), "boom_band_distance": D(3000)}, non_class=True
    )
    (one,) = quote.price_batch(quote.BatchRequest("Bittern", "private", (sail,)), with_trysail(), on=skerling.PRICED_ON).batch.sails
    (told,) = one.not_legal
    assert "over the maximum of 4.2 m2 (OSR trysail)" in told


def test_what_shapes_no_sail_and_what_is_no_size_stay_refused() -> None:
    wrong = replace(marked(luff_length="5240"), cloth="DW150", options=frozenset({"reef"}))
    assert [(path, code) for path, code, _ in refusals(wrong)] == [
        ("row 2.options", "forbidden_option"), ("row 2.cloth", "cloth_too_light"),
    ]  # fmt: skip
    assert [code for _, code, _ in refusals(marked(luff_length="52400"))] == ["looks_like_a_slip"]
    assert [(path, code) for path, code, _ in refusals(marked(batten_pocket_length="1010"))] == [
        ("row 2.batten_pocket_length", "outside_maximum")
    ]


def test_a_spar_that_leaves_less_than_the_minimum() -> None:
    limit = rules.Limit("foot_length", "C.7", D(2300), D(2450), "")
    rule = rules.SailRule(SailKind.MAINSAIL, (limit,))
    sizes = {n: D(v) for n, v in (("luff_length", 5210), ("leech_length", 5560), ("quarter_width", 1990), ("half_width", 1460),
                                  ("three_quarter_width", 860), ("top_width", 130))}  # fmt: skip
    found = rules.design_target(rule, (), sizes, {"boom_band_distance": D(2310)}, {"foot_length": D(20)}, beyond={"foot_length"})
    foot = next(t for t in found if t.measurement == "foot_length")
    assert (foot.value, foot.decided_by) == (D(2290), "spar")
    assert foot.reason.endswith("stays short of it, outside the class's limit")


def test_it_is_in_the_snapshot_and_in_the_file_for_other_programs() -> None:
    result = priced(marked(), STANDARD)
    assert snapshot.thaw_batch(snapshot.freeze_batch(result.batch)) == result.batch
    told, none = (sail["breaches"] for sail in batch_json.batch_as_plain(result.batch, result.designs)["sails"])
    assert none == []
    assert told[0] | {"percent": ""} == {
        "measurement": "luff_length", "rule": "C.6.3 (a)", "value": str(result.batch.sails[0].breaches[0].value), "limit": "5230",
        "side": "maximum", "by": str(result.batch.sails[0].breaches[0].by), "percent": "", "called": "",
    }  # fmt: skip


def test_a_snapshot_from_before_has_class_sails() -> None:
    frozen = json.loads(snapshot.freeze_batch(priced(STANDARD).batch))
    for sail in frozen["value"]["sails"]:
        del sail["breaches"]
    (sail,) = snapshot.thaw_batch(json.dumps(frozen).encode()).sails
    assert (sail.breaches, sail.not_legal) == ((), ())


def test_the_demo_s_batch_is_as_it_was() -> None:
    """None of the association's twelve boats is marked: the sum that README.md prints."""
    batch = quote.price_batch(skerling.batch(), skerling.house(), on=skerling.PRICED_ON).batch
    assert batch.totals.net == D("10104.63")
    assert not any(sail.breaches for sail in batch.sails)
