"""A list of boats changed row by row: numbers that came since, single cells, the order of the sails."""

from __future__ import annotations

from loft.customers import boats_csv, list_changes

#: A suit whose rows do not stand together, a boat between them, and a blank line as spreadsheets leave them.
SUITS = (
    b"boat;owner;sail_number;pattern;note\n"
    b"Heron;Maud Pellow;to follow;mainsail;\n"
    b"Dipper;Tam Orrell;187;mainsail;\n"
    b";;;;\n"
    b'Heron;Maud Pellow;to follow;headsail;"on; the stay"\n'
)


def rows(data: bytes) -> list[tuple[str, ...]]:
    return [cells for _, cells in boats_csv.sheet(data).rows]


def test_the_sails_of_a_boat_stand_together_where_patterns_are_named() -> None:
    assert list_changes.rows_of_sails(SUITS) == (2, 5, 3)


def test_without_a_column_for_patterns_the_rows_are_the_sails() -> None:
    assert list_changes.rows_of_sails(SUITS.replace(b"pattern", b"colour")) == (2, 3, 5)


def test_numbers_that_came_since_reach_the_rows_of_their_own_boat() -> None:
    told = rows(list_changes.with_numbers(SUITS, ["214", None, "187"]))
    assert [(cells[0], cells[2], cells[3]) for cells in told] == [
        ("Heron", "214", "mainsail"), ("Dipper", "187", "mainsail"), ("Heron", "to follow", "headsail"),
    ]  # fmt: skip
    assert told[2][4] == "on; the stay"


def test_cells_are_replaced_whole_and_a_new_column_is_added() -> None:
    changed = list_changes.with_cells(SUITS, {3: {"note": "no. 2", "cloth": "DW185"}})
    assert boats_csv.sheet(changed).columns == ("boat", "owner", "sail_number", "pattern", "note", "cloth")
    assert [cells[4:] for cells in rows(changed)] == [("", ""), ("no. 2", "DW185"), ("on; the stay", "")]
