"""A pattern is tried before it is stored: everything for which no sail of it could be quoted is said at once."""

from __future__ import annotations

import re
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from costing.errors import InputError
from loft.catalogue import services
from loft.catalogue.loading import place
from loft.catalogue.models import PatternVersion
from tests import skerling

pytestmark = pytest.mark.django_db

MAIN = skerling.text("sk13_main_v3.toml")


@pytest.fixture
def loft() -> None:
    """Class, lists and house file, before any pattern."""
    services.load_class(text=skerling.text("skerling_13_2025.toml"))
    for name in skerling.SUPPLIER_FILES:
        services.load_prices(text=skerling.text(name))
    services.load_house(text=skerling.text("larkfield_2026.toml"))


def changed(*changes: tuple[str, str]) -> str:
    """The main's pattern with some text in place of other text that stands in it."""
    text = MAIN
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def refused(text: str) -> dict[str, str]:
    with pytest.raises(InputError) as raised:
        services.load_pattern(text=text)
    assert not PatternVersion.objects.exists()
    return {f"{p.path} {p.code}": p.message for p in raised.value.problems}


@pytest.mark.usefixtures("loft")
def test_a_dry_run_says_what_a_sail_measures_and_needs() -> None:
    report = services.load_pattern(text=MAIN, dry_run=True)
    assert report.details[1:5] == (
        "a sail of it at the class's targets: luff length 5,220 mm, leech length 5,560 mm, foot length 2,450 mm, foot round 55 mm, "
        "quarter width 1,990 mm, half width 1,470 mm, three-quarter width 855 mm, upper width 495 mm, top width 132 mm",
        "  7.5778 m2 in 5 panels",
        "  7.474 m of DW170, 1355 mm of it usable",
        "  378.656 minutes, without those of its number and the set-up of batch and lay",
    )
    assert not PatternVersion.objects.exists()


@pytest.mark.usefixtures("loft")
def test_all_that_could_never_be_quoted_is_refused_at_once() -> None:
    told = refused(
        changed(
            ('"check_and_confirm"', '"check_and_confrm"'), ('per = "seam_m"', 'per = "seams_m"'),
            ('material = "HEADBOARD-130"', 'material = "HEADBOARD-131"'), ('height = "1660 mm"', 'height = "1700 mm"'),
            ('cloths = ["DW170", "DW185"]', 'cloths = ["DW170", "DW158"]'), ('top_width = "132 mm"', 'top_width = "1320 mm"'),
        )
    )  # fmt: skip
    assert told["pattern.steps[0] unknown_step"].endswith("; did you mean check_and_confirm?")
    assert "did you mean seam_m?" in told["kit[0].per unknown_driver"]
    assert [m for path, m in told.items() if path.endswith("unknown_material")] == [
        "SK13-MAIN: no supplier list that is loaded has 'HEADBOARD-131'; did you mean HEADBOARD-130?"
    ]
    assert told["pattern.cloths[1] unknown_cloth"].startswith("SK13-MAIN: no supplier list that is loaded has a sailcloth 'DW158'")
    assert "over the maximum of 140 mm" in told["sizes.top_width outside_maximum"]
    assert "Heights that would do on DW170: " in told["make.seams panel_too_wide"]


@pytest.mark.usefixtures("loft")
def test_a_kit_item_that_is_sold_in_another_unit() -> None:
    text = changed(('material = "HEADBOARD-130"\nper = "sail"', 'material = "HEADBOARD-130"\nper = "luff_m"'))
    assert [m for path, m in refused(text).items() if path.endswith(" unit")] == [
        "SK13-MAIN: HEADBOARD-130 is sold by the piece; it is counted here in m, per luff_m"
    ]


@pytest.mark.parametrize(
    ("label", "size", "message"),
    [
        ("below a minimum", 'half_width = "1370 mm"', "half width 1,370 mm is 10 mm under the minimum of 1,380 mm (C.6.3 (f))"),
        ("above a maximum", 'luff_length = "5300 mm"', "luff length 5,300 mm is 70 mm over the maximum of 5,230 mm (C.6.3 (a))"),
    ],
)
def test_the_patterns_own_size_may_not_break_the_class(label: str, size: str, message: str) -> None:
    """Before any list is loaded too."""
    services.load_class(text=skerling.text("skerling_13_2025.toml"))
    assert next(iter(refused(changed(("[sizes]\n", f"[sizes]\n{size}\n"))).values())) == f"SK13-MAIN: {message}", label


def test_what_is_not_loaded_is_not_tried_and_said() -> None:
    services.load_class(text=skerling.text("skerling_13_2025.toml"))
    report = services.load_pattern(text=changed(('material = "HEADBOARD-130"', 'material = "HEADBOARD-131"')))
    assert report.warnings[-1].startswith("tried without a supplier list and a house file, as none is loaded")
    for name in skerling.SUPPLIER_FILES:
        services.load_prices(text=skerling.text(name))
    again = services.load_pattern(text=changed(('material = "HEADBOARD-130"', 'material = "HEADBOARD-131"')))
    assert again.outcome == "unchanged"
    assert again.warnings[-1].startswith("cannot be quoted now: kit[")


class TestWhereItStandsInTheFile:
    """Parts and features are told at the row of the pattern that they are made from, its values by the file's own keys."""

    @pytest.mark.usefixtures("loft")
    def test_patches_wider_than_the_roll_are_told_once_each_at_their_size(self) -> None:
        services.load_class(text=skerling.text("fellmere_28_2026.toml"))
        text = skerling.text("fm28_storm_jib_v1.toml").replace("size = 0.09", "size = 0.4")
        told = refused(text)
        assert sorted(told) == [f"make.patches[{i}].size too_wide" for i in range(3)]
        assert told["make.patches[1].size too_wide"] == (
            "FM28-STORM-JIB: Tack patch, layer 1 of 6 (TACK-1) is 259.1 mm wider than the usable width, 1,355 mm of ST280, "
            "and 5 more of its layers are too: take a smaller size"
        )

    @pytest.mark.usefixtures("loft")
    def test_a_batten_that_does_not_fit(self) -> None:
        told = refused(changed(('batten_length = "640 mm"', 'batten_length = "1640 mm"')))
        assert list(told) == ["make.pockets[1].batten_length pocket_too_long"]

    @pytest.mark.usefixtures("loft")
    def test_a_film_that_no_list_has_and_a_window_too_near_to_the_edge(self) -> None:
        assert list(refused(changed(('film = "FILM-05"', 'film = "FILM-50"')))) == ["make.windows[0].film unknown_cloth"]
        told = refused(changed(('centre_height = "510 mm"', 'centre_height = "300 mm"'), ('"1660 mm"', '"1500 mm"')))
        assert {"make.seams panel_too_wide", "make.windows outside_minimum"} <= set(told)  # seen behind the proposed seams
        assert told["make.windows outside_minimum"].endswith("under the minimum of 150 mm (C.6.2 (e))")

    @pytest.mark.usefixtures("loft")
    def test_a_broadseam_is_told_without_other_heights(self) -> None:
        (told,) = refused(changed(("run_out = 0.45 },", "run_out = 0.01 },"))).items()
        assert told[0] == "make.seams[0].broadseam broadseam_too_sharp" and "Heights" not in told[1]

    def test_the_row_is_called_by_its_corner(self) -> None:
        assert place("make.patches[2].size", MAIN) == "make.patches[2].size (clew)"


class TestWhatMustNotBeOverlooked:
    @pytest.mark.usefixtures("loft")
    def test_numbers_that_find_no_place_refuse_a_pattern_that_always_has_them(self) -> None:
        text = skerling.text("fm28_storm_jib_v1.toml")
        style = '\n[[numbers]]\nkind = "storm_jib"\nrule = "D.9"\nheight = "900 mm"\ngap = "60 mm"\nedge = "60 mm"\n'
        services.load_class(text=skerling.text("fellmere_28_2026.toml") + style)
        numbers = text[text.index('[[options]]\ncode = "numbers"') :].split("\n\n")[0]
        assert services.load_pattern(text=text, dry_run=True).warnings == (
            "no sail number finds a place: '8' in 900 mm characters takes 600 mm; two such rows find no place on this sail; "
            "without the option 'Sail numbers' the sail can be had",
            "NUMBER-375 of the kit is 375 mm, and numbers are laid out 900 mm high (class rule D.9): one of the two is wrong",
        )
        bare = "\n".join(line for line in text.replace(numbers, "").splitlines() if line != 'option = "numbers"')
        assert list(refused(bare)) == ["options numbers_do_not_fit"]

    @pytest.mark.usefixtures("loft")
    def test_a_size_that_each_boat_must_give_leaves_the_pattern_untried(self, tmp_path: Path) -> None:
        """A class that does not limit the quarter width, as the J/105's does not."""
        rule = skerling.text("skerling_13_2025.toml").replace('code = "SK13"', 'code = "OTHER"')
        services.load_class(text="\n".join(line for line in rule.splitlines() if 'measurement = "quarter_width"' not in line))
        path, out = tmp_path / "main.toml", StringIO()
        path.write_text(changed(('class = "SK13"', 'class = "OTHER"')))
        call_command("load_pattern", str(path), "--dry-run", stdout=out)
        lines = out.getvalue().splitlines()
        assert lines[0] == "SK13-MAIN version 3: new (dry run: nothing is stored), 1 warning below"
        assert lines[-1] == (
            "  WARNING: NO SAIL WAS TRIED: neither class nor pattern gives quarter width, so that every row of a list of boats must; "
            "seams, patches, pockets and lays are unchecked. Put quarter_width under [sizes] to have one tried"
        )

    @pytest.mark.usefixtures("loft")
    def test_characters_of_another_size_than_the_class_asks(self) -> None:
        rule = skerling.text("skerling_13_2025.toml").replace('code = "SK13"', 'code = "OTHER"')
        style = '\n[[numbers]]\nkind = "mainsail"\nrule = "C.6.6 (a)"\nheight = "375 mm"\ngap = "60 mm"\nedge = "60 mm"\n'
        services.load_class(text=rule + style)
        report = services.load_pattern(text=changed(('class = "SK13"', 'class = "OTHER"')), dry_run=True)
        assert report.warnings == (
            "NUMBER-300 of the kit is 300 mm, and numbers are laid out 375 mm high (class rule C.6.6 (a)): one of the two is wrong",
        )

    @pytest.mark.usefixtures("loft")
    @pytest.mark.parametrize(
        ("label", "change", "told"),
        [
            (
                "no characters",
                ('per = "number_character"\nfactor = 1\noption = "numbers"', 'per = "sail"\nfactor = 1\noption = "numbers"'),
                'no row of [[kit]] of SK13-MAIN is per = "number_character": the minutes of its sail numbers are charged and no characters',
            ),
            (
                "a step left out",
                ('"insignia", "tell_tales"', '"tell_tales"'),
                "steps does not name 'insignia' (Class insignia), which such a sail takes: it is put before 'Tell-tales'",
            ),
            (
                "the last step left out",
                (', "inspect_and_pack"', ""),
                "steps does not name 'inspect_and_pack' (Inspect, count pins and blades, fold, bag, card), which such a sail takes: "
                "it is put last of all",
            ),
            (
                "a headboard too narrow",
                ('top_width = "132 mm"', 'top_width = "141 mm"'),
                "HEADBOARD-130 of the kit is 130 mm, and the top width is 141 mm: "
                "a headboard is at most 10 mm narrower than the head, and never wider",
            ),
            (
                "a headboard too wide",
                ('top_width = "132 mm"', 'top_width = "129 mm"'),
                "HEADBOARD-130 of the kit is 130 mm, and the top width is 129 mm: "
                "a headboard is at most 10 mm narrower than the head, and never wider",
            ),
        ],
    )
    def test_what_a_sail_would_go_without(self, label: str, change: tuple[str, str], told: str) -> None:
        wide = skerling.text("skerling_13_2025.toml").replace('code = "SK13"', 'code = "OTHER"')
        wide = wide.replace('measurement = "top_width", maximum = "140 mm"', 'measurement = "top_width", maximum = "150 mm"')
        services.load_class(text=wide)
        report = services.load_pattern(text=changed(('class = "SK13"', 'class = "OTHER"'), change), dry_run=True)
        assert report.warnings == (told,), label


SEAMS = MAIN[MAIN.index("seams = [") : MAIN.index("]", MAIN.index("seams = [")) + 1]


@pytest.mark.usefixtures("loft")
def test_seams_are_told_as_the_file_has_them_and_one_proposal_is_made(tmp_path: Path) -> None:
    """A seam through the lower pocket and panels that are too wide: both at once, with the heights that propose_seams prints."""
    bad = SEAMS.replace('"320 mm"', '"1400 mm"').replace('"1660 mm"', '"2900 mm"').replace('"3000 mm"', '"4000 mm"')
    text = changed((SEAMS, bad))
    told = refused(text)
    assert sorted(told) == ["make.pockets[0] seam_too_near", "make.seams panel_too_wide"]
    assert "lies in the way of seam 1 at 1,400 mm" in told["make.pockets[0] seam_too_near"]
    proposed = re.findall(r'height = "([0-9.]+) mm"', TestProposedSeams().run(text, tmp_path))
    assert f"Heights that would do on DW185: seams {', '.join(proposed)} mm" in told["make.seams panel_too_wide"]


@pytest.mark.usefixtures("loft")
def test_a_roll_width_that_is_not_the_cloth_s_is_warned_of() -> None:
    told = services.load_pattern(text=changed(('roll_width = "1370 mm"', 'roll_width = "1500 mm"')), dry_run=True).warnings
    assert "make.roll_width is 1500 mm, and DW170 is 1370 mm wide by its list, which panels are cut to" in told


@pytest.mark.usefixtures("loft")
def test_what_a_smaller_boat_s_sail_is_refused_for_is_warned_of() -> None:
    """A broadseam of 16 mm near the head is sewn at the pattern's own size; 2 % smaller, the seam is too short for it."""
    (warning,) = services.load_pattern(
        text=changed(('"4340 mm", broadseam = "3 mm"', '"4340 mm", broadseam = "16 mm"')), dry_run=True
    ).warnings
    assert warning.startswith("a sail 2 % smaller would be refused, which a boat's own sizes may ask for: make.seams[3].broadseam: ")
    assert "makes the sew lines 0.52 mm unequal; at most 0.50 mm" in warning


@pytest.mark.parametrize("name", ["sk13_main_v3.toml", "sk13_jib_v1.toml", "sk13_spinnaker_v1.toml"])
@pytest.mark.usefixtures("loft")
def test_every_pattern_of_the_examples_passes(name: str) -> None:
    report = services.load_pattern(text=skerling.text(name))
    assert (report.outcome, report.warnings) == ("new", ())


@pytest.mark.usefixtures("loft")
def test_a_new_version_is_compared_in_plain_words() -> None:
    services.load_pattern(text=MAIN)
    text = changed(("version = 3", "version = 4"), ('corner = "head"', 'corner = "head"\nlayers = 5'))
    text = text.replace('    { height = "4340 mm"', '    { height = "4300 mm"')
    told = services.load_pattern(text=text, dry_run=True).details
    changes = told[told.index("against version 3:") + 1 :]
    assert "  make.patches[head].layers changed: none -> 5" in changes
    assert not [line for line in changes if "None" in line or "(" in line or "_" in line.partition("changed")[2]]


class TestProposedSeams:
    def run(self, text: str, folder: Path) -> str:
        path, out = folder / "pattern.toml", StringIO()
        path.write_text(text)
        call_command("propose_seams", str(path), stdout=out)
        return out.getvalue()

    @pytest.mark.usefixtures("loft")
    @pytest.mark.parametrize("name", ["sk13_main_v3.toml", "sk13_jib_v1.toml", "sk13_spinnaker_v1.toml"])
    def test_a_pattern_with_the_proposed_seams_passes(self, name: str, tmp_path: Path) -> None:
        text = skerling.text(name)
        before, _, rest = text.partition("\nseams = [")
        after = rest.partition("\n]")[2] if "\n" in rest.partition("]")[0] else rest.partition("]")[2]
        proposed = self.run(before + "\nseams = []" + after, tmp_path)
        assert proposed.startswith('seams = [\n    { height = "')
        assert services.load_pattern(text=before + "\n" + proposed.rstrip() + after).outcome == "new"

    def test_the_class_comes_first(self, tmp_path: Path) -> None:
        with pytest.raises(CommandError, match="Load the class first"):
            self.run(MAIN, tmp_path)
