"""A pattern file: what it means, and everything that can be wrong with it."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import pairwise

import pytest

from costing.cloth import CUTS, Centre, Gores, Seam, Stitch
from costing.errors import InputError
from costing.measurements import Corner, SailKind
from costing.rules import Choice, Margin
from costing.sail import LuffCurve
from loft.catalogue import formats
from tests import skerling

TEXT = skerling.text("sk13_main_v3.toml")


def problems(text: str) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as raised:
        formats.read_pattern(text)
    return [(p.path, p.code, p.message) for p in raised.value.problems]


def test_the_invented_pattern() -> None:
    pattern = formats.read_pattern(TEXT)
    make = pattern.make
    assert (pattern.code, pattern.version, pattern.class_code, pattern.edition) == ("SK13-MAIN", 3, "SK13", "2025")
    assert pattern.cloths[0] == "DW170" and pattern.steps[0] == "check_and_confirm" and pattern.steps[-1] == "inspect_and_pack"
    assert Margin("leech_length", Decimal(10)) in pattern.margins
    assert pattern.foot_round_mm == pattern.sizes["foot_round"] == Decimal(55)
    assert pattern.luff_curve.stations == ((0.0, 0.0), (0.25, 38.0), (0.5, 52.0), (0.75, 36.0), (1.0, 0.0))
    assert [s.height_mm for s in make.seams] == [320.0, 1660.0, 3000.0, 4340.0]
    assert [p.name for p in make.pockets if p.full_length] == ["top"]
    assert {o.code for o in pattern.options if o.choice is Choice.REQUIRED} == {"numbers"}
    assert next(k for k in pattern.kit if k.material == "THREAD-V69").factor == Decimal("9.7")


SPINNAKER = skerling.text("sk13_spinnaker_v1.toml")


def test_the_invented_spinnaker() -> None:
    pattern = formats.read_pattern(SPINNAKER)
    make = pattern.make
    assert (pattern.sail_kind, pattern.luff_curve, pattern.sizes) == (SailKind.SYMMETRIC_SPINNAKER, LuffCurve(()), {})
    assert (make.cut, make.centre, make.stitch) == ("tri-radial", Centre.CROSS_CUT, Stitch.THREE_STEP)
    assert make.gores == (Gores(Corner.HEAD, 5, 1900.0, 0.0, 8.0, 0.55), Gores(Corner.CLEW, 4, 0.0, 750.0, 5.0, 0.5))
    assert make.seams == (Seam(1080.0, 12.0),)
    assert 10 <= make.seam_overlap_mm <= 12


def test_a_pattern_without_gores_is_read_as_before() -> None:
    make = formats.read_pattern(TEXT).make
    assert (make.gores, make.centre, make.stitch) == ((), Centre.CROSS_CUT, Stitch.ZIGZAG)


@pytest.mark.parametrize(
    ("label", "was", "now", "expected"),
    [
        ("one gore", "count = 5", "count = 1", ("make.gores[0].count", "out_of_range", "1 is not between 2 and ")),
        (
            "gores at no corner",
            'corner = "clew"\ncount',
            'corner = "foot"\ncount',
            ("make.gores[1].corner", "wrong_value", "'foot' is not one of head, tack, clew"),
        ),
        (
            "a centre that is not known",
            'centre = "cross-cut"',
            'centre = "upright"',
            ("make.centre", "wrong_value", "'upright' is not one of cross-cut, vertical"),
        ),
        (
            "a run-out where the broadseam lies in the middle",
            'broadseam = "12 mm" }',
            'broadseam = "12 mm", run_out = 0.4 }',
            ("make.seams[0].run_out", "unknown_key", "is not known here"),
        ),
    ],
)
def test_a_wrong_spinnaker(label: str, was: str, now: str, expected: tuple[str, str, str]) -> None:
    assert was in SPINNAKER, label
    found = problems(SPINNAKER.replace(was, now, 1))
    assert [p for p in found if p[:2] == expected[:2] and p[2].startswith(expected[2])], (label, found)


def test_a_main_needs_its_luff_curve() -> None:
    without = TEXT[: TEXT.index("[[luff_curve]]")] + TEXT[TEXT.index("[make]") :]
    assert ("luff_curve", "missing", "is missing") in problems(without)


def test_seams_lie_a_usable_width_less_the_overlap_apart() -> None:
    make = skerling.house().pattern.make
    usable = skerling.house().cloths["DW170"].usable_width_mm
    heights = [s.height_mm for s in make.seams]
    assert {b - a for a, b in pairwise(heights)} == {usable - make.seam_overlap_mm} == {1340.0}


@pytest.mark.parametrize(
    ("label", "was", "now", "expected"),
    [
        (
            "a length without its unit",
            'roll_width = "1370 mm"',
            "roll_width = 1370",
            ("make.roll_width", "wrong_value", '1370 should be text with its unit, for example "1370 mm"'),
        ),
        (
            "a share above 1",
            "foot_leg = 0.15",
            "foot_leg = 15",
            ("make.foot_leg", "out_of_range", "15 is not between 0 and 1"),
        ),
        (
            "seams that do not rise",
            'height = "1660 mm"',
            'height = "310 mm"',
            ("make.seams[1].height", "not_rising", "the seams rise from the clew: this one is not above the one before"),
        ),
        (
            "a batten length for a full-length pocket",
            "full_length = true",
            'full_length = true\nbatten_length = "800 mm"',
            (
                "make.pockets[2].batten_length",
                "not_for_full_length",
                "leave it out: a full-length pocket runs from the leech to the luff, and its batten's length follows from the sail",
            ),
        ),
        (
            "a cut that is not known",
            'cut = "cross-cut"',
            'cut = "spiral"',
            (
                "make.cut",
                "unknown_cut",
                f"'spiral' is not a cut that can be computed; known: {', '.join(CUTS)}",
            ),
        ),
        (
            "an edge method that is not known",
            'method = "taped"',
            'method = "tapped"',
            ("make.luff.method", "wrong_value", "'tapped' is not one of folded, cut, taped; did you mean taped?"),
        ),
        (
            "a margin for something that nobody measures",
            'quarter_width = "5 mm"',
            'quater_width = "5 mm"',
            ("margins.quater_width", "unknown_measurement", "'quater_width' is not a measurement; did you mean quarter_width?"),
        ),
        (
            "a kit item for an option that is not offered",
            'option = "tell_tales"',
            'option = "tell_tails"',
            ("kit[18].option", "unknown_option", "'tell_tails' is not in the option table; did you mean tell_tales?"),
        ),
        (
            "a window for an option that is not offered",
            'film = "FILM-05"\noption = "window"',
            'film = "FILM-05"\noption = "windows"',
            ("make.windows[0].option", "unknown_option", "'windows' is not in the option table; did you mean window?"),
        ),
        (
            "a forbidden option that is the default",
            'choice = "forbidden"',
            'choice = "forbidden"\ndefault = true',
            ("options[5].default", "forbidden", "reef is forbidden and cannot be the default"),
        ),
        (
            "the same option twice",
            'code = "insignia"',
            'code = "numbers"',
            ("options[4].code", "twice", "numbers stands in options[3] already"),
        ),
        (
            "luff stations that do not rise",
            "at = 0.75",
            "at = 0.4",
            ("luff_curve", "wrong_value", "the stations rise from the tack (0) to the head (1), each once"),
        ),
        ("no version", "version = 3\n", "", ("pattern.version", "missing", "is missing")),
        ("version 0", "version = 3\n", "version = 0\n", ("pattern.version", "out_of_range", "0 is not between 1 and 1000000")),
        (
            "layers as text",
            'size = 0.09\nstep = "25 mm"',
            'size = 0.09\nlayers = "4"\nstep = "25 mm"',
            ("make.patches[0].layers", "wrong_value", "'4' should be a whole number without quotes"),
        ),
    ],
)
def test_a_wrong_pattern(label: str, was: str, now: str, expected: tuple[str, str, str]) -> None:
    assert was in TEXT, label
    assert expected in problems(TEXT.replace(was, now, 1)), label


@pytest.mark.parametrize(
    ("text", "stations"),
    [
        ("0.25:30 0.5:45 0.75:35", ((0.0, 0.0), (0.25, 30.0), (0.5, 45.0), (0.75, 35.0), (1.0, 0.0))),
        ("0:0 0.5:-12.5 1:0", ((0.0, 0.0), (0.5, -12.5), (1.0, 0.0))),
    ],
)
def test_a_luff_curve_in_a_line(text: str, stations: tuple[tuple[float, float], ...]) -> None:
    assert formats.read_luff_curve(text) == LuffCurve(stations)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0.25=30", "'0.25=30' is no station; write 0.25:30 0.5:45 0.75:35"),
        ("0.25:30,5", "'0.25:30,5' is no station"),
        ("0.25:1e3", "is no station"),
        ("0.25:nan", "is no station"),
        ("0.5:", "is no station"),
        ("30", "is no station"),
        ("0.5:45 0.25:30", "the stations rise"),
        ("0.5:45 0.5:45", "the stations rise"),
        ("0:10 0.5:45", "the offset at the tack (0) and at the head (1) is 0"),
        ("-0.5:45", "fractions between 0 (tack) and 1 (head)"),
        ("50:45", "fractions between 0 (tack) and 1 (head)"),
        ("0:0 1:0", "has no station between"),
    ],
)
def test_a_line_that_is_no_luff_curve(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        formats.read_luff_curve(text)
