"""Sizes that nobody gave: which, from what formula, and that the sail then has them."""

from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.measurements import SailKind
from costing.sail import LuffCurve, area_effects, assumed_sizes, measure, outline, shape_from_sizes

D = Decimal
LENGTHS = {"luff_length": D(5210), "leech_length": D(5560), "foot_length": D(2440)}
SAG = LuffCurve(((0.25, -12.0), (0.5, -18.0), (0.75, -12.0)))
WIDTHS = ["half_width", "quarter_width", "three_quarter_width", "upper_width"]


# Every value that this calculation assumes, each kind with as little as it takes. The shares are common practice, no source.
@pytest.mark.parametrize(
    ("kind", "sizes", "assumed"),
    [
        (SailKind.MAINSAIL, {"luff_length": D(5000), "foot_length": D(2400)}, ["leech_length", "top_width", "foot_round", *WIDTHS]),
        (SailKind.HEADSAIL, LENGTHS, ["top_width", "foot_round", *WIDTHS]),
        (SailKind.TRYSAIL, {"luff_length": D(3000), "foot_length": D(2000)}, ["leech_length", "top_width", "foot_round", *WIDTHS]),
        (
            SailKind.STORM_JIB,
            {"luff_length": D(4000), "leech_length": D(3600), "luff_perpendicular": D(1500)},
            ["foot_length", "top_width", "foot_round", *WIDTHS],
        ),
        (
            SailKind.SYMMETRIC_SPINNAKER,
            {"leech_length": D(6000), "foot_length": D(3300)},
            ["luff_length", "top_width", "foot_round", "half_width"],
        ),
        (SailKind.ASYMMETRIC_SPINNAKER, LENGTHS, ["top_width", "foot_round", "half_width"]),
    ],
)
def test_every_assumed_value_is_listed_and_makes_a_sail_that_has_it(kind, sizes, assumed):
    found = assumed_sizes(kind, sizes)
    assert [t.measurement for t in found] == assumed
    assert {t.decided_by for t in found} == {"assumed"}
    assert all(t.reason for t in found)
    measured = measure(outline(shape_from_sizes(kind, sizes)))
    for target in found:
        assert measured[target.measurement] == pytest.approx(float(target.value), abs=0.002), target


def test_nothing_is_assumed_that_was_given():
    sizes = LENGTHS | {"top_width": D(130), "foot_round": D(50), "half_width": D(1455), "quarter_width": D(1985)}
    assert [t.measurement for t in assumed_sizes(SailKind.MAINSAIL, sizes)] == ["three_quarter_width", "upper_width"]


def test_the_formulas_in_figures():
    """25 of 5,000 mm by hand: 2.5 % of the luff 125, 2 % of the foot 48, leech the root of 5000² + 2400²."""
    found = {t.measurement: t for t in assumed_sizes(SailKind.MAINSAIL, {"luff_length": D(5000), "foot_length": D(2400)})}
    assert found["leech_length"].value == D("5546.169")
    assert (found["top_width"].value, found["foot_round"].value) == (D("125.000"), D("48.000"))
    assert found["top_width"].reason == "2.5 % of the luff, common practice"
    assert found["half_width"].reason == "a parabolic leech 5 % full at its middle, common practice"


def test_a_foot_from_the_luff_perpendicular_gives_that_perpendicular_on_a_luff_with_sag():
    sizes = {"luff_length": D(4650), "leech_length": D(4250), "luff_perpendicular": D(1600)}
    measured = measure(outline(shape_from_sizes(SailKind.HEADSAIL, sizes, SAG)))
    assert measured["luff_perpendicular"] == pytest.approx(1600, abs=0.002)
    assert measured["leech_length"] == pytest.approx(4250, abs=1e-6)


def test_what_no_formula_gives_is_named():
    with pytest.raises(InputError) as refused:
        assumed_sizes(SailKind.ASYMMETRIC_SPINNAKER, {"luff_length": D(9000)})
    assert [(p.path, p.code) for p in refused.value.problems] == [("leech_length", "missing"), ("foot_length", "missing")]


def test_what_an_assumed_size_does_to_the_area():
    """A spinnaker's half width 1 % larger: two thirds of 1 % of luff x half width by its published formula, within a fifth."""
    effects = area_effects(SailKind.ASYMMETRIC_SPINNAKER, LENGTHS)
    half = 0.95 * 2440
    by_formula = (5210 + 5560) / 2 * 4 * 0.01 * half / 6 / 1e6
    assert float(effects["half_width"]) == pytest.approx(by_formula, rel=0.2)
    assert effects["top_width"] == 0
