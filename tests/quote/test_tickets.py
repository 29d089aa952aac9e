"""The ticket plan."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from costing.quote import PricedSail, TicketPlan, price_batch, ticket_plan
from costing.quote.tickets import placed
from tests import skerling


@cache
def _sails() -> dict[str, PricedSail]:
    wanted = tuple(s for s in skerling.batch().sails if s.boat in ("Heron", "Dipper", "Linnet"))
    batch = price_batch(replace(skerling.batch(), sails=wanted), skerling.house(), on=skerling.PRICED_ON).batch
    return {s.boat: s for s in batch.sails}


def _plans(boat: str) -> dict[str, TicketPlan]:
    return {p.station: p for p in ticket_plan(_sails()[boat], skerling.house().pattern)}


def test_stations_and_their_steps_in_the_patterns_order() -> None:
    plans = _plans("Heron")
    assert list(plans) == ["cutter", "sewer", "finisher"]
    assert [s.operation for s in plans["cutter"].steps] == ["cutting_file", "lay_and_cut", "sort_panels"]
    assert [s.operation for s in plans["sewer"].steps] == [
        "stick_seams", "sew_seams", "spread_and_fair", "corner_patches", "cunningham_patch", "window", "pocket_short", "pocket_full",
        "tabling", "luff_tape",
    ]  # fmt: skip
    assert [s.operation for s in plans["finisher"].steps] == [
        "headboard", "rings", "numbers", "insignia", "tell_tales", "battens", "measure", "royalty_label", "inspect_and_pack",
    ]  # fmt: skip


def test_the_desk_and_the_unplanned_have_no_ticket() -> None:
    every = {s.operation for p in _plans("Heron").values() for s in p.steps}
    assert not {"check_and_confirm", "unplanned"} & every


def test_what_is_not_chosen_is_no_step() -> None:
    assert "window" not in {s.operation for s in _plans("Dipper")["sewer"].steps}


def test_only_the_numbers_wait_for_the_number() -> None:
    waiting = {s.operation for p in _plans("Linnet").values() for s in p.steps if s.needs_number}
    assert waiting == {"numbers"}
    assert not any(s.needs_number for p in _plans("Heron").values() for s in p.steps)


def test_minutes_carry_the_share_of_the_lays_set_up() -> None:
    """8 min of set-up shared by three sails of one cloth: 2.667, 2.667, 2.666; the rest is 1.2 min a square metre."""
    laid = {boat: _plans(boat)["cutter"].steps[1] for boat in ("Heron", "Dipper", "Linnet")}
    own = {boat: next(o for o in _sails()[boat].operations if o.operation == "lay_and_cut").own_min for boat in laid}
    assert sum(step.minutes for step in laid.values()) - sum(own.values()) == 8
    assert laid["Heron"].how.endswith("2.667 min of 8 min set-up of the lay")
    assert laid["Heron"].caution.startswith("Rolls: two people or a trolley")


def test_a_step_that_the_pattern_does_not_name_comes_before_what_follows_it_in_the_house() -> None:
    """Nothing is sewn on after the last inspection; what the house has last stays last."""
    own = skerling.house().pattern
    without = replace(own, steps=tuple(step for step in own.steps if step not in ("numbers", "tell_tales")))
    plans = {p.station: [s.operation for s in p.steps] for p in ticket_plan(_sails()["Heron"], without)}
    assert plans["finisher"] == [
        "headboard", "rings", "numbers", "insignia", "tell_tales", "battens", "measure", "royalty_label", "inspect_and_pack",
    ]  # fmt: skip
    assert placed(("measure", "bag"), ("measure",)) == ("measure", "bag")
