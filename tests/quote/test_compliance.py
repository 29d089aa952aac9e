"""Designs against limits: which value is compared, and what stands on paper."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.errors import Collector
from costing.measurements import Corner, SailKind
from costing.quote import compliance
from costing.rules import Limit, SailRule


def _limit(measurement: str, low: str | None, high: str | None, corner: Corner | None = None) -> Limit:
    return Limit(measurement, "C.1", low and Decimal(low), high and Decimal(high), "", corner)  # type: ignore[arg-type]


def _rule(*limits: Limit) -> SailRule:
    return SailRule(SailKind.MAINSAIL, limits)


@pytest.mark.parametrize(
    ("label", "limit", "measured", "paper"),
    [
        ("a maximum is never rounded up", _limit("luff_length", None, "5230"), 5219.96, "5219.9"),
        ("nor by float noise down", _limit("luff_length", None, "5230"), 5219.9999999, "5220.0"),
        ("a minimum alone is never rounded down", _limit("luff_length", "5000", None), 5219.91, "5220.0"),
        ("no limit: half up", _limit("half_width", "1", None), 5219.95, "5220.0"),
    ],
)
def test_on_paper(label: str, limit: Limit, measured: float, paper: str) -> None:
    assert dict(compliance.on_paper({"luff_length": measured}, _rule(limit))) == {"luff_length": Decimal(paper)}, label


VALUES = {
    ("primary_reinforcement_size", Corner.HEAD): (Decimal(300),), ("primary_reinforcement_size", Corner.CLEW): (Decimal(325),),
    ("batten_pocket_length", None): (Decimal(612), Decimal(967)),
}  # fmt: skip


@pytest.mark.parametrize(
    ("label", "limit", "value", "room"),
    [
        ("one limit for all corners: the largest patch", _limit("primary_reinforcement_size", None, "330"), 325, 5),
        ("a limit of one corner: that patch", _limit("primary_reinforcement_size", None, "330", Corner.HEAD), 300, 30),
        ("several pockets, a maximum: the longest", _limit("batten_pocket_length", None, "1000"), 967, 33),
        ("several pockets, a minimum: the shortest", _limit("batten_pocket_length", "600", None), 612, 12),
    ],
)
def test_the_value_with_the_least_room_is_compared(label: str, limit: Limit, value: int, room: int) -> None:
    (found,) = compliance.compare_all(_rule(limit), VALUES)
    assert (found.value, found.room) == (value, room), label


def test_a_limit_without_a_value_is_left_out() -> None:
    assert compliance.compare_all(_rule(_limit("primary_reinforcement_size", None, "330", Corner.TACK)), VALUES) == ()


def test_a_breach_is_told_with_its_rule() -> None:
    wrong = Collector()
    rule = _rule(_limit("batten_pocket_length", None, "950"))
    compliance.check_headroom(rule, compliance.compare_all(rule, VALUES), wrong)
    assert [(p.path, p.code) for p in wrong] == [("batten_pocket_length", "outside_maximum")]
    (problem,) = wrong
    assert "967 mm is 17 mm over the maximum of 950 mm (C.1)" in problem.message


def test_equal_to_the_limit_is_inside() -> None:
    rule = _rule(_limit("batten_pocket_length", None, "967"))
    wrong = Collector()
    compliance.check_headroom(rule, compliance.compare_all(rule, VALUES), wrong)
    assert not wrong
