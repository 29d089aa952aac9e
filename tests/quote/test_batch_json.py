"""The structure that other programs read."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from functools import cache
from typing import Any

from costing.quote import BatchResult, batch_as_json, price_batch
from tests import skerling


@cache
def _result() -> BatchResult:
    wanted = tuple(s for s in skerling.batch().sails if s.boat in ("Heron", "Lapwing", "Linnet"))
    return price_batch(replace(skerling.batch(), sails=wanted), skerling.house(), on=skerling.PRICED_ON)


@cache
def _read() -> Any:
    return json.loads(batch_as_json(_result().batch, _result().designs))


def test_head() -> None:
    plain = _read()
    assert (plain["format"], plain["version"]) == ("priced-batch", 2)
    assert list(plain) == ["format", "version", "batch", "sails", "designs", "totals", "warnings", "doubts"]
    assert plain["batch"]["class"] == {"code": "SK13", "name": "Skerling 13", "edition": "2025", "edition_from": "2025-03-01"}
    assert plain["batch"]["pattern"] == {"code": "SK13-MAIN", "version": 3, "name": "Skerling 13 mainsail, cross-cut"}
    assert (plain["batch"]["priced_on"], plain["batch"]["currency"]) == ("2026-03-02", "GBP")


def test_every_price_can_be_followed_to_the_total_from_the_file_alone() -> None:
    plain = _read()
    net = Decimal(0)
    for sail in plain["sails"]:
        for line in sail["cost_lines"]:
            assert abs(Decimal(line["quantity"]) * Decimal(line["unit_cost"]) - Decimal(line["amount"])) <= Decimal("0.005")
        own = sum(Decimal(x["amount"]) for x in sail["cost_lines"] if x["group"] != "pass-through")
        assert own == Decimal(sail["cost"])
        net += sum(Decimal(item["net"]) for item in sail["price"])
    totals = plain["totals"]
    assert net == Decimal(totals["net"])
    assert net + Decimal(totals["tax"]) == Decimal(totals["gross"])


def test_a_sail_points_to_its_design_and_the_design_says_what_it_is() -> None:
    plain = _read()
    lapwing = next(s for s in plain["sails"] if s["boat"] == "Lapwing")
    design = plain["designs"][lapwing["design"]]
    assert design["variant"] is True
    # 17 ft 1 in is asked: 17 x 304.8 + 25.4 = 5207 mm; the limit less the margin would be 5220
    assert {t["measurement"]: (t["value"], t["decided_by"]) for t in design["targets"]}["luff_length"] == ("5207", "boat")
    assert design["measurements"]["luff_length"] == "5207.0"
    assert design["measurements"]["half_width"] == "1445.0"
    assert len(design["panels"]) == len([p for p in design["parts"] if p["kind"] == "panel"])
    assert {p["part"] for lay in design["lays"] for p in lay["placements"]} == {p["id"] for p in design["parts"]}


def test_a_number_to_follow_is_null() -> None:
    linnet = next(s for s in _read()["sails"] if s["boat"] == "Linnet")
    assert linnet["sail_number"] is None
    assert linnet["numbers"] is None
    assert linnet["assumed"] == ["Sail number to follow: reckoned with 3 characters a side"]


def test_equal_batches_give_equal_bytes() -> None:
    again = dict(reversed(list(_result().designs.items())))
    assert batch_as_json(_result().batch, again) == batch_as_json(_result().batch, _result().designs)
