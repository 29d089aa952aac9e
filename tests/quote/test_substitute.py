"""What keeps one cloth from standing in for another: every reason by itself, on the invented house."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from costing.cloth import Orientation
from costing.quote.cloth_rules import reasons_against
from tests import skerling

OLD = skerling.house().cloths["DW170"]
SAME = skerling.house().cloths["DW185"]  # the pattern names it too

# label, what differs, the paths of the reasons
CASES: list[tuple[str, dict[str, Any], list[str]]] = [
    ("nothing but weight", {}, []),
    ("another roll width", {"width_mm": 1500.0, "usable_width_mm": 1485.0}, []),
    ("construction, and the class permits polyester alone", {"construction": "laminate"}, ["construction", "class"]),
    ("finish", {"finish": "medium"}, ["finish"]),
    ("face", {"same_faced": False}, ["face"]),
    ("colour", {"colours": ("grey",)}, ["colour"]),
    ("orientation, which a cross-cut sail needs too", {"orientation": Orientation.WARP}, ["orientation", "class"]),
    ("lighter than the class allows: 160 g/m2 at least", {"gsm": 159.9}, ["class"]),
    ("at the class minimum", {"gsm": 160.0}, []),
    ("a film", {"role": "film"}, ["role"]),
    ("a cloth that the pattern does not name", {"code": "DW175"}, ["class"]),
    ("two at once", {"finish": "soft", "colours": ("grey",)}, ["finish", "colour"]),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "paths"), [c[1:] for c in CASES], ids=[c[0] for c in CASES])
def test_a_reason_is_named_for_each_thing_that_differs(changes: dict[str, Any], paths: list[str]) -> None:
    found = reasons_against(OLD, replace(SAME, **changes), skerling.house(), colours=frozenset({"White"}))
    assert [p.path for p in found] == paths


def test_the_cloths_of_the_fixtures() -> None:
    house, white = skerling.house(), frozenset({"white"})
    against = {code: [p.path for p in reasons_against(OLD, new, house, colours=white)] for code, new in house.cloths.items()}
    assert against["DW185"] == []
    assert against["DW150"] == ["finish", "class"]  # medium, and 149.9 g/m2
    assert against["WP175"] == ["orientation", "class"]
    assert against["FILM-05"][0] == "role"
