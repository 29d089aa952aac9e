"""Areas: the rating formulas against printed certificates, and against the outline's own polygon."""

from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.measurements import SailKind
from costing.sail import LuffCurve, SailShape, measure, outline, polygon_area, published_area

# ORC certificate AUS00001522, no. 261200, issued 24/07/2018 (VPP 2018 1.00), dimensions and areas as printed; its "Area (r)" is a rated
# area and another quantity. The headsail's tolerance is 0.01: its sizes are printed to 10 mm.
CERTIFICATE = [
    (
        "main",
        SailKind.MAINSAIL,
        {
            "luff_length": 13175,
            "foot_length": 4709,
            "quarter_width": 3850,
            "half_width": 2870,
            "three_quarter_width": 1660,
            "upper_width": 940,
            "top_width": 200,
        },
        35.70,
        0.005,
    ),
    (
        "headsail",
        SailKind.HEADSAIL,
        {
            "luff_length": 14020,
            "luff_perpendicular": 4000,
            "quarter_width": 3110,
            "half_width": 2160,
            "three_quarter_width": 1180,
            "upper_width": 690,
            "top_width": 20,
        },
        29.63,
        0.01,
    ),
    (
        "symmetric spinnaker",
        SailKind.SYMMETRIC_SPINNAKER,
        {"luff_length": 14860, "leech_length": 14860, "foot_length": 7340, "half_width": 7620},
        93.67,
        0.005,
    ),
    (
        "asymmetric spinnaker",
        SailKind.ASYMMETRIC_SPINNAKER,
        {"luff_length": 15920, "leech_length": 14860, "foot_length": 7700, "half_width": 7540},
        97.11,
        0.005,
    ),
]


@pytest.mark.parametrize(("label", "kind", "sizes", "printed", "tolerance"), CERTIFICATE, ids=[row[0] for row in CERTIFICATE])
def test_areas_on_a_certificate(label, kind, sizes, printed, tolerance):
    assert float(published_area(kind, sizes)) == pytest.approx(printed, abs=tolerance), label


def right_triangle(luff: float, foot: float) -> SailShape:
    leech = (luff**2 + foot**2) ** 0.5
    return SailShape(SailKind.MAINSAIL, luff, leech, foot, (), 0.0, 0.0, LuffCurve(()))


def test_a_loft_s_triangle_main():
    """P 13.00 m, E 4.20 m: 27.30 m2, as a loft's information page prints it (primesails.de, "calculation of the sail area")."""
    assert polygon_area(outline(right_triangle(13000, 4200))) == Decimal("27.3000")


def test_the_formula_is_exact_on_a_straight_right_triangle():
    sail = outline(right_triangle(6000, 2500))
    assert polygon_area(sail) == published_area(SailKind.MAINSAIL, measure(sail)) == Decimal("7.5000")


@pytest.mark.parametrize("top_width", [0.0, 100.0])
def test_a_roachy_main_is_larger_than_its_formula(shape_of, top_width):
    """The Penguin's published widths on a straight luff and foot: 3 to 6 % larger than the ORC formula, which cuts the roach into trapezia
    and puts the widths at quarter heights below the fold's leech points. (Its own rules: penguinclass.com, 23.4.)
    """
    widths = {"quarter_width": 2197.1, "half_width": 1625.6, "three_quarter_width": 914.4, "upper_width": None}
    edges = {"luff_length": 4876.8, "leech_length": 5029.2, "foot_length": 2641.6, "foot_round": 0, "top_width": top_width}
    sail = outline(shape_of(luff_curve=(), **widths, **edges))
    ratio = polygon_area(sail) / published_area(SailKind.MAINSAIL, measure(sail))
    assert Decimal("1.03") < ratio < Decimal("1.06")


def test_every_missing_size_is_named():
    with pytest.raises(InputError) as refused:
        published_area(SailKind.MAINSAIL, {"luff_length": 5000, "foot_length": 2400, "half_width": 1400, "top_width": 100})
    assert [p.path for p in refused.value.problems] == ["quarter_width", "three_quarter_width", "upper_width"]


@pytest.mark.parametrize("kind", [SailKind.TRYSAIL, SailKind.STORM_JIB])
def test_a_kind_without_a_formula_is_refused(kind):
    with pytest.raises(InputError, match="no published area formula"):
        published_area(kind, {"luff_length": 5000})
