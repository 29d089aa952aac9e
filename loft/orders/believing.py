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
from costing.rules.plausible import in_words as size_in_words
from costing.rules.plausible import label
from loft.customers import measuring
from loft.customers.boats_csv import TO_FOLLOW, BoatRow

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
        rig = known.get(row.sail.path, {})
        sizes, sources = {band: mm for band, (mm, _) in rig.items()}, {band: source for band, (_, source) in rig.items()}
        told = doubts(own.sail_kind, row.sail.sizes, rig=sizes, sources=sources)
        if told:
            found[row.sail.path] = told
    for path, told_of_number in (*_one_boat_a_number(rows), *_numbers_without_a_digit(rows)):
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


def _numbers_without_a_digit(rows: Sequence[BoatRow]) -> Iterator[tuple[str, Problem]]:
    """The rows whose number has no digit, which no class gives, by path."""
    for row in rows:
        number = number_of(row.sail)
        if number is not None and not any(c.isdigit() for c in number):
            swapped = any(c.isdigit() for c in row.sail.owner)
            asked = "do owner and number stand in each other's place?" if swapped else "is it the number?"
            message = f"the sail number {number!r} has no digit: {asked} Write “{TO_FOLLOW}” where it is not known yet"
            yield row.sail.path, Problem("sail_number", "no_digit", message)


def beside(error: InputError, found: Mapping[str, Sequence[Problem]]) -> InputError:
    """The problems of a list with its doubts: what was swapped or read in inches is often what makes a sail impossible."""
    doubted = [Problem(f"{path}.{p.path}", p.code, p.message) for path, several in found.items() for p in several]
    places = {(p.path, p.code) for p in doubted}  # a doubt knows the boat's own rig
    return InputError((*(p for p in error.problems if (p.path, p.code) not in places), *doubted))


def in_words(found: Mapping[str, Sequence[Problem]], sails: Sequence[quote.PricedSail]) -> tuple[str, ...]:
    """The same as sentences that name the sail."""
    labels = {sail.path: sail.label for sail in sails}
    return tuple(f"{path}, {labels[path]}: {p.message}" for path, several in found.items() for p in several)


#: A size of the rig that a boat's should be near to, and where it comes from, in words.
_Known = tuple[Decimal, str]


def _rigs(rows: Sequence[BoatRow], house: quote.House, record: Record) -> dict[str, dict[str, _Known]]:
    """P and E that each row's should be near: the pattern's, in place of it the class's, in place of that the boat's own."""
    of_class = {name: (mm, "that the class rules give") for name, mm in measuring.class_rig(house.class_rule.code).items()}
    found = {}
    for path, sail in ((row.sail.path, row.sail) for row in rows):
        recorded = ((name, known.mm) for name, known in record.get(path, {}).items() if name in measuring.BANDS)
        found[path] = {**_of_pattern(sail, house), **of_class, **{name: (mm, "on record of this boat") for name, mm in recorded}}
    return found


def _of_pattern(sail: SailRequest, house: quote.House) -> dict[str, _Known]:
    """The spars that the pattern's own luff and foot go with: its finished edge and what that stays short of the band."""
    own = house.making(sail.pattern)
    try:
        targets = {t.measurement: t for t in shaped(own).targets}
    except InputError:
        return {}
    found, relax = {}, own.pattern.relax
    for band, edge in _EDGES.items():
        if edge in targets and edge in relax:
            made = targets[edge]
            source = f"that goes with the pattern's {label(edge)} of {size_in_words(made.value)} ({made.reason}), which stays"
            source += f" {size_in_words(relax[edge])} short of the band"
            found[band] = (made.value + relax[edge], source)
    return found
