"""Up to which step a part of a sail may be changed, and what a change leaves as it was agreed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.quote import BatchResult, Pattern, SailRequest, changes, price_batch
from costing.quote.changes import Progress, Verdict
from costing.quote.request import BatchRequest
from tests import skerling

HOUSE = skerling.house()
DAY = skerling.PRICED_ON
PARTS = {part.column: part for part in changes.parts(HOUSE.pattern, HOUSE.labour)}


def priced(*sails: SailRequest) -> BatchResult:
    return price_batch(BatchRequest("Skerling Class Association", "trade", sails), HOUSE, on=DAY)


def boat(name: str, **fields: object) -> SailRequest:
    return SailRequest(path=f"row {name}", boat=name, owner=f"owner of {name}", sail_number=None, **fields)  # type: ignore[arg-type]


#: What settles each part, by how sails are made: a window's pane and a cunningham's patch are cut; tell-tales are put on by a step of
#: their own (trade practice, as in the work steps of the pattern file).
@pytest.mark.parametrize(
    ("column", "step"),
    [
        ("cloth", "lay_and_cut"), ("colour", "lay_and_cut"), ("sizes", "lay_and_cut"), ("luff_curve", "lay_and_cut"),
        ("options.window", "lay_and_cut"), ("options.cunningham", "lay_and_cut"), ("options.tell_tales", "tell_tales"),
        ("options.insignia", "insignia"), ("options.numbers", "numbers"), ("number_colour", "numbers"), ("note", "inspect_and_pack"),
    ],
)  # fmt: skip
def test_each_part_is_settled_by_the_step_that_makes_it(column: str, step: str) -> None:
    assert PARTS[column].step == step


def test_what_the_class_requires_or_forbids_is_no_choice() -> None:
    columns = [part.column for part in changes.choices(HOUSE.pattern, HOUSE.labour)]
    assert [c for c in columns if c.startswith("options.")] == [f"options.{c}" for c in ("window", "cunningham", "tell_tales", "insignia")]
    assert len(PARTS) - len(columns) == 2  # numbers are required and a reef is forbidden


def test_a_pattern_may_say_so_itself() -> None:
    def told(pattern: Pattern) -> Pattern:
        options = tuple(replace(o, made_in="window", free_until="cutting_file") if o.code == "window" else o for o in pattern.options)
        return replace(pattern, options=options)

    found = {part.column: part for part in changes.parts(told(HOUSE.pattern), HOUSE.labour)}["options.window"]
    assert (found.step, found.free_until) == ("window", "cutting_file")
    assert changes.verdict(found, Progress(released=True, begun={})) is Verdict.FREE
    assert changes.verdict(found, Progress(released=True, begun={"cutting_file": "Monday", "lay_and_cut": "Monday"})) is Verdict.CHARGED
    assert changes.verdict(found, Progress(released=True, begun={"window": "Monday"})) is Verdict.TOO_LATE


@pytest.mark.parametrize(
    ("label", "progress", "window", "tell_tales"),
    [
        ("held", Progress(False, {}), "free", "free"),
        ("released", Progress(True, {}), "charged", "charged"),
        ("the file is prepared", Progress(True, {"cutting_file": "Monday"}), "charged", "charged"),
        ("cut", Progress(True, {"lay_and_cut": "Monday"}), "too late", "charged"),
        ("finished", Progress(True, {}, over="the sail is ready"), "too late", "too late"),
    ],
)
def test_free_before_release_charged_until_the_step_and_too_late_after(
    label: str, progress: Progress, window: str, tell_tales: str
) -> None:
    found = [changes.verdict(PARTS[f"options.{code}"], progress).value for code in ("window", "tell_tales")]
    assert found == [window, tell_tales], label


def test_too_late_says_which_step_and_since_when() -> None:
    words = changes.too_late(PARTS["options.window"], Progress(True, {"lay_and_cut": "02 Mar 2026, 09:30"}), HOUSE.labour)
    assert words == "Window can no longer be changed: Load the roll, mark and cut began on 02 Mar 2026, 09:30"


def test_what_differs_is_named_and_nothing_that_merely_follows() -> None:
    old = priced(boat("Heron", options=frozenset({"window"}), colour="white"))
    new = priced(boat("Heron", declined=frozenset({"tell_tales"}), colour="white", note="red bag", sizes={"luff_length": Decimal(5210)}))
    (was,), (now,) = old.batch.sails, new.batch.sails
    found = changes.differences(
        (was, old.designs[was.design_key]), (now, new.designs[now.design_key]), HOUSE.pattern, HOUSE.labour
    )  # fmt: skip
    assert {d.part.column: (d.before, d.after) for d in found if d.part.column != "sizes"} == {
        "note": ("", "red bag"), "options.window": ("yes", "no"), "options.tell_tales": ("yes", "no"),
    }  # fmt: skip
    assert next(d.after for d in found if d.part.column == "sizes").startswith("luff length 5,210 mm")


def test_a_change_leaves_every_other_sail_and_the_deposit_to_the_last_figure() -> None:
    agreed = priced(boat("Heron"), boat("Linnet")).batch
    dearer = replace(HOUSE, labour=replace(HOUSE.labour, rate_per_paid_hour=Decimal(60)))
    sails = (boat("Heron"), boat("Linnet", options=frozenset({"window"})))
    anew = price_batch(BatchRequest("Skerling Class Association", "trade", sails), dearer, on=DAY).batch
    found = changes.changed_batch(agreed, anew, changed=(1,), charged=(1,), order="O-0001", house=HOUSE)
    assert found.sails[0] == agreed.sails[0]
    assert (found.sails[1].chosen, found.totals.deposit, found.change_of) == (anew.sails[1].chosen, agreed.totals.deposit, "O-0001")
    fee = HOUSE.change_fee
    assert fee == Decimal("18.00")
    assert found.sails[1].net == anew.sails[1].net + fee
    assert found.totals.net == agreed.sails[0].net + anew.sails[1].net + fee
    assert found.totals.tax == (found.totals.net * Decimal("0.2")).quantize(Decimal("0.01"))


def test_a_fee_of_an_earlier_change_stays_and_a_free_change_adds_none() -> None:
    agreed = priced(boat("Heron")).batch
    anew = priced(boat("Heron", options=frozenset({"window"}))).batch
    first = changes.changed_batch(agreed, anew, changed=(0,), charged=(0,), order="O-0001", house=HOUSE)
    again = changes.changed_batch(first, agreed, changed=(0,), charged=(), order="O-0001", house=HOUSE)
    assert [f.net for f in again.sails[0].change_fees] == [Decimal("18.00")]
    assert again.totals.net == agreed.totals.net + Decimal("18.00")
