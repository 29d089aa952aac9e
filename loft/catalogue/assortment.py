"""What suppliers sell on a day, and what they have stopped selling: from the lists up to that day, without a look at anything else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from costing.cloth import Cloth
from costing.prices import Gone
from loft.catalogue.formats import PriceFile


@dataclass(frozen=True, slots=True)
class Assortment:
    """files: the list of each supplier that is in force; gone: what nobody sells any more.

    cloths: as the newest list that describes them does, those of old lists too, so that a discontinued cloth can be compared.
    """

    files: tuple[PriceFile, ...]
    cloths: Mapping[str, Cloth]
    gone: tuple[Gone, ...]


def assortment(lists: Iterable[PriceFile], on: date) -> Assortment:
    """The assortment of a day, from every list whose first day is not after it."""
    chains: dict[str, list[PriceFile]] = {}
    for file in sorted(lists, key=lambda f: (f.prices.supplier, f.prices.valid_from)):
        chains.setdefault(file.prices.supplier, []).append(file)
    newest = tuple(chain[-1] for chain in chains.values())
    files = tuple(f for f in newest if f.prices.valid_to is None or f.prices.valid_to >= on)
    older = [file for chain in chains.values() for file in chain]
    cloths = {cloth.code: cloth for file in (*older, *newest) for cloth in file.cloths}
    return Assortment(files, cloths, tuple(_gone(chains.values(), files)))


def gone_between(before: PriceFile, after: PriceFile) -> tuple[tuple[str, str], ...]:
    """(material, colour) of what a supplier's list had and the next has not; colour empty: all of the material.

    Only what had a price can go: a cloth that was described alone was never sold from the list.
    """
    sold = {row.material for row in after.prices.rows}
    was, now = _colours(before), _colours(after)
    gone = [(row.material, "") for row in before.prices.rows if row.material not in sold]
    for row in before.prices.rows:
        if row.material in sold & was.keys() & now.keys():
            kept = {colour.casefold() for colour in now[row.material]}
            gone += [(row.material, colour) for colour in was[row.material] if colour.casefold() not in kept]
    return tuple(gone)


def _colours(file: PriceFile) -> dict[str, tuple[str, ...]]:
    return {cloth.code: cloth.colours for cloth in file.cloths}


def _gone(chains: Iterable[Sequence[PriceFile]], in_force: Sequence[PriceFile]) -> Iterable[Gone]:
    """The last time that each thing went, unless somebody sells it again."""
    sold = {row.material for file in in_force for row in file.prices.rows}
    comes_in = {(c.code, colour.casefold()) for file in in_force for c in file.cloths for colour in c.colours if c.code in sold}
    found: dict[tuple[str, str], Gone] = {}
    for chain in chains:
        for before, after in pairwise(chain):
            for code, colour in gone_between(before, after):
                head = after.prices
                found[code, colour] = Gone(code, colour, head.supplier, head.version, head.valid_from)
    for (code, colour), one in found.items():
        if (colour and (code, colour.casefold()) not in comes_in and code in sold) or (not colour and code not in sold):
            yield one
