"""Pattern files of headsails: a hollow luff, hanks, mitre and foot seams; what is wrong is told with its path."""

from __future__ import annotations

import pytest

from costing.cloth import CUTS, Hanks, Seam
from costing.errors import InputError
from costing.measurements import SailKind
from loft.catalogue import formats
from tests import skerling

JIB = skerling.text("sk13_jib_v1.toml")
CROSS_CUT = 'cut = "cross-cut"\n'
MITRE = 'cut = "mitre"\nfoot_seams = [{ height = "835 mm", run_out = 0.45 }]\nmitre = { broadseam = "6 mm", run_out = 0.4 }\n'


def problems(text: str) -> list[tuple[str, str]]:
    with pytest.raises(InputError) as caught:
        formats.read_pattern(text)
    return [(p.path, p.code) for p in caught.value.problems]


def test_the_stays_sag_is_a_hollow() -> None:
    assert formats.read_pattern(JIB).luff_curve.stations == ((0.0, 0.0), (0.25, -6.0), (0.5, -8.0), (0.75, -6.0), (1.0, 0.0))


def test_a_luff_may_be_straight() -> None:
    storm = formats.read_pattern(skerling.text("fm28_storm_jib_v1.toml"))
    assert (storm.sail_kind, storm.luff_curve.stations) == (SailKind.STORM_JIB, ())


def test_hanks_and_their_option() -> None:
    assert formats.read_pattern(JIB).make.hanks == Hanks(600.0, "hanks")


def test_a_mitre_cut() -> None:
    make = formats.read_pattern(JIB.replace(CROSS_CUT, MITRE)).make
    assert (make.cut, make.foot_seams, make.mitre_broadseam_mm, make.mitre_run_out) == ("mitre", (Seam(835.0, 0.0, 0.45),), 6.0, 0.4)
    assert "mitre" in CUTS


@pytest.mark.parametrize(
    ("label", "was", "now", "expected"),
    [
        ("mitre seams on a cross-cut", CROSS_CUT, MITRE.replace('"mitre"\n', '"cross-cut"\n', 1), ("make.cut", "no_mitre")),
        ("hanks on top of each other", 'spacing = "600 mm"', 'spacing = "0 mm"', ("make.hanks.spacing", "not_positive")),
        (
            "hanks of an option that is not there",
            'option = "hanks"\n\n# size',
            'option = "rings"\n\n# size',
            ("make.hanks.option", "unknown_option"),
        ),
        ("a minus in place of the word", 'hollow = "8 mm"', 'forward = "-8 mm"', ("luff_curve[1].forward", "wrong_value")),
        (
            "foot seams that do not rise",
            CROSS_CUT,
            MITRE.replace("}]", '}, { height = "500 mm", run_out = 0.4 }]'),
            ("make.foot_seams[1].height", "not_rising"),
        ),
    ],
)
def test_a_wrong_headsail(label: str, was: str, now: str, expected: tuple[str, str]) -> None:
    assert was in JIB, label
    assert expected in problems(JIB.replace(was, now, 1)), label
