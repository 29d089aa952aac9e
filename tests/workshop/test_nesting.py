"""The nesting library behind the planner: what it answers is checked, and whatever becomes of it the lay stays sound."""

from __future__ import annotations

import json
import subprocess
import time
from dataclasses import replace
from pathlib import Path

import pytest

from costing import cloth
from costing.cloth import Cloth, Orientation, Part, Table
from loft.workshop import nesting
from loft.workshop.nesting import Nesting

ROLL = Cloth("ROLL", "roll", "woven", "firm", 1370, 1370, 170, Orientation.FILL, True, ("white",))
TOUCHING = Table(length_mm=12000, gap_mm=0.01)
DATA = Path(__file__).resolve().parents[1] / "cloth" / "data" / "one_main_1370.json"

Parts = dict[str, tuple[Part, ...]]


@pytest.fixture(scope="module")
def main() -> Parts:
    found = json.loads(DATA.read_text(encoding="utf-8"))["parts"]
    return {
        "S0": tuple(
            Part(p["id"], p["kind"], p["id"], "ROLL", tuple(map(tuple, p["outer"])), tuple(tuple(map(tuple, h)) for h in p["holes"]))
            for p in found
        )
    }


@pytest.mark.parametrize("fill_holes", [True, False])
def test_a_main_becomes_shorter_and_passes_its_audit(main: Parts, fill_holes: bool) -> None:
    table = replace(TOUCHING, window_holes=fill_holes)
    own = cloth.plan_lay(main, ROLL, table)
    lay = cloth.plan_lay(main, ROLL, table, improve=Nesting(main, ROLL, table, seconds=6))
    assert cloth.audit_lay(lay, main, ROLL, TOUCHING) == ()
    assert lay.length_mm < own.length_mm


def test_the_gap_is_kept(main: Parts) -> None:
    table = Table(length_mm=12000, gap_mm=4)
    lay = cloth.plan_lay(main, ROLL, table, improve=Nesting(main, ROLL, table, seconds=4))
    assert cloth.audit_lay(lay, main, ROLL, table) == ()


def test_stopped_it_ends_at_once_with_the_lay_that_was_there_and_leaves_no_child(main: Parts) -> None:
    own = cloth.plan_lay(main, ROLL, TOUCHING)
    begun = time.monotonic()
    stop = Nesting(main, ROLL, TOUCHING, seconds=60, should_stop=lambda: time.monotonic() - begun > 1.5)
    assert stop(own, 0) == own
    assert time.monotonic() - begun < 10
    left = subprocess.run(["ps", "-eo", "ppid,args"], capture_output=True, text=True, check=True).stdout
    assert not [line for line in left.splitlines() if line.split()[0] == str(nesting.os.getpid()) and "nesting_child" in line]


@pytest.mark.parametrize(
    ("label", "program"),
    [
        ("no library", "raise ImportError('no such library')"),
        ("killed", "import os; os.kill(os.getpid(), 9)"),
        ("panic", "raise BaseException"),
    ],
)
def test_a_child_that_ends_badly_changes_nothing(main: Parts, monkeypatch: pytest.MonkeyPatch, label: str, program: str) -> None:
    monkeypatch.setattr(nesting, "CHILD", ("-c", program))
    own = cloth.plan_lay(main, ROLL, TOUCHING)
    assert cloth.plan_lay(main, ROLL, TOUCHING, improve=Nesting(main, ROLL, TOUCHING, seconds=3)) == own, label


@pytest.mark.parametrize(("label", "spot"), [("all in one place", "[0.0, 0.0, 0]"), ("far outside", "[9e5, -9e5, 0]")])
def test_a_wrong_answer_is_not_believed(main: Parts, monkeypatch: pytest.MonkeyPatch, label: str, spot: str) -> None:
    program = f"import json, sys; print(json.dumps({{'spots': [{spot}] * len(json.load(sys.stdin)['items'])}}))"
    monkeypatch.setattr(nesting, "CHILD", ("-c", program))
    own = cloth.plan_lay(main, ROLL, TOUCHING)
    lay = cloth.plan_lay(main, ROLL, TOUCHING, improve=Nesting(main, ROLL, TOUCHING, seconds=3))
    assert cloth.audit_lay(lay, main, ROLL, TOUCHING) == (), label
    assert lay.length_mm <= own.length_mm


def test_too_little_time_is_said_and_nothing_is_asked(main: Parts, caplog: pytest.LogCaptureFixture) -> None:
    own = cloth.plan_lay(main, ROLL, TOUCHING)
    with caplog.at_level("INFO"):
        assert Nesting(main, ROLL, TOUCHING, seconds=0.2)(own, 0) == own
    assert "too little time is left" in caplog.text
