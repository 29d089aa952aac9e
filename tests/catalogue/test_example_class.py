"""The annotated example of the kinds of sail that the demo class has not: it loads, and each of its limits can be kept and broken."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from costing import rules
from costing.errors import InputError
from costing.measurements import SailKind
from loft.catalogue import formats
from tests import skerling

D = Decimal
TEXT = skerling.text("fellmere_28_2026.toml")
RIG = {"foretriangle_base": D(2950), "mast_band_distance": D(9800), "boom_band_distance": D(3400)}
CERTIFICATE = {"forestay_height": D(10200), "foretriangle_base": D(2950), "forestay_offset": D(120), "mast_width": D(95)}


def rule(kind: SailKind) -> rules.SailRule:
    return formats.read_class(TEXT).sail(kind)


def test_every_kind_of_sail_has_an_example() -> None:
    files = [formats.read_class(skerling.text(name)) for name in ("skerling_13_2025.toml", "fellmere_28_2026.toml")]
    shown = {sail.kind for file in files for sail in file.sails}
    assert shown == set(SailKind)


def test_the_asymmetric_s_ratio_and_area_by_hand() -> None:
    """(9.8 + 8.7) / 2 x (5.2 + 4 x 4.5) / 6 = 9.25 x 23.2 / 6 = 35.767 m2; 4.5 / 5.2 = 0.865."""
    sizes = {"luff_length": D(9800), "leech_length": D(8700), "foot_length": D(5200), "half_width": D(4500), "cloth_weight": D(40)}
    assert rules.breaches(rule(SailKind.ASYMMETRIC_SPINNAKER), sizes) == ()
    rooms = {h.limit.rule: h.value for h in rules.headroom(rule(SailKind.ASYMMETRIC_SPINNAKER), sizes)}
    assert round(rooms["D.6 (f)"], 3) == D("35.767") and round(rooms["D.6 (e)"], 3) == D("0.865")
    (breach,) = rules.breaches(rule(SailKind.ASYMMETRIC_SPINNAKER), sizes | {"half_width": D(4400)})
    assert (breach.rule, breach.side) == ("D.6 (e)", "minimum")


def test_the_headsail_s_bound_from_the_rig_and_its_own_station() -> None:
    """1.10 x J of 2.95 m is 3.245 m."""
    sizes = {"foot_length": D(3246), "width@1250 mm from the head": D(515)}
    (breach,) = rules.breaches(rule(SailKind.HEADSAIL), sizes | RIG)
    assert (breach.rule, breach.limit, breach.by) == ("D.5 (c)", D("3245.00"), D("1.00"))
    (breach,) = rules.breaches(rule(SailKind.HEADSAIL), {"width@1250 mm from the head": D(521)} | RIG)
    assert (breach.rule, breach.by) == ("D.5 (d)", D(1))


def test_first_and_again_and_from_a_day_on() -> None:
    stretched, pockets = {"leech_length": D(9120)}, {"batten_pocket_count": D(4)}
    assert [b.by for b in rules.breaches(rule(SailKind.HEADSAIL), stretched)] == [D(20)]
    assert rules.breaches(rule(SailKind.HEADSAIL), stretched, measured=rules.Measured.AGAIN) == ()
    assert rules.breaches(rule(SailKind.HEADSAIL), pockets, certified_on=date(2026, 6, 30)) == ()
    assert [b.by for b in rules.breaches(rule(SailKind.HEADSAIL), pockets, certified_on=date(2026, 7, 1))] == [D(1)]


def test_the_trysail_s_area_on_the_boat_s_rig() -> None:
    """17.5 % of 9.8 m x 3.4 m is 5.831 m2; half of 4.9 m x 2.4 m is 5.88 m2."""
    sizes = {"luff_length": D(4000), "leech_length": D(4900), "tack_perpendicular": D(2400)}
    (breach,) = rules.breaches(rule(SailKind.TRYSAIL), sizes | RIG)
    assert (breach.rule, breach.limit, breach.value, breach.by) == ("OSR trysail", D("5.831"), D("5.88"), D("0.049"))
    assert rules.storm_checked(rule(SailKind.TRYSAIL))
    assert [e.rule for e in rule(SailKind.TRYSAIL).by_eye][:2] == ["OSR storm sails", "OSR storm sails"]


def test_the_storm_jib_by_the_certificate() -> None:
    """IM = 10.2 x 2.95 / (2.95 - 0.12 + 0.095) = 10.2872 m: area at most 5 % of its square, 5.291 m2; luff at most 65 %, 6,687 mm."""
    sizes = {"luff_length": D(6000), "luff_perpendicular": D(1700), "half_width": D(850), "cloth_weight": D(230)}
    found = {h.limit.measurement: h for h in rules.headroom(rule(SailKind.STORM_JIB), sizes | CERTIFICATE)}
    assert found["area"].limit.maximum == pytest.approx(D("5.291"), abs=D("0.001"))
    assert found["luff_length"].limit.maximum == pytest.approx(D(6687), abs=D(1))
    assert found["area"].value == D("0.255") * 6 * (D("1.7") + D("1.7"))


@pytest.mark.parametrize("left_out", ['checked_by = "Rowena Birkett", ', ", checked_on = 2026-02-20"])
def test_storm_limits_without_a_named_person_and_a_day_are_refused(left_out: str) -> None:
    text = TEXT.replace(left_out, "")
    with pytest.raises(InputError) as refused:
        formats.read_class(text)
    assert {(p.path, p.code) for p in refused.value.problems} == {
        ("sail[2].storm_rules.checked_by", "not_checked"), ("sail[3].storm_rules.checked_by", "not_checked"),
    }  # fmt: skip


def test_the_class_s_own_numbers() -> None:
    style = formats.read_class(TEXT).number_style(SailKind.HEADSAIL)
    assert style is not None and (style.height_mm, style.back_to_back, style.colours) == (320.0, True, ("black", "blue"))
    assert formats.read_class(TEXT).number_style(SailKind.TRYSAIL) is None
