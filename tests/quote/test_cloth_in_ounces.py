"""A cloth of seven ounces under rules that print ounces, grams or both: compared unrounded, by the unit that the file gives."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.quote import BatchRequest, SailRequest, price_batch
from costing.rules import Limit
from loft.common import measures
from tests import skerling

SEVEN = measures.parse_cloth_weight("7 oz").gsm


def priced(minimum: Decimal, printed: str) -> None:
    """A main of DW170 as if that weighed 7 oz, where the class wants at least so much."""
    house = skerling.house()
    main, *others = house.class_rule.sails
    limit = Limit("cloth_weight", "C.6.2 (c)", minimum, None, printed)
    rule = replace(main, limits=(*(x for x in main.limits if x.measurement != "cloth_weight"), limit))
    cloths = {**house.cloths, "DW170": replace(house.cloths["DW170"], gsm=float(SEVEN))}
    house = replace(house, class_rule=replace(house.class_rule, sails=(rule, *others)), cloths=cloths)
    sail = SailRequest("row 2", "Heron", "Maud Pellow", "214")
    price_batch(BatchRequest("C", "trade", (sail,)), house, on=skerling.PRICED_ON)


def test_seven_ounces_are_seven_ounces() -> None:
    """Kept as a float the weight is 4e-15 below the exact 299.798188...: that is no breach."""
    assert Decimal(str(float(SEVEN))) < SEVEN
    priced(SEVEN, "7 oz")


def test_a_rule_that_prints_both_is_compared_as_its_file_says_and_told_with_both_numbers() -> None:
    with pytest.raises(InputError) as raised:
        priced(Decimal(300), "7 oz (300 g/m2)")
    assert [(p.path, p.code) for p in raised.value.problems] == [("row 2.cloth", "cloth_too_light")]
    assert raised.value.problems[0].message == (
        "DW170 weighs 299.798 g/m2; the class asks for at least 300 g/m2 (C.6.2 (c)), printed '7 oz (300 g/m2)': 0.202 g/m2 off. "
        "Limits are compared unrounded; where the rule's own unit is the ounce, load it so: "
        'minimum = "7 oz" is 299.798 g/m2, and printed may still say both'
    )
