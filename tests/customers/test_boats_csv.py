"""A list of boats: what it asks for, and how it is refused whole with every problem at its row and column."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.measurements import SailKind
from costing.quote import SailRequest
from loft.customers import boats_csv, list_changes
from tests import skerling

PATTERN = skerling.house().pattern
BATCH = (skerling.FIXTURES / "skerling_batch_2026.csv").read_bytes()


def read(data: bytes | str) -> tuple[SailRequest, ...]:
    return boats_csv.read_boats(data.encode() if isinstance(data, str) else data, pattern=PATTERN)


def problems(data: bytes | str) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as raised:
        read(data)
    return [(p.path, p.code, p.message) for p in raised.value.problems]


def bad(name: str) -> bytes:
    return (skerling.FIXTURES / "bad" / name).read_bytes()


def test_the_associations_twelve_boats() -> None:
    sails = skerling.batch().sails
    variants = {s.boat: s for s in sails if s.sizes or s.luff_curve}
    assert len(sails) == 12 and set(variants) == {"Lapwing", "Wagtail"}
    assert {k: str(v.normalize()) for k, v in variants["Lapwing"].sizes.items()} == {
        "luff_length": "5207",  # 17 ft 1 in = 205 in of 25.4 mm
        "leech_length": "5545",
        "foot_length": "2.44E+3",
        "half_width": "1445",
    }
    assert variants["Wagtail"].sizes["luff_length"] == Decimal(5210)  # written 5.21 m
    assert variants["Wagtail"].luff_curve is not None
    assert variants["Wagtail"].luff_curve.stations[2] == (0.5, 60.0)
    assert [s.boat for s in sails if s.sail_number is None] == ["Linnet"]
    goosander = next(s for s in sails if s.boat == "Goosander")
    assert (goosander.path, goosander.options, goosander.declined) == ("row 5", {"window"}, {"cunningham"})


@pytest.mark.parametrize(("label", "separator"), [("semicolon", ";"), ("tab", "\t")])
def test_other_separators(label: str, separator: str) -> None:
    kept = [line for line in BATCH.decode().splitlines() if ";" not in line]
    assert len(kept) == 11, label
    assert read("\n".join(line.replace(",", separator) for line in kept)) == read("\n".join(kept)), label


def test_a_separator_inside_a_cell_stands_in_quotes() -> None:
    (sail,) = read('boat;owner;sail_number;options\n"Heron; the second";Maud;1;"window; no cunningham"\n')
    assert (sail.boat, sail.options, sail.declined) == ("Heron; the second", {"window"}, {"cunningham"})


@pytest.mark.parametrize(
    ("label", "data"),
    [
        ("byte-order mark", b"\xef\xbb\xbf" + BATCH),
        ("line ends of another system", BATCH.replace(b"\n", b"\r\n")),
        ("old line ends", BATCH.replace(b"\n", b"\r")),
        ("header in capitals with spaces", BATCH.replace(b"sail_number", b"Sail Number", 1)),
        ("blank rows at the end", BATCH + b",,,,,,,,,,,,\n\n"),
        ("empty columns at the end", b"\n".join(line + b",," for line in BATCH.splitlines())),
    ],
)
def test_the_same_list_from_another_spreadsheet(label: str, data: bytes) -> None:
    assert read(data) == read(BATCH), label


@pytest.mark.parametrize(
    ("file", "expected"),
    [
        ("empty.csv", [("file", "empty", "the file is empty")]),
        ("header_only.csv", [("file", "empty", "has a header row and no boats")]),
        ("utf16.csv", [("file", "wrong_encoding", "is in UTF-16 and not in UTF-8; save it as CSV in UTF-8")]),
        ("latin1.csv", [("file", "wrong_encoding", "row 3 has a byte that no UTF-8 text has; save it as CSV in UTF-8")]),
        ("unclosed_quote.csv", [("file", "not_csv", "line 3 is not a row of cells")]),
        ("too_many_boats.csv", [("file", "too_many_boats", "has 401 boats; at most 400 are read at once")]),
        ("missing_column.csv", [("row 1", "missing_column", "the column sail_number is missing")]),
        (
            "unknown_column.csv",
            [
                ("row 1, column 4", "unknown_column", "'half_widht' is not a column that is known; did you mean half_width?"),
                ("row 1, column 5", "unknown_column", "'favourite' is not a column that is known; there are boat, owner, sail_number"),
            ],
        ),
        (
            "empty_cells.csv",
            [
                ("row 2.boat", "missing", "is empty"),
                ("row 3.owner", "missing", "is empty"),
                ("row 3.sail_number", "missing", 'is empty; write "to follow" where it is not known yet'),
            ],
        ),
        (
            "comma_decimals.csv",
            [
                ("row 2.luff_length", "not_a_length", "'5,21 m' is not a length: write a point for the decimals"),
                ("row 2.half_width", "not_a_length", "'1,45 m' is not a length: write a point for the decimals"),
            ],
        ),
        (
            "unreadable_units.csv",
            [
                ("row 2.luff_length", "not_a_length", "'5.2 yards' is not a length"),
                ("row 2.foot_length", "not_a_length", "'about 2400' is not a length"),
                ("row 3.luff_length", "not_a_length", "after feet, the inches must be fewer than 12"),
                ("row 3.foot_length", "not_a_length", "write it without a sign"),
                ("row 3.luff_curve", "not_a_curve", "'0.5=45' is no station; write 0.25:30 0.5:45 0.75:35"),
                ("row 4.luff_curve", "not_a_curve", "the stations rise"),
            ],
        ),
        (
            "mail_addresses.csv",
            [
                ("row 2.email", "not_an_address", "'maud at skerling.example' is not a mail address: write one address"),
                ("row 3.email", "not_an_address", "is not a mail address"),
                ("row 4.email", "control_character", "has a line break"),
                ("row 6.email", "other_address", "row 5 gives this boat another address"),
            ],
        ),
        ("too_many_cells.csv", [("row 2", "too_many_cells", "has 5 cells and the header has 4")]),
        (
            "control_characters.csv",
            [("row 2.boat", "control_character", "cannot be printed"), ("row 3.boat", "control_character", "cannot be printed")],
        ),
    ],
)
def test_a_bad_list_is_refused_with_every_problem(file: str, expected: list[tuple[str, str, str]]) -> None:
    found = problems(bad(file))
    assert [(path, code) for path, code, _ in found] == [(path, code) for path, code, _ in expected]
    for (_, _, message), (_, _, words) in zip(found, expected, strict=True):
        assert words in message


def test_too_many_boats_are_refused_before_anything_is_parsed() -> None:
    data = b"boat,owner,sail_number\n" + b'x,"' * 300_000
    started = time.perf_counter()
    assert [code for _, code, _ in problems(bad("too_many_boats.csv"))] == ["too_many_boats"]
    assert [code for _, code, _ in problems(data + b"\n" * 200_000)] == ["too_large"]
    assert time.perf_counter() - started < 1


def test_four_hundred_boats_are_taken() -> None:
    lines = bad("too_many_boats.csv").decode().splitlines()
    assert len(read("\n".join(lines[:401]))) == 400


@pytest.mark.parametrize(
    ("row", "boat", "owner", "note"),
    [
        (0, '<img src="file:///etc/passwd">', "Maud & <b>Sons</b>", "{{ 7 * 7 }}"),
        (1, 'The "Good" Ship', "O'Hara; DROP TABLE boats", "=1+1"),
        (2, "שלום", "مها الخوري", "right to left"),
        (3, "⛵ Duck 🦆", "Zoë Ångström", "emoji and accents"),
    ],
)
def test_names_pass_as_they_were_written(row: int, boat: str, owner: str, note: str) -> None:
    sail = read(bad("names_to_pass_unharmed.csv"))[row]
    assert (sail.boat, sail.owner, sail.note) == (boat, owner, note)


@pytest.mark.parametrize(
    ("label", "row", "problem"),
    [
        ("a long name", "x" * 201 + ",Maud,1", ("row 2.boat", "too_long", "has 201 characters; at most 200 are read")),
        ("a long number", "Heron,Maud," + "1" * 21, ("row 2.sail_number", "too_long", "has 21 characters; at most 20 are read")),
    ],
)
def test_cells_that_are_too_long(label: str, row: str, problem: tuple[str, str, str]) -> None:
    assert problems(f"boat,owner,sail_number\n{row}\n") == [problem], label


@pytest.mark.parametrize("data", [b"\xef\xbb\xbf", b"\xef\xbb\xbf\n \n", b",,,\n,,\n", b'"",""\n'])
def test_a_file_without_a_header_row(data: bytes) -> None:
    assert problems(data) == [("file", "empty", "the file has no header row")]


def test_the_same_column_twice() -> None:
    assert problems("boat,owner,sail_number,boat\na,b,1,c\n") == [("row 1, column 4", "column_twice", "boat stands in column 1 already")]


@pytest.mark.parametrize(
    ("options", "chosen", "declined"),
    [
        ("window; no tell-tales", {"window"}, {"tell_tales"}),
        ("Window ; NO Cunningham ring;", {"window"}, {"cunningham"}),
        ("no tell_tales", set(), {"tell_tales"}),
        ("windwo; no reef", {"windwo"}, {"reef"}),
        ("", set(), set()),
    ],
)
def test_options_by_code_or_label(options: str, chosen: set[str], declined: set[str]) -> None:
    (sail,) = read(f"boat,owner,sail_number,options\nHeron,Maud,1,{options}\n")
    assert (sail.options, sail.declined) == (chosen, declined)


def test_an_address_is_beside_the_sail_and_not_in_what_is_asked_for() -> None:
    named = b"boat,owner,sail_number,email\nHeron,Maud Pellow,214,maud@skerling.example\nDipper,Tobias Wray,187,\n"
    rows = boats_csv.read_rows(named, pattern=PATTERN)
    assert [row.email for row in rows] == ["maud@skerling.example", ""]
    assert [row.sail for row in rows] == list(read(b"boat,owner,sail_number\nHeron,Maud Pellow,214\nDipper,Tobias Wray,187\n"))


def test_the_sails_of_a_suit_may_repeat_the_address_or_leave_it_out() -> None:
    again = b"boat,owner,sail_number,email\nHeron,Maud,214,maud@x.example\nHeron,Maud,214,Maud@x.example\nHeron,Maud,214,\n"
    assert len(boats_csv.read_rows(again, pattern=PATTERN)) == 3


def test_a_list_without_its_addresses_is_the_same_list() -> None:
    named = b'boat;owner;email;sail_number\r\n"Heron; two";Maud Pellow;maud@skerling.example;214\r\n'
    without = list_changes.without_addresses(named)
    assert without == b'boat;owner;sail_number\r\n"Heron; two";Maud Pellow;214\r\n'
    assert read(without) == read(named)
    assert list_changes.without_addresses(BATCH) == BATCH


def test_a_wrong_header_hides_no_row() -> None:
    """A column that is nearly right is read as what it means, so that its size is not missed as well."""
    text = "boat,owner,sail_number,luff_lenght,half_width\nA,B,1,5 yards,\nC,D,2,,about 1400\n"
    assert [(path, code) for path, code, _ in problems(text)] == [
        ("row 1, column 4", "unknown_column"), ("row 2.luff_length", "not_a_length"), ("row 3.half_width", "not_a_length"),
    ]  # fmt: skip
    assert [(path, code) for path, code, _ in problems("boat,owner,half_width\nA,B,about 1400\n")] == [
        ("row 1", "missing_column"), ("row 2.half_width", "not_a_length"),
    ]  # fmt: skip


@pytest.mark.parametrize("kind", list(SailKind))
def test_a_sail_is_known_by_its_kind(kind: SailKind) -> None:
    one = replace(PATTERN, code="ONE", name="One", sail_kind=kind)
    words = boats_csv.pattern_words([one])
    asked = [kind.value, kind.value.replace("_", " ")] + (["spinnaker"] if "spinnaker" in kind.value else [])
    assert [words[word] for word in asked] == ["ONE"] * len(asked)


def test_where_several_patterns_are_of_a_kind_they_are_named() -> None:
    kites = (("A", SailKind.ASYMMETRIC_SPINNAKER), ("S", SailKind.SYMMETRIC_SPINNAKER))
    house = replace(skerling.house(), others=tuple(replace(PATTERN, code=code, name=code, sail_kind=kind) for code, kind in kites))
    words = boats_csv.pattern_words(house.patterns)
    assert "spinnaker" not in words and words["asymmetric spinnaker"] == "A"
    with pytest.raises(InputError, match="'spinnaker' may be A or S: write which of them"):
        house.making("spinnaker")
