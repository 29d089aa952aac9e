"""Learning within a batch."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing import work
from costing.work import LabourStandards, OperationMinutes, Station

# T_n / T_1 of an 80 % curve: exact powers at the doublings; 0.7021 and 0.5956 for the third and fifth unit are the values of
# unit tables for the 80 % curve in operations textbooks (from memory; 3^log2(0.8) = 0.70210, 5^log2(0.8) = 0.59564).
EIGHTY = ((1, "1"), (2, "0.8"), (3, "0.7021"), (4, "0.64"), (5, "0.5956"), (8, "0.512"))


@pytest.mark.parametrize(("number", "fraction"), EIGHTY)
def test_wrights_rule(number: int, fraction: str) -> None:
    """T_n = T_1 n^(log2 r), T. P. Wright, Factors Affecting the Cost of Airplanes, 1936."""
    assert work.wright_factor(number, Decimal("0.8")).quantize(Decimal("0.0001")) == Decimal(fraction).quantize(Decimal("0.0001"))


def test_floor_and_off() -> None:
    assert work.wright_factor(1000, Decimal("0.95"), Decimal("0.85")) == Decimal("0.85")
    assert work.wright_factor(1000, Decimal(1)) == 1


def test_mean_of_a_batch() -> None:
    """Mean of the first four of the 80 % curve: (1 + 0.8 + 0.7021 + 0.64) / 4 = 0.78553."""
    assert work.mean_factor(4, Decimal("0.8")) == Decimal("0.7855")


@pytest.mark.parametrize(("number", "rate"), [(0, "0.9"), (1, "0"), (1, "1.01")])
def test_refuses_what_is_no_curve(number: int, rate: str) -> None:
    with pytest.raises(ValueError):
        work.wright_factor(number, Decimal(rate))


OPERATIONS = (
    OperationMinutes("sew", "Sew", Station.SEWER, Decimal(100), Decimal(0), Decimal(0), ""),
    OperationMinutes("check", "Check", Station.DESK, Decimal(6), Decimal(20), Decimal(0), ""),
)
STANDARDS = LabourStandards("2026", "2026-01-01", Decimal(30), Decimal("0.75"), Decimal(0), ())


def test_what_is_learned_is_an_operation_of_its_own() -> None:
    """Two sails at 90 %: the mean is (1 + 0.9) / 2 = 0.95, so 5 % of the 106 own minutes is saved; set-up is not learned."""
    *same, learning = work.learned(OPERATIONS, 2, replace(STANDARDS, learning_per_doubling=Decimal("0.9")))
    assert tuple(same) == OPERATIONS
    assert (learning.operation, learning.own_min, learning.order_min) == ("learning", Decimal("-5.300"), 0)


def test_off_by_default() -> None:
    assert work.learned(OPERATIONS, 40, STANDARDS) == OPERATIONS
