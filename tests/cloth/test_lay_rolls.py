"""Sections on rolls, by hand: flaws kept clear, remnants first, rolls split where they end, one lot a sail."""

from __future__ import annotations

import pytest

from costing.cloth import Lay, Placement, Section
from costing.cloth.rolls import Cut, Roll, on_rolls
from costing.errors import InputError


def lay(*sections: tuple[float, str]) -> Lay:
    """Sections by length and the sails in them, a letter each."""
    return Lay(
        "ROLL",
        1370,
        tuple(Section(n, length) for n, (length, _) in enumerate(sections)),
        tuple(Placement(sail, "P1", n, 0.0, 0.0, 0) for n, (_, sails) in enumerate(sections) for sail in sails),
        1.0,
        1.0,
    )


@pytest.mark.parametrize(
    ("label", "made", "rolls", "cuts"),
    [
        ("end to end", lay((5000, "a"), (4000, "b")), (Roll("R1", "L1", 9000),), (Cut(0, "R1", 0), Cut(1, "R1", 5000))),
        # 7.4 to 7.6 m is flawed: of 12 m, 7.4 m and 4.4 m are left
        ("a flaw", lay((7000, "a"), (4000, "b")), (Roll("R1", "L1", 12000, ((7400, 7600),)),), (Cut(0, "R1", 0), Cut(1, "R1", 7600))),
        (
            "flaws that meet, in any order",
            lay((3000, "a")),
            (Roll("R1", "L1", 12000, ((2000, 9000), (0, 2500))),),
            (Cut(0, "R1", 9000),),
        ),
        (
            "a remnant first",
            lay((7000, "a"), (2000, "b")),
            (Roll("R1", "L1", 50000), Roll("X", "L1", 2500, remnant=True)),
            (Cut(0, "R1", 0), Cut(1, "X", 0)),
        ),
        (
            "a roll that ends",
            lay((7000, "a"), (7000, "b")),
            (Roll("R1", "L1", 8000), Roll("R2", "L2", 9000)),
            (Cut(0, "R1", 0), Cut(1, "R2", 0)),
        ),
        (
            "a sail in two sections from one lot",
            lay((7000, "ab"), (7000, "bc")),
            (Roll("R1", "L1", 8000), Roll("R2", "L2", 8000), Roll("R3", "L2", 9000)),
            (Cut(0, "R2", 0), Cut(1, "R3", 0)),
        ),
    ],
)
def test_places(label: str, made: Lay, rolls: tuple[Roll, ...], cuts: tuple[Cut, ...]) -> None:
    assert on_rolls(made, rolls) == cuts, label


def test_sections_are_told_by_their_own_numbers() -> None:
    """The first of the lay is cut already, so that the second is the first that wants a place."""
    with pytest.raises(InputError, match=r"section 2 needs 7,000 mm .* book a longer roll, or plan again in sections that these"):
        on_rolls(lay((7000, "a")), (Roll("R1", "L1", 6000),), named=(2,))


@pytest.mark.parametrize(
    ("label", "made", "rolls", "told"),
    [
        ("shorter than the lay", lay((7000, "a")), (Roll("R1", "L1", 6000),), "section 1 needs 7,000 mm of one lot"),
        ("a flaw in the middle", lay((7000, "a")), (Roll("R1", "L1", 12000, ((6000, 6100),)),), "free of flaws is 6,000 mm"),
        (
            "two lots for one sail",
            lay((7000, "a"), (7000, "a")),
            (Roll("R1", "L1", 8000), Roll("R2", "L2", 8000)),
            "sections 1, 2 need 14,000",
        ),
        ("no roll", lay((7000, "a")), (), "is 0 mm"),
    ],
)
def test_refused(label: str, made: Lay, rolls: tuple[Roll, ...], told: str) -> None:
    with pytest.raises(InputError) as caught:
        on_rolls(made, rolls)
    assert told in caught.value.problems[0].message, label
