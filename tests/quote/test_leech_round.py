"""A rule that the leech may not be convex beyond a straight line: answered from the outline, on paper with its rule and room."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing import sail
from costing.errors import InputError
from costing.quote import Design
from costing.rules import LeechPoint, Limit, Station
from loft.documents import quote_pdf
from tests.documents import reading, sample
from tests.quote import test_reefs

D = Decimal
BETWEEN = Station(between=(LeechPoint.AFT_HEAD, LeechPoint.HALF))
ROUND = Limit("leech_round", "C.6.3 (k)", None, D(120), "120 mm", station=BETWEEN)


def made(limit: Limit) -> Design:
    return test_reefs.made(test_reefs.LUFF, test_reefs.LEECH, limits=(limit,))[1]


def test_it_is_compared_as_the_outline_has_it() -> None:
    design = made(ROUND)
    (room,) = (r for r in design.headroom if r.limit.measurement == "leech_round")
    assert float(room.value) == pytest.approx(sail.leech_round(design.outline, *BETWEEN.between), abs=0.001)  # type: ignore[misc]
    assert room.room == 120 - room.value > 0 and room.value > 10


def test_a_leech_that_must_be_straight_is_refused_on_a_sail_with_roach() -> None:
    with pytest.raises(InputError) as refused:
        made(replace(ROUND, maximum=D(0)))
    ((path, code, message),) = ((p.path, p.code, p.message) for p in refused.value.problems)
    assert (path.rpartition(".")[2], code) == ("leech_round", "outside_maximum")
    assert "leech outside a straight line aft head point to half leech point" in message.lower() and "(C.6.3 (k))" in message


def test_it_stands_on_the_quote_with_its_points() -> None:
    one, design = test_reefs.made(test_reefs.LUFF, test_reefs.LEECH, limits=(ROUND,))
    doc = sample.quote_document()
    text = reading.text(quote_pdf(replace(doc, batch=replace(doc.batch, sails=(one,)), designs={design.key: design})))
    assert "Leech outside a straight line, aft head point to half leech point max 120" in text
