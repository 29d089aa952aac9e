"""Four published class rules, read from files, and sails made to them. The files name their sources and what of them was read."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costing import rules, sail
from costing.measurements import MEASUREMENTS, SailKind
from loft.catalogue import formats

FILES = Path(__file__).with_name("published")
CERTIFIED = date(2005, 6, 1)
D = Decimal


def edition(name: str) -> rules.ClassRule:
    return formats.read_class((FILES / f"{name}.toml").read_text())


def at_the_limits(rule: rules.SailRule) -> dict[str, Decimal]:
    """Every size that the rule limits, exactly on its limit."""
    return {x.value_name: x.maximum or x.minimum for x in rules.limits_for(rule, certified_on=CERTIFIED) if x.maximum or x.minimum}


# The figures as the source prints them in mm, worked out there or here at 25.4 mm an inch.
@pytest.mark.parametrize(
    ("name", "kind", "printed"),
    [
        ("penguin", "mainsail", {"luff_length": "4876.8", "leech_length": "5029.2", "half_width": "1625.6", "quarter_width": "2197.1"}),
        ("j105", "mainsail", {"luff_length": "12650", "leech_length": "13260", "reef_height": "1830", "cloth_weight": "300"}),
        ("j105", "headsail", {"luff_length": "12150", "half_width": "2130", "cloth_weight": "257"}),
        ("europe", "mainsail", {"leech_length": "5320", "window_area": "0.3", "batten_pocket_length_total": "2400"}),
        ("el_toro", "mainsail", {"leech_length": "3708.4", "lower_batten_length": "762", "number_height": "254"}),
    ],
)
def test_limits_are_exact(name, kind, printed):
    found = at_the_limits(edition(name).sail(SailKind(kind)))
    assert {n: found[n] for n in printed} == {n: D(mm) for n, mm in printed.items()}


@pytest.mark.parametrize("name", ["penguin", "j105", "europe", "el_toro"])
def test_a_sail_a_millimetre_outside_each_limit_in_turn_breaches_exactly_that_one(name):
    for rule in edition(name).sails:
        inside = at_the_limits(rule)
        if rule.kind is SailKind.ASYMMETRIC_SPINNAKER:  # what its ratio and its area are computed from: 0.66 and 54 m2
            inside |= {"foot_length": D(6500), "half_width": D(4300)}
        assert rules.breaches(rule, inside, certified_on=CERTIFIED) == (), rule.kind
        for limit in rules.limits_for(rule, certified_on=CERTIFIED):
            if limit.open or limit.formula or (limit.station and not limit.station.stated):
                continue
            step = D("0.001") if MEASUREMENTS[limit.measurement].unit == "m2" else D(1)
            outside = limit.maximum + step if limit.maximum is not None else limit.minimum - step
            found = rules.breaches(rule, inside | {limit.value_name: outside}, certified_on=CERTIFIED)
            assert [(b.measurement, b.rule, b.by) for b in found] == [(limit.measurement, limit.rule, step)]


OURS = {"penguin": {"top_width": D(100)}, "j105": {"top_width": D(180), "quarter_width": D(3790)}}


@pytest.mark.parametrize("name", ["penguin", "j105"])
def test_a_main_at_its_maxima_measures_never_over_and_at_most_half_a_millimetre_under(name):
    rule = edition(name).sail(SailKind.MAINSAIL)
    targets = {t.measurement: t.value for t in rules.design_target(rule, (), OURS[name], {}, certified_on=CERTIFIED)}
    curve = sail.LuffCurve(((0.25, 20.0), (0.5, 30.0), (0.75, 22.0)))
    measured = {n: D(str(v)) for n, v in sail.measure(sail.outline(sail.shape_from_sizes(SailKind.MAINSAIL, targets, curve))).items()}
    assert rules.breaches(rule, measured) == ()
    room = {h.limit.measurement: h.room for h in rules.headroom(rule, measured)}
    sizes = [x.measurement for x in rule.limits if x.measurement in measured]
    assert len(sizes) == len(room) == {"penguin": 7, "j105": 5}[name]
    assert max(room.values()) <= D("0.5"), room


@pytest.mark.parametrize(
    ("name", "undetermined"),
    [
        ("europe", ["width"]),
        ("el_toro", ["luff_length", "foot_length", "width", "width"]),
        ("penguin", []),
    ],
)
def test_what_a_rule_leaves_open_cannot_be_determined(name, undetermined):
    rule = edition(name).sail(SailKind.MAINSAIL)
    everything = {x.value_name: D(1000) for x in rule.limits}
    found = rules.assess(rule, everything, certified_on=CERTIFIED)
    assert [u.limit.measurement for u in found.undetermined] == undetermined
    assert all(u.reason for u in found.undetermined)
    applying = len(list(rules.limits_for(rule, certified_on=CERTIFIED)))
    assert len(found.compared) == applying - len(undetermined)


def test_a_dated_limit_binds_the_sails_of_its_days_only():
    """Europe, item 5(iv): the top pocket at least 1,000 mm from the head, for sails measured after 1 March 1999."""
    rule = edition("europe").sail(SailKind.MAINSAIL)
    near = {"top_pocket_to_head": D(990)}
    assert rules.breaches(rule, near, certified_on=date(1999, 3, 1)) == ()
    (breach,) = rules.breaches(rule, near, certified_on=date(1999, 3, 2))
    assert (breach.rule, breach.by) == ("item 5(iv)", D(10))
    assert "top_pocket_to_head" in [u.limit.measurement for u in rules.assess(rule, near).undetermined]


def test_a_sail_measured_again_may_have_a_longer_leech():
    """El Toro: 12'2", or 12'2 3/4" if measured before: 19.05 mm more."""
    rule = edition("el_toro").sail(SailKind.MAINSAIL)
    stretched = {"leech_length": D("3720")}
    assert [b.by for b in rules.breaches(rule, stretched)] == [D("11.6")]
    assert rules.breaches(rule, stretched, measured=rules.Measured.AGAIN) == ()
    assert [b.by for b in rules.breaches(rule, {"leech_length": D("3728")}, measured=rules.Measured.AGAIN)] == [D("0.55")]


def test_a_spinnaker_s_ratio_and_area_are_computed():
    """J/105 by hand: luff 14 m, leech 12 m, foot 6.5 m, half width 4.2 m: ratio 0.646; area 42.25 + 0.95 x 26 / 3 = 50.483 m2."""
    rule = edition("j105").sail(SailKind.ASYMMETRIC_SPINNAKER)
    sizes = {"luff_length": D(14000), "leech_length": D(12000), "foot_length": D(6500), "half_width": D(4200)}
    rooms = {h.limit.measurement: h for h in rules.headroom(rule, sizes)}
    assert rooms["area"].value.quantize(D("0.001")) == D("50.483")
    (breach,) = rules.breaches(rule, sizes)
    assert rules.breach_in_words(breach).startswith("half width over foot 0.646")
    assert rules.breach_in_words(breach).endswith("under the minimum of 0.65 (spinnaker clause)")
