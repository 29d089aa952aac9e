"""The designs of a batch: each sail's inputs, identical ones computed once, problems put under every sail that has them."""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Iterator, Mapping, MutableMapping, Sequence
from contextlib import contextmanager

from costing import sail
from costing.errors import Collector, InputError, Problem
from costing.quote import colours, design, pattern_rows
from costing.quote.luff import check_luff_curve
from costing.quote.priced import Design
from costing.quote.request import House
from costing.quote.wanted import Wanted
from costing.rules.misread import BANDS
from costing.rules.plausible import in_words, label
from costing.sail.shape import SailShape

_OF_PATTERN = ("make", "panels", "pattern")  # how the paths of what is the pattern's doing begin


def design_sails(wanted: Sequence[Wanted], house: House, known: Mapping[str, Design], wrong: Collector) -> tuple[Design, ...]:
    """The design of each sail, in order; fewer than sails when `wrong` got problems."""
    base: dict[str, SailShape | None] = {}
    cache: ChainMap[str, Design] = ChainMap({}, known)  # type: ignore[arg-type]  # known is only read, when it is asked for
    refused: dict[tuple[str, bool], InputError] = {}
    found, of_patterns = [], dict[Problem, list[str]]()
    for one in wanted:
        own = house.making(one.request.pattern)
        code = own.pattern.code
        if code not in base:
            base[code] = _base_shape(own)
        try:
            found.append(_designed(one, own, base[code], cache, refused))
        except InputError as error:
            for p in error.problems:
                if p.path.startswith(_OF_PATTERN):
                    of_patterns.setdefault(p, []).append(one.request.path)
                else:
                    wrong.add(".".join(piece for piece in (one.request.path, p.path) if piece), p.code, p.message)
    for p, rows in of_patterns.items():  # told once for the rows that it stands against, as a whole batch may share a pattern
        others = f"; the same stands against {', '.join(rows[1:])}" if rows[1:] else ""
        wrong.add(".".join(piece for piece in (rows[0], p.path) if piece), p.code, p.message + others)
    return tuple(found)


def _base_shape(house: House) -> SailShape | None:
    """The pattern's own shape, None where it leaves sizes to the boat: then every sail is a variant."""
    try:
        return design.shaped(house).shape
    except InputError:
        return None


def _designed(
    one: Wanted, house: House, base: SailShape | None, cache: MutableMapping[str, Design], refused: dict[tuple[str, bool], InputError]
) -> Design:  # fmt: skip
    problems = Collector()
    if one.request.luff_curve is not None:
        check_luff_curve(one.request.luff_curve, house.pattern.luff_curve, problems)
    with problems.under(""):
        shaped = design.shaped(house, one.request)
    problems.raise_if_any()
    if one.cloth is None:  # already refused; the sizes are tried all the same, so that all is said at once
        with _at_its_spar(shaped):
            sail.outline(shaped.shape)
        raise InputError(())
    given = design.inputs(house, shaped, base, one.cloth, one.options, colours.slots_in(one.colour))
    key, non_class = given.key, one.request.non_class
    if (key, non_class) in refused:
        raise refused[key, non_class]
    try:
        if key not in cache:
            with _at_its_spar(shaped), _of_pattern(house):
                cache[key] = design.compute(given, non_class=non_class)
        elif not non_class:  # it may have been made for a NON-CLASS sail
            design.refuse_outside(given.rule, cache[key].headroom)
    except InputError as error:
        refused[key, non_class] = error
        raise
    return cache[key]


@contextmanager
def _at_its_spar(shaped: design.Shaped) -> Iterator[None]:
    """Put edges that make no triangle to the spar that one of them follows from: the customer wrote that, and not the edge."""
    spars = {t.measurement: t for t in shaped.targets if t.decided_by == "spar"}
    try:
        yield
    except InputError as error:
        wrong = [p for p in error.problems if p.code == "no_triangle"]
        if not spars or not wrong:
            raise
        of_spar = {edge: band for band, edge in BANDS.items()}
        told = "; ".join(f"the {label(t.measurement)} comes to {in_words(t.value)}, {t.reason}" for t in spars.values())
        others = tuple(p for p in error.problems if p not in wrong)
        moved = (Problem(of_spar[edge], p.code, f"{told}: {label(p.path)} {p.message}") for edge in spars for p in wrong[:1])
        raise InputError((*moved, *others)) from error


@contextmanager
def _of_pattern(house: House) -> Iterator[None]:
    """Say whose making is wrong, at its row in that pattern's file, where a list may be made by several patterns."""
    try:
        yield
    except InputError as error:
        whose = f"pattern {house.pattern.code} version {house.pattern.version}: "
        raise InputError(
            Problem(pattern_rows.in_file(p.path, house.pattern), p.code, whose + p.message) if p.path.startswith(_OF_PATTERN) else p
            for p in error.problems
        ) from error
