"""What is hard to believe in a customer's list: each size against class, pattern and the boat's own rig, settled by somebody's name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from costing import quote
from costing.errors import InputError, Problem
from costing.quote import SailRequest
from costing.quote.design import shaped
from costing.quote.wanted import number_of
from costing.rules import doubts
from loft.customers import measuring
from loft.customers.boats_csv import BoatRow

#: The edge of the sail that goes with each band of the spars.
_EDGES = {"mast_band_distance": "luff_length", "boom_band_distance": "foot_length"}


#: The rig as it is on record, by the path of a list's row.
Record = Mapping[str, Mapping[str, measuring.OnRecord]]


def on_record(rows: Sequence[BoatRow], house: quote.House) -> Record:
    """What is on record of the boats of those rows that give sizes of the rig; one query where there are some."""
    rigged = [row.sail for row in rows if any(name in row.sail.sizes for name in measuring.RIG)]
    if not rigged:
        return {}
    sails = [(sail.sail_number, sail.boat, sail.owner) for sail in rigged]
    stored = measuring.known_rigs(class_code=house.class_rule.code, sails=sails)
    return {sail.path: known for sail, known in zip(rigged, stored, strict=True)}


def with_record(sail: SailRequest, record: Record) -> SailRequest:
    """The sail with how its boat's rig was measured, where the list says what is on record."""
    known = record.get(sail.path, {})
    return replace(sail, measured={name: known[name].how for name, mm in sail.sizes.items() if name in known and known[name].mm == mm})


def found_in(rows: Sequence[BoatRow], house: quote.House, record: Record) -> dict[str, tuple[Problem, ...]]:
    """The doubts of each row that has some, by the row's path."""
    codes = {p.code for p in house.patterns}
    measured = [row for row in rows if row.sail.sizes and row.sail.pattern in ("", *codes)]
    known = _rigs(measured, house, record) if any(band in row.sail.sizes for row in measured for band in measuring.BANDS) else {}
    found = {}
    for row in measured:
        own = house.making(row.sail.pattern).pattern
        told = doubts(own.sail_kind, row.sail.sizes, rig=known.get(row.sail.path, {}))
        if told:
            found[row.sail.path] = told
    for path, told_of_number in _one_boat_a_number(rows):
        found[path] = (*found.get(path, ()), told_of_number)
    return found


def _one_boat_a_number(rows: Sequence[BoatRow]) -> Iterator[tuple[str, Problem]]:
    """The rows of a list whose number an earlier row gives to a boat of another name, by path."""
    first: dict[str, BoatRow] = {}
    for row in rows:
        if number := number_of(row.sail):
            other = first.setdefault(number, row).sail
            if other.boat.strip().casefold() != row.sail.boat.strip().casefold():
                message = f"sail number {number} is {other.boat}'s in {other.path} and {row.sail.boat}'s here: a number is one boat's"
                yield row.sail.path, Problem("sail_number", "other_boat", message)


def beside(error: InputError, found: Mapping[str, Sequence[Problem]]) -> InputError:
    """The problems of a list with its doubts: what was swapped or read in inches is often what makes a sail impossible."""
    doubted = [Problem(f"{path}.{p.path}", p.code, p.message) for path, several in found.items() for p in several]
    places = {(p.path, p.code) for p in doubted}  # a doubt knows the boat's own rig
    return InputError((*(p for p in error.problems if (p.path, p.code) not in places), *doubted))


def in_words(found: Mapping[str, Sequence[Problem]], sails: Sequence[quote.PricedSail]) -> tuple[str, ...]:
    """The same as sentences that name the sail."""
    labels = {sail.path: sail.label for sail in sails}
    return tuple(f"{path}, {labels[path]}: {p.message}" for path, several in found.items() for p in several)


def _rigs(rows: Sequence[BoatRow], house: quote.House, record: Record) -> dict[str, dict[str, Decimal]]:
    """P and E that each row's should be near: the pattern's, in place of it the class's, in place of that the boat's own."""
    of_class, found = measuring.class_rig(house.class_rule.code), {}
    for path, sail in ((row.sail.path, row.sail) for row in rows):
        own = {name: known.mm for name, known in record.get(path, {}).items() if name in measuring.BANDS}
        found[path] = {**_of_pattern(sail, house), **of_class, **own}
    return found


def _of_pattern(sail: SailRequest, house: quote.House) -> dict[str, Decimal]:
    """The spars that the pattern's own luff and foot go with: its finished edge and what that stays short of the band."""
    own = house.making(sail.pattern)
    try:
        sizes = {t.measurement: t.value for t in shaped(own).targets}
    except InputError:
        return {}
    relax = own.pattern.relax
    return {band: sizes[edge] + relax[edge] for band, edge in _EDGES.items() if edge in sizes and edge in relax}
