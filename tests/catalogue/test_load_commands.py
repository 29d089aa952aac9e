"""The load commands: what they print, and that anything wrong leaves nothing behind."""

from __future__ import annotations

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from loft.catalogue.models import PatternVersion, RuleEdition, SupplierList
from tests import skerling

pytestmark = pytest.mark.django_db


def run(command: str, *args: object) -> str:
    out = StringIO()
    call_command(command, *(str(a) for a in args), stdout=out)
    return out.getvalue()


def test_the_four_commands() -> None:
    folder = skerling.FIXTURES
    loaded = run("load_class", folder / "skerling_13_2025.toml").splitlines()
    assert loaded[:2] == ["Skerling 13 (SK13), edition 2025: new", "  mainsail: 16 limits, 5 options"]
    assert loaded[-1] == "  0 sails of open quotes, unfinished tickets and stock looked at, 0 would breach"
    assert run("load_pattern", folder / "sk13_main_v3.toml").startswith("SK13-MAIN version 3: new, 1 warning below\n  4 seams, 6 options, ")
    assert run("load_prices", folder / "association_2026.toml").splitlines()[1:] == [
        "  3 prices, 0 cloths",
        "  new materials: LABEL-SK13, MEASURING-SK13, INSIGNIA-SK13",
    ]
    assert "loft profile: Larkfield Sail Loft" in run("load_house", folder / "larkfield_2026.toml")
    assert run("load_class", folder / "skerling_13_2025.toml") == (
        "Skerling 13 (SK13), edition 2025: unchanged\n  the same content is stored already\n"
        "  0 sails of open quotes, unfinished tickets and stock looked at, 0 would breach\n"
    )


def test_a_dry_run_says_so() -> None:
    text = run("load_class", skerling.FIXTURES / "skerling_13_2025.toml", "--dry-run")
    assert text.startswith("Skerling 13 (SK13), edition 2025: new (dry run: nothing is stored)\n")
    assert not RuleEdition.objects.exists()


def test_everything_wrong_is_printed_and_nothing_stored() -> None:
    with pytest.raises(CommandError) as raised:
        run("load_prices", skerling.FIXTURES / "bad" / "prices_wrong.toml")
    lines = str(raised.value).splitlines()
    assert lines[0] == "prices_wrong.toml: 9 wrong, nothing is stored"
    assert "  list.valid_to: 2026-12-31 is before valid_from 2027-01-05" in lines
    assert len(lines) == 10 and raised.value.returncode == 1
    assert not SupplierList.objects.exists()


@pytest.mark.parametrize(
    ("label", "content", "words"),
    [
        ("not there", None, "cannot be read: No such file or directory"),
        ("not UTF-8", "code = 'é'".encode("latin-1"), "is not in UTF-8; save it as UTF-8"),
        ("too large", b"#" * 1_000_001, "more than 1000000 bytes"),
        ("empty", b"", "file: the file is empty"),
    ],
)
def test_a_file_that_cannot_be_read(label: str, content: bytes | None, words: str, tmp_path: Path) -> None:
    path = tmp_path / "pattern.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(CommandError) as raised:
        run("load_pattern", path)
    assert words in str(raised.value), label
    assert not PatternVersion.objects.exists(), label


def test_a_place_is_told_with_the_sail_and_the_rule_that_it_belongs_to() -> None:
    with pytest.raises(CommandError) as raised:
        run("load_class", skerling.FIXTURES / "bad" / "class_everything_wrong.toml")
    lines = str(raised.value).splitlines()
    assert "  sail[0].limits[4].minimum (mainsail, rule C.6.3 (e)): 1995 mm is more than the maximum 1990 mm" in lines
    circle = "mainsail.half_width needs mainsail.foot_length needs mainsail.half_width"
    assert any("sail[0].limits[2] (mainsail, rule C.6.3 (c)): " in line and f"in a circle: {circle}" in line for line in lines)


def test_a_price_ten_times_the_one_before_and_one_that_rises_are_warned_of(tmp_path: Path) -> None:
    run("load_prices", skerling.FIXTURES / "tarnside_2026.toml")
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2027"')
    text = text.replace("valid_from = 2026-01-05", "valid_from = 2027-02-01").replace("cost = 16.40", "cost = 164.00", 1)
    (tmp_path / "later.toml").write_text(text, encoding="utf-8")
    told = run("load_prices", tmp_path / "later.toml", "--dry-run")
    moved = "DW170: 16.40 -> 164.00 a m, +900.0 %"
    assert f"materials change\n    {moved}\n" in told and told.startswith(
        "Tarnside Sailcloth, list 2027: new (dry run: nothing is stored), 1 warning"
    )
    assert told.endswith(f"  WARNING: {moved}: exactly ten times\n")
    (tmp_path / "later.toml").write_text(text.replace("164.00", "13.40"), encoding="utf-8")
    assert "costs 15.20 from 50 on and 13.40 from 0" in run("load_prices", tmp_path / "later.toml", "--dry-run").splitlines()[-1]
