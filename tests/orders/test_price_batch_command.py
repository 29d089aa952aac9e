"""Pricing a list of boats from the shell."""

from __future__ import annotations

import json
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from pypdf import PdfReader

from loft.orders import paper
from loft.orders.models import Quote, Revision
from tests import desk, skerling

BAD = sorted((skerling.FIXTURES / "bad").glob("*.csv"))
PASSES = "names_to_pass_unharmed.csv"


def _price(boats: Path, out: Path, *more: str) -> str:
    printed = StringIO()
    call_command("price_batch", desk.PATTERN, str(boats), "--out", str(out), "--on", "2026-03-02", *more, stdout=printed)
    return printed.getvalue()


def _list(folder: Path, content: bytes) -> Path:
    path = folder / "boats.csv"
    path.write_bytes(content)
    return path


def test_it_writes_the_batch_and_its_papers(loft: None, tmp_path: Path) -> None:
    printed = _price(_list(tmp_path, desk.TWO_BOATS), tmp_path / "new" / "out")
    assert sorted(p.name for p in (tmp_path / "new" / "out").iterdir()) == ["batch.json", "cost-sheet.pdf", "quote.pdf", "work-sheets.pdf"]
    plain = json.loads((tmp_path / "new" / "out" / "batch.json").read_text(encoding="utf-8"))
    assert (plain["format"], plain["version"], [s["label"] for s in plain["sails"]]) == (
        "priced-batch", 2, ["Heron 214", "Linnet (number to follow)"],
    )  # fmt: skip
    assert f"gross {Decimal(plain['totals']['gross'])}" in printed
    assert Quote.objects.count() == 0


def test_what_the_desk_must_look_at_is_printed(loft: None, tmp_path: Path) -> None:
    head = b"boat,owner,sail_number,leech_length,mast_band_distance\n"
    printed = _price(_list(tmp_path, head + b"Heron,Maud Pellow,214,5565,\nDipper,Tobias Wray,187,,5150 mm\n"), tmp_path / "out")
    assert "  warning: row 2, Heron 214: leech length 5,565 mm is made as asked: 5 mm from the maximum of 5,570 mm (C.6.3 (b))" in printed
    assert "  hard to believe: row 3, Dipper 187: mast band distance (P) 5,150 mm is 2.1 % off the 5,260 mm" in printed


def test_a_batch_of_spinnakers(loft: None, tmp_path: Path) -> None:
    call_command("load_pattern", str(skerling.FIXTURES / "sk13_spinnaker_v1.toml"), stdout=StringIO())
    printed = StringIO()
    boats = skerling.FIXTURES / "skerling_spinnakers_2026.csv"
    call_command("price_batch", "SK13-SPI", str(boats), "--out", str(tmp_path), "--on", "2026-03-02", stdout=printed)
    assert printed.getvalue().startswith("3 sails by SK13-SPI version 1, Skerling 13 edition 2025\n")
    plain = json.loads((tmp_path / "batch.json").read_text(encoding="utf-8"))
    assert [(s["label"], s["colour"]) for s in plain["sails"]] == [
        ("Heron 214", "red"), ("Wagtail 240", "white + accent royal blue"), ("Linnet (number to follow)", "white"),
    ]  # fmt: skip
    assert len(plain["designs"]) == 2  # Wagtail asked for a leech and a foot of her own
    for name, words in {
        "quote.pdf": ("3 symmetric spinnakers", "foot median 4,470.0 · C.8.3 (d)", "a flat convention", "C.8.3 (c)"),
        "work-sheets.pdf": ("head seam 1", "This sail wears no sail number.", "one row of three-step", "Pull – NR41 royal blue"),
        "cost-sheet.pdf": ("NR41", "3.7 × "),
    }.items():
        text = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(tmp_path / name).pages)
        assert [w for w in words if w not in text] == [], name


def test_a_batch_of_jibs(loft: None, tmp_path: Path) -> None:
    call_command("load_pattern", str(skerling.FIXTURES / "sk13_jib_v1.toml"), stdout=StringIO())
    printed, boats = StringIO(), skerling.FIXTURES / "skerling_jibs_2026.csv"
    call_command("price_batch", "SK13-JIB", str(boats), "--out", str(tmp_path), "--on", "2026-03-02", stdout=printed)
    assert printed.getvalue().startswith("4 sails by SK13-JIB version 1, Skerling 13 edition 2025\n")
    plain = json.loads((tmp_path / "batch.json").read_text(encoding="utf-8"))
    assert len(plain["designs"]) == 3  # the pattern's with a window and without, and Wagtail's own
    for name, words in {
        "quote.pdf": ("4 headsails", "3,740.0 · C.7.3 (a)", "Starboard side (luff on the right)", "8 mm hollow at 0.5 of the luff"),
        "work-sheets.pdf": ("3 × 8 hanks = 24 min", "This sail wears no sail number.", "hank crosses"),
        "cost-sheet.pdf": ("press-on hank", "luff wire 3 mm"),
    }.items():
        text = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(tmp_path / name).pages)
        assert [w for w in words if w not in text] == [], name


def test_a_draft_is_kept_when_it_is_asked_for(loft: None, tmp_path: Path) -> None:
    more = ("--draft", "--customer", "Northern Tarns Fleet", "--terms", "STANDARD")
    printed = _price(_list(tmp_path, desk.TWO_BOATS), tmp_path / "out", *more)
    row = Revision.objects.get()
    assert (row.state, row.quote.customer.name, row.terms_code, row.quote.number) == ("draft", "Northern Tarns Fleet", "STANDARD", None)
    assert f"draft quote {row.quote.pk}" in printed
    plain = json.loads((tmp_path / "out" / "batch.json").read_text(encoding="utf-8"))
    assert plain["totals"]["gross"] == str(paper.thaw(row).totals.gross)


def test_the_same_list_gives_the_same_bytes(loft: None, tmp_path: Path) -> None:
    boats = _list(tmp_path, desk.TWO_BOATS)
    for name in ("one", "two"):
        _price(boats, tmp_path / name)
    for one in (tmp_path / "one").iterdir():
        assert one.read_bytes() == (tmp_path / "two" / one.name).read_bytes(), one.name


@pytest.mark.parametrize("boats", [p for p in BAD if p.name != PASSES], ids=lambda p: p.stem)
def test_every_bad_list_of_the_fixtures_is_refused_and_leaves_nothing(loft: None, tmp_path: Path, boats: Path) -> None:
    with pytest.raises(CommandError) as refused:
        _price(boats, tmp_path / "out", "--draft")
    assert refused.value.returncode == 1
    assert all(line.startswith(("row ", boats.name)) for line in str(refused.value).splitlines()), str(refused.value)
    assert not (tmp_path / "out").exists()
    assert Quote.objects.count() == 0


def test_the_place_of_a_problem_is_row_and_column(loft: None, tmp_path: Path) -> None:
    boats = _list(tmp_path, desk.TWO_BOATS.replace(b"5.21 m", b'"5,21 m"') + b"Dipper,Tobias Wray,187,5231,,\n")
    with pytest.raises(CommandError) as refused:
        _price(boats, tmp_path / "out")
    first, second = str(refused.value).splitlines()
    assert first.startswith("row 3, column luff_length: '5,21 m' is not a length")
    assert second.startswith("row 4, column luff_length: luff length 5,231 mm is 1 mm over the maximum of 5,230 mm (C.6.3 (a))")


@pytest.mark.parametrize(
    ("label", "pattern", "more", "word"),
    [
        ("unknown pattern", "SK13-JIB", (), "SK13-MAIN"),
        ("unknown terms", desk.PATTERN, ("--terms", "NOBODY"), "STANDARD"),
        ("a day without rules", desk.PATTERN, ("--on", "2019-06-01"), "2025"),
    ],
)
def test_what_is_unknown_is_named_with_what_there_is(
    loft: None, tmp_path: Path, label: str, pattern: str, more: tuple[str, ...], word: str
) -> None:
    with pytest.raises(CommandError, match=word):
        call_command("price_batch", pattern, str(_list(tmp_path, desk.ONE_BOAT)), "--out", str(tmp_path / "out"), *more)
    assert not (tmp_path / "out").exists(), label


def test_a_file_that_is_not_there_is_said(loft: None, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be read"):
        _price(tmp_path / "none.csv", tmp_path / "out")


def test_names_pass_unharmed_into_json_and_papers(loft: None, tmp_path: Path) -> None:
    _price(skerling.FIXTURES / "bad" / PASSES, tmp_path / "out")
    plain = json.loads((tmp_path / "out" / "batch.json").read_text(encoding="utf-8"))
    asked = (skerling.FIXTURES / "bad" / PASSES).read_text(encoding="utf-8")
    assert all(s["boat"].replace('"', '""') in asked for s in plain["sails"])
    assert b"/JavaScript" not in (tmp_path / "out" / "quote.pdf").read_bytes()


def test_what_paper_cannot_print_is_said(loft: None, tmp_path: Path) -> None:
    printed = _price(skerling.FIXTURES / "bad" / PASSES, tmp_path / "out")
    assert "warning: row 5, boat: the papers cannot print \u26f5 as [U+26F5], \U0001f986 as [U+1F986]" in printed
    assert printed.count("warning:") == 1


@pytest.mark.django_db
def test_a_day_before_every_list_is_told_once_and_one_that_is_none_by_how_it_is_written(tmp_path: Path) -> None:
    desk.load_catalogue()
    asked = ("price_batch", desk.PATTERN, str(_list(tmp_path, desk.ONE_BOAT)), "--out", str(tmp_path / "out"), "--on")
    with pytest.raises(CommandError) as refused:
        call_command(*asked, "2025-12-01")
    lines = str(refused.value).splitlines()
    assert [line for line in lines if "supplier list" in line] == [line for line in lines if line.startswith("on: no supplier list")]
    assert len([line for line in lines if "no supplier list is in force on 2025-12-01" in line]) == 1
    assert not [line for line in lines if "no price" in line]
    with pytest.raises(CommandError, match=r"'25\.11\.2026' is no day of the calendar, written year first: 2026-11-25"):
        call_command(*asked, "25.11.2026")
