"""Canonical bytes and back."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest

from costing.cloth import Orientation
from costing.errors import InputError
from costing.measurements import SailKind
from costing.quote import BatchResult, freeze_batch, freeze_design, price_batch, snapshot, thaw_batch, thaw_design
from costing.work import Station
from tests import skerling


@cache
def _result() -> BatchResult:
    request = replace(skerling.batch(), sails=skerling.batch().sails[:5])
    return price_batch(request, skerling.house(), on=skerling.PRICED_ON)


def test_a_batch_comes_back_equal_and_freezes_to_the_same_bytes() -> None:
    data = freeze_batch(_result().batch)
    thawed = thaw_batch(data)
    assert thawed == _result().batch
    assert freeze_batch(thawed) == data


def test_kinds_come_back_as_themselves_not_as_text() -> None:
    thawed = thaw_batch(freeze_batch(_result().batch))
    assert type(thawed.sail_kind) is SailKind
    assert {type(o.station) for s in thawed.sails for o in s.operations} == {Station}
    design = thaw_design(freeze_design(next(iter(_result().designs.values()))))
    assert type(design.cloth.orientation) is Orientation


def test_a_sail_comes_back_equal() -> None:
    for sail in _result().batch.sails:
        assert snapshot.thaw_sail(snapshot.freeze_sail(sail)) == sail


def test_a_design_comes_back_equal_and_freezes_to_the_same_bytes() -> None:
    for design in _result().designs.values():
        data = freeze_design(design)
        thawed = thaw_design(data)
        assert thawed == design
        assert thawed.outline.luff[3] == design.outline.luff[3]
        assert freeze_design(thawed) == data


def test_what_the_bytes_look_like() -> None:
    data = freeze_batch(replace(_result().batch, customer="Żeglarz \u202e <b>", discount=Decimal("0.10")))
    plain = json.loads(data)
    assert plain["kind"] == "PricedBatch"
    assert plain["schema_version"] == 1
    assert plain["value"]["discount"] == "0.10"  # trailing zero kept
    assert plain["value"]["priced_on"] == "2026-03-02"
    assert plain["value"]["sail_kind"] == "mainsail"
    assert "Żeglarz".encode() in data
    assert list(plain["value"]) == sorted(plain["value"])
    assert b"\n" not in data
    assert data.startswith(b'{"kind":"PricedBatch","schema_version":1,"value":{"below_minimum":"STANDARD","buyer":"trade","by_eye":[{')


def test_decimals_keep_every_digit() -> None:
    for text in ("0.10", "1E+3", "12345678901234567890.12345678901234567890", "-0.0001"):
        batch = replace(_result().batch, discount=Decimal(text))
        assert str(thaw_batch(freeze_batch(batch)).discount) == text


def _changed(**change: object) -> bytes:
    plain = json.loads(freeze_batch(_result().batch))
    plain["value"] |= change
    return json.dumps(plain).encode()


@pytest.mark.parametrize(
    ("label", "data", "told"),
    [
        ("empty", b"", "not the JSON"),
        ("no text", b"\xff\xfe\x00", "not the JSON"),
        ("JSON of something else", b"[1, 2]", "exactly kind, schema_version and value"),
        ("a key too many", b'{"kind": "PricedBatch", "schema_version": 1, "value": {}, "x": 1}', "exactly kind"),
        ("another kind", b'{"kind": "Design", "schema_version": 1, "value": {}}', "'PricedBatch' was expected"),
        ("a version of the future", b'{"kind": "PricedBatch", "schema_version": 99, "value": {}}', "schema version 99 is not one of 1"),
        ("nothing inside", b'{"kind": "PricedBatch", "schema_version": 1, "value": {}}', "does not hold together"),
    ],
)
def test_nonsense_is_refused(label: str, data: bytes, told: str) -> None:
    with pytest.raises(InputError) as refused:
        thaw_batch(data)
    (problem,) = refused.value.problems
    assert (problem.path, problem.code) == ("snapshot", "not_a_snapshot"), label
    assert told in problem.message


@pytest.mark.parametrize(
    ("label", "change"),
    [
        ("money as a float", {"discount": 0.1}),
        ("not a number", {"discount": "NaN"}),
        ("no decimal", {"discount": "ten"}),
        ("a date that is none", {"priced_on": "2026-02-30"}),
        ("an unknown kind of sail", {"sail_kind": "parachute"}),
        ("text where a count belongs", {"valid_days": "30"}),
        ("null where text belongs", {"customer": None}),
        ("a field that is not ours", {"colour": "red"}),
        ("totals that do not add up", {"totals": {"net": "1.00", "taxes": [], "tax": "0", "gross": "1.00", "deposit": "0"}}),
    ],
)
def test_a_tampered_snapshot_is_refused(label: str, change: dict[str, object]) -> None:
    with pytest.raises(InputError, match="does not hold together"):
        thaw_batch(_changed(**change))


def test_bytes_of_a_batch_are_no_design() -> None:
    with pytest.raises(InputError, match="'Design' was expected"):
        thaw_design(freeze_batch(_result().batch))


def test_geometry_that_is_no_number_is_refused() -> None:
    design = next(iter(_result().designs.values()))
    plain = json.loads(freeze_design(design))
    plain["value"]["outline"]["luff"][0] = ["0", 0.0]
    with pytest.raises(InputError, match="does not hold together"):
        thaw_design(json.dumps(plain).encode())
