"""Design targets: which of limit, pattern, boat and spar decides, and every refusal at once."""

from datetime import date
from decimal import Decimal

import pytest

from costing import rules
from costing.errors import InputError
from costing.measurements import Corner, SailKind

D = Decimal

LIMITS = (
    rules.Limit("luff_length", "C.6.3(a)", None, D(5220), "5220"),
    rules.Limit("leech_length", "C.6.3(b)", None, D(5570), "5570"),
    rules.Limit("foot_length", "C.6.3(c)", D(2300), D(2450), "2300-2450"),
    rules.Limit("quarter_width", "C.6.3(d)", None, D(1990), "1990"),
    rules.Limit("half_width", "C.6.3(e)", None, D(1460), "1460"),
    rules.Limit("three_quarter_width", "C.6.3(f)", None, D(860), "860"),
    rules.Limit("window_area", "C.6.5", None, D("0.3"), "0.3"),
    rules.Limit("cloth_weight", "C.6.1", D(130), None, "130"),
    rules.Limit("batten_pocket_count", "C.6.2", D(4), D(4), "4"),
)
MARGINS = (rules.Margin("leech_length", D(10)), rules.Margin("half_width", D(5)), rules.Margin("foot_length", D(10)))
PATTERN = {"top_width": D(130), "upper_width": D(495), "luff_length": D(5210)}
RELAX = {"luff_length": D(40), "foot_length": D(20)}


def rule(*limits: rules.Limit, kind: SailKind = SailKind.MAINSAIL) -> rules.SailRule:
    return rules.SailRule(kind, limits or LIMITS)


def changed(*new: rules.Limit) -> rules.SailRule:
    names = {limit.measurement for limit in new}
    return rule(*(limit for limit in LIMITS if limit.measurement not in names), *new)


def targets(a_rule=None, pattern=PATTERN, boat=None, margins=MARGINS) -> dict[str, rules.Target]:
    found = rules.design_target(a_rule or rule(), margins, pattern, {n: D(v) for n, v in (boat or {}).items()}, RELAX)
    return {t.measurement: t for t in found}


def refusals(a_rule=None, pattern=PATTERN, boat=None) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as refused:
        targets(a_rule, pattern, boat)
    return [(p.path, p.code, p.message) for p in refused.value.problems]


@pytest.mark.parametrize(
    ("label", "boat", "name", "value", "decided_by", "reason"),
    [
        ("limit less margin", {}, "leech_length", "5560", "limit", "5,570 mm limit (C.6.3(b)) less 10 mm kept back"),
        ("limit with no margin", {}, "quarter_width", "1990", "limit", "1,990 mm limit (C.6.3(d)), nothing kept back"),
        ("pattern below the limit", {}, "luff_length", "5210", "pattern", "the pattern's 5,210 mm"),
        ("no limit at all", {}, "upper_width", "495", "pattern", "the pattern's 495 mm"),
        ("asked, smaller", {"half_width": "1448.5"}, "half_width", "1448.5", "boat", "1,448.5 mm asked for this boat"),
        ("asked, larger than the pattern", {"luff_length": "5215"}, "luff_length", "5215", "boat", "5,215 mm asked for this boat"),
        ("asked, as the pattern has it", {"luff_length": "5210"}, "luff_length", "5210", "pattern", "the pattern's 5,210 mm"),
        ("asked, larger, no limit", {"upper_width": "510"}, "upper_width", "510", "boat", "510 mm asked for this boat"),
        ("asked inside the margin", {"leech_length": "5565"}, "leech_length", "5565", "boat", "5,565 mm asked for this boat"),
        ("asked up to the limit", {"leech_length": "5570"}, "leech_length", "5570", "boat", "5,570 mm asked for this boat"),
        (
            "asked, larger than the spar allows",
            {"mast_band_distance": "5200", "luff_length": "5215"},
            "luff_length",
            "5160",
            "spar",
            "mast band distance (P) of 5,200 mm less 40 mm that the relaxed edge stays short of it",
        ),
        (
            "short mast",
            {"mast_band_distance": "5200"},
            "luff_length",
            "5160",
            "spar",
            "mast band distance (P) of 5,200 mm less 40 mm that the relaxed edge stays short of it",
        ),
        ("long mast", {"mast_band_distance": "5300"}, "luff_length", "5210", "pattern", "the pattern's 5,210 mm"),
        (
            "short boom",
            {"boom_band_distance": "2430"},
            "foot_length",
            "2410",
            "spar",
            "boom band distance (E) of 2,430 mm less 20 mm that the relaxed edge stays short of it",
        ),
        (
            "asked smaller than the spar allows",
            {"boom_band_distance": "2430", "foot_length": "2400"},
            "foot_length",
            "2400",
            "boat",
            "2,400 mm asked for this boat",
        ),
    ],
)
def test_what_decides(label, boat, name, value, decided_by, reason):
    target = targets(boat=boat)[name]
    assert (target.value, target.decided_by, target.reason) == (D(value), decided_by, reason), label


def test_a_rule_number_stands_with_every_size_that_a_limit_decided():
    found = targets()
    assert {n: t.rule for n, t in found.items() if t.decided_by == "limit"} == {
        "leech_length": "C.6.3(b)",
        "foot_length": "C.6.3(c)",
        "quarter_width": "C.6.3(d)",
        "half_width": "C.6.3(e)",
        "three_quarter_width": "C.6.3(f)",
    }


def test_only_lengths_are_targets():
    """Counts, areas and cloth weight have limits but nothing to aim at; spar bands are the boat's."""
    found = targets(boat={"mast_band_distance": "5300"})
    assert list(found) == [
        "luff_length",
        "leech_length",
        "foot_length",
        "quarter_width",
        "half_width",
        "three_quarter_width",
        "upper_width",
        "top_width",
    ]


def test_the_strictest_corner_decides_a_patch():
    corners = tuple(
        rules.Limit("primary_reinforcement_size", f"C.6.4({c.value})", None, D(mm), mm, corner=c)
        for c, mm in ((Corner.HEAD, "310"), (Corner.TACK, "295"), (Corner.CLEW, "300"))
    )
    target = targets(rule(*LIMITS, *corners), margins=(rules.Margin("primary_reinforcement_size", D(5)),))["primary_reinforcement_size"]
    assert (target.value, target.rule) == (D(290), "C.6.4(tack)")


@pytest.mark.parametrize(
    ("label", "limit", "pattern", "value", "reason"),
    [
        (
            "pattern under the minimum is lifted above it",
            rules.Limit("foot_length", "C.7", D(2300), D(2450), ""),
            {"foot_length": D(2290)},
            "2310",
            "2,300 mm minimum (C.7) plus 10 mm kept back",
        ),
        (
            "a band too narrow for two margins",
            rules.Limit("foot_length", "C.7", D(2444), D(2450), ""),
            {},
            "2447",
            "the middle of 2,444 mm to 2,450 mm (C.7): the margin of 10 mm does not fit twice",
        ),
        ("only a minimum", rules.Limit("foot_length", "C.7", D(2300), None, ""), {}, "2310", "2,300 mm minimum (C.7) plus 10 mm kept back"),
    ],
)
def test_never_under_a_minimum(label, limit, pattern, value, reason):
    target = targets(changed(limit), {**PATTERN, **pattern})["foot_length"]
    assert (target.value, target.decided_by, target.reason) == (D(value), "limit", reason), label


def test_a_boat_too_small_for_the_minimum_is_refused():
    assert refusals(boat={"boom_band_distance": "2310"}) == [
        (
            "foot_length",
            "under_minimum",
            "foot length comes to 2,290 mm (boom band distance (E) of 2,310 mm less 20 mm that the relaxed edge stays short of it), "
            "which is 10 mm under the minimum of 2,300 mm (C.6.3(c)): no sail is inside the class and fits this boat; "
            "ask for a size inside the limit, measure the boat again, or have the owner sell it as NON-CLASS",
        )
    ]


def test_every_asked_size_outside_its_limit_is_refused_at_once():
    found = refusals(boat={"leech_length": "5600", "half_width": "1460.5", "foot_length": "2290", "batten_pocket_count": "5"})
    assert [(path, code) for path, code, _ in found] == [
        ("leech_length", "outside_maximum"),
        ("foot_length", "outside_minimum"),
        ("half_width", "outside_maximum"),
        ("batten_pocket_count", "outside_maximum"),
    ]
    ways = "; ask for a size inside the limit, measure the boat again, or have the owner sell it as NON-CLASS"
    assert found[0][2] == f"leech length 5,600 mm is 30 mm over the maximum of 5,570 mm (C.6.3(b)){ways}"
    assert found[1][2] == f"foot length 2,290 mm is 10 mm under the minimum of 2,300 mm (C.6.3(c)){ways}"


def test_every_missing_size_is_named():
    found = refusals(rule(*LIMITS[:3]), {})
    assert [(path, code) for path, code, _ in found] == [
        (name, "missing") for name in ("quarter_width", "half_width", "three_quarter_width", "top_width")
    ]


@pytest.mark.parametrize(
    ("label", "boat", "message"),
    [
        (
            "10 times",
            {"luff_length": "52100"},
            "52,100 mm is about 10 times the pattern's 5,210 mm and looks like a digit too many: was 5,210 mm meant?",
        ),
        (
            "centimetres",
            {"luff_length": "520.5"},
            "520.5 mm is about 1/10 of the pattern's 5,210 mm and looks like centimetres, or a digit that is missing: was 5,205 mm meant?",
        ),
        (
            "inches",
            {"luff_length": "205"},
            "205 mm is about 1/25.4 of the pattern's 5,210 mm and looks like inches: was 5,207 mm meant?",
        ),
        (
            "inches converted twice",
            {"luff_length": "132080"},
            "132,080 mm is about 25.4 times the pattern's 5,210 mm and looks like inches converted twice: was 5,200 mm meant?",
        ),
        (
            "metres",
            {"leech_length": "5.55"},
            "5.55 mm is about 1/1000 of the limit of 5,570 mm and looks like metres: was 5,550 mm meant?",
        ),
        (
            "a spar",
            {"mast_band_distance": "5250000"},
            "5,250,000 mm is about 1000 times the pattern's 5,210 mm and looks like metres converted twice: was 5,250 mm meant?",
        ),
    ],
)
def test_a_slip_of_the_unit_is_recognised(label, boat, message):
    (name,) = boat
    assert refusals(boat=boat) == [(name, "looks_like_a_slip", message)], label


def test_a_small_foot_round_is_no_slip():
    """A foot round of 15 mm where the class allows 150 is a choice, not a missing digit."""
    limit = rules.Limit("foot_round", "C.6.3(g)", None, D(150), "150")
    assert targets(changed(limit), boat={"foot_round": "15"})["foot_round"].value == D(15)


def test_a_width_larger_than_the_one_below_names_the_two():
    assert refusals(boat={"quarter_width": "1440"}) == [
        (
            "half_width",
            "wider_than_below",
            "half width 1,455 mm is larger than the quarter width 1,440 mm, the station below it: "
            "a mainsail narrows towards the head; one of the two is wrong",
        )
    ]


@pytest.mark.parametrize(
    ("label", "boat", "path", "code", "part"),
    [
        ("nothing", {"half_width": "0"}, "half_width", "not_positive", "more than 0"),
        ("below nothing", {"luff_length": "-5200"}, "luff_length", "not_positive", "more than 0"),
        ("misspelt", {"half_widht": "1450"}, "half_widht", "unknown_measurement", "did you mean half_width?"),
        ("follows from the others", {"foot_median": "5300"}, "foot_median", "not_a_design_size", "cannot be asked for"),
    ],
)
def test_sizes_that_cannot_be_used(label, boat, path, code, part):
    (found,) = refusals(boat=boat)
    assert found[:2] == (path, code), label
    assert part in found[2], label


@pytest.mark.parametrize(
    ("kind", "pattern", "missing"),
    [
        (SailKind.HEADSAIL, {"luff_length": "4600", "leech_length": "4250", "foot_length": "1700"}, []),
        (SailKind.HEADSAIL, {"luff_length": "4600", "leech_length": "4250", "luff_perpendicular": "1600"}, []),
        (SailKind.HEADSAIL, {"luff_length": "4600"}, ["leech_length", "foot_length"]),
        (SailKind.SYMMETRIC_SPINNAKER, {"leech_length": "6000", "foot_length": "3300", "foot_median": "6100"}, []),
        (SailKind.ASYMMETRIC_SPINNAKER, {"leech_length": "6000", "foot_length": "3300"}, ["luff_length"]),
        (SailKind.TRYSAIL, {"luff_length": "3000", "leech_length": "4000", "foot_length": "2000"}, []),
        (SailKind.STORM_JIB, {}, ["luff_length", "leech_length", "foot_length"]),
    ],
)
def test_what_each_kind_cannot_do_without(kind, pattern, missing):
    """The sizes asked for become targets; the others of the outline may be assumed."""
    bare = rules.SailRule(kind, (rules.Limit("cloth_weight", "C.1", D(100), None, ""),))
    sizes = {n: D(v) for n, v in pattern.items()}
    if missing:
        assert [(path, code) for path, code, _ in refusals(bare, sizes)] == [(n, "missing") for n in missing]
    else:
        assert {n: t.value for n, t in targets(bare, sizes, margins=()).items()} == sizes


def test_a_limit_by_formula_follows_the_sizes_it_is_computed_from():
    """Half width at most 0.6 of the foot, foot at most E less 50 mm: 2,400 from the boom, then 1,440."""
    follows = (
        rules.Limit("half_width", "C.8", None, None, "", maximum_formula="0.6 * foot_length"),
        rules.Limit("foot_length", "C.9", None, None, "", maximum_formula="boom_band_distance - 50 mm"),
    )
    found = targets(changed(*follows), boat={"boom_band_distance": "2450"})
    assert (found["foot_length"].value, found["foot_length"].rule) == (D("2390"), "C.9")
    assert found["half_width"].value == D("0.6") * D("2390") - D(5)


def test_a_limit_by_formula_without_its_value_is_not_guessed():
    follows = rules.Limit("foot_length", "C.9", None, None, "", maximum_formula="boom_band_distance - 50 mm")
    assert [f for f in refusals(changed(follows)) if f[1] == "cannot_determine"] == [
        (
            "foot_length",
            "cannot_determine",
            "the limit of C.9 cannot be determined: boom_band_distance - 50 mm needs boom_band_distance, not given",
        )
    ]


def test_an_asked_size_over_a_limit_by_formula_is_an_error():
    follows = rules.Limit("half_width", "C.8", None, None, "", maximum_formula="0.6 * foot_length")
    found = refusals(changed(follows), boat={"half_width": "1465"})
    assert [(path, code) for path, code, _ in found] == [("half_width", "outside_maximum")]
    assert "over the maximum of 1,464 mm (C.8)" in found[0][2]


def test_a_ratio_that_the_targets_break_is_an_error():
    ratio = rules.Limit("ratio", "C.10", D("0.7"), None, "", formula="half_width / foot_length", name="half width over foot")
    ((path, code, message),) = refusals(rule(*LIMITS, ratio))
    assert (path, code) == ("ratio", "outside_minimum")
    assert message.startswith("half width over foot 0.59")


def test_a_permitted_list_gives_the_largest_value_below_what_was_wanted():
    permitted = rules.Limit("top_width", "C.11", None, None, "", permitted=(D(110), D(125), D(140)))
    found = targets(changed(permitted))["top_width"]
    assert (found.value, found.decided_by, found.reason) == (D(125), "limit", "125 mm of the permitted 110 mm, 125 mm, 140 mm (C.11)")


@pytest.mark.parametrize(("on", "value"), [(date(2026, 3, 31), "5220"), (date(2026, 4, 1), "5200"), (None, "5200")])
def test_a_dated_limit_by_the_day_of_certification(on, value):
    """Without a day the stricter one counts."""
    dated = rules.Limit("luff_length", "C.3", None, D(5200), "", certified_from=date(2026, 4, 1))
    found = rules.design_target(rule(*LIMITS, dated), (), {"top_width": D(130)}, {}, certified_on=on)
    assert {t.measurement: t.value for t in found}["luff_length"] == D(value)


def test_a_limit_for_sails_measured_again_is_no_target():
    again = rules.Limit("luff_length", "C.3", None, D(5190), "", measured=rules.Measured.AGAIN)
    assert targets(rule(*LIMITS, again))["luff_length"].value == D(5210)
