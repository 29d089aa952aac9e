"""The sails and parts that several of these tests use."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from costing.cloth import Edge, EdgeMethod, Part, Seam, TakeUp
from tests.cloth.skerling_main import MAKE, Main, built


@pytest.fixture(scope="session")
def skerling() -> Main:
    return built()


@pytest.fixture(scope="session")
def plain() -> Main:
    """The same main with nothing drawn in, taken out or added: its panels are its outline."""
    bare = Edge(EdgeMethod.TAPED, 25, 0)
    seams = tuple(Seam(seam.height_mm) for seam in MAKE.seams)
    return built(replace(MAKE, seams=seams, take_up=TakeUp(0, 0, 0, 0), luff=bare, leech=bare, foot=bare, seam_overlap_mm=0.0))


@pytest.fixture(scope="session")
def measured_main() -> dict[str, tuple[Part, ...]]:
    """One cross-cut main in 25 parts on a 1,370 mm roll, with figures measured before this planner was written (data/SOURCE.md)."""
    text = (Path(__file__).parent / "data" / "one_main_1370.json").read_text(encoding="utf-8")
    found = json.loads(text)["parts"]
    return {"S0": tuple(Part(p["id"], p["kind"], p["id"], "ROLL", _line(p["outer"]), tuple(map(_line, p["holes"]))) for p in found)}


def _line(points: list[list[float]]) -> tuple[tuple[float, float], ...]:
    return tuple((x, y) for x, y in points)
