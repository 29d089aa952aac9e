"""Storm-sail limits: their figures against a printed certificate, and that nobody gets them unchecked."""

from datetime import date
from decimal import Decimal

import pytest

from costing import rules
from costing.errors import InputError
from costing.measurements import SailKind

D = Decimal
CHECKED = {"checked_by": "Ada Thwaite", "checked_on": date(2026, 3, 2)}
# ORC certificate AUS00001522, no. 261200, issued 24/07/2018 (VPP 2018 1.00): rig and printed maxima. They fit IM = IG J / (J - GO + MW) in
# place of the regulations' IG (inferred: it reproduces all three printed values).
RIG = {"forestay_height": D(14978), "foretriangle_base": D(4245), "forestay_offset": D(183), "mast_width": D(132)}


@pytest.mark.parametrize(
    ("label", "kind", "measurement", "printed"),
    [
        ("heavy-weather jib, area", SailKind.HEADSAIL, "area", "31.03"),
        ("storm jib, area", SailKind.STORM_JIB, "area", "11.49"),
        ("storm jib, luff", SailKind.STORM_JIB, "luff_length", "9850"),
    ],
)
def test_maxima_of_a_certificate(label, kind, measurement, printed):
    rule = rules.storm_rule(kind, **CHECKED, by_certificate=True)
    sizes = {"luff_length": D(6000), "luff_perpendicular": D(2500), "half_width": D(1200)} | RIG
    (found,) = (h for h in rules.headroom(rule, sizes) if h.limit.measurement == measurement)
    assert found.limit.maximum == pytest.approx(D(printed), abs=D("0.005") if measurement == "area" else D(5)), label


def test_without_the_certificate_ig_itself_is_taken_and_said():
    rule = rules.storm_rule(SailKind.STORM_JIB, **CHECKED)
    area, luff = rules.headroom(rule, {"luff_length": D(6000), "luff_perpendicular": D(2500), "half_width": D(1200)} | RIG)
    assert area.limit.maximum == D("0.05") * D("14.978") ** 2
    assert (luff.limit.maximum, luff.limit.printed) == (D("9735.700"), "max 65 % of IG")
    assert area.value == D("0.255") * 6 * (D("2.5") + D("2.4"))


def test_a_trysail_over_a_share_of_p_and_e():
    """17.5 % of 13 m x 4 m is 9.1 m2; half of a 6.1 m leech and 3 m across to the tack is 9.15 m2."""
    rule = rules.storm_rule(SailKind.TRYSAIL, **CHECKED)
    rig = {"mast_band_distance": D(13000), "boom_band_distance": D(4000)}
    (breach,) = rules.breaches(rule, {"leech_length": D(6100), "tack_perpendicular": D(3000)} | rig)
    assert (breach.limit, breach.by, breach.side) == (D("9.1"), D("0.05"), "maximum")
    assert rules.breaches(rule, {"leech_length": D(6000), "tack_perpendicular": D(3000)} | rig) == ()


def test_without_the_rig_nothing_is_guessed():
    found = rules.assess(rules.storm_rule(SailKind.STORM_JIB, **CHECKED), {"luff_length": D(6000)})
    assert found.compared == ()
    assert [u.limit.measurement for u in found.undetermined] == ["area", "luff_length"]


@pytest.mark.parametrize(
    "checked", [{"checked_by": " ", "checked_on": date(2026, 3, 2)}, {"checked_by": "Ada Thwaite", "checked_on": None}]
)
def test_nobody_gets_limits_that_no_named_person_has_checked(checked):
    with pytest.raises(InputError) as refused:
        rules.storm_rule(SailKind.STORM_JIB, **checked)
    assert [(p.path, p.code) for p in refused.value.problems] == [("checked_by", "not_checked")]


def test_who_checked_stands_with_every_limit_and_the_text_rules_are_for_the_eye():
    rule = rules.storm_rule(SailKind.TRYSAIL, **CHECKED)
    assert all("checked by Ada Thwaite on 2026-03-02" in x.note for x in rule.limits)
    assert [b.text for b in rule.by_eye][:2] == [
        "The body of the sail is of a highly visible colour",
        "No aramid and no carbon in the sail",
    ]
