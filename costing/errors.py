"""The errors of the calculation.

CostingError
├── InputError        one or more problems in what was asked, all found at once
├── CannotDetermine   the rule does not say enough to give a number
└── CostingBug        a check of our own arithmetic failed; never the reader's fault
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong: where it is, what it is and what would be right.

    path: dotted, with indexes, for example ``sails[3].half_width``; code: short and stable, for programs.
    """

    path: str
    code: str
    message: str


class CostingError(Exception):
    """Anything that the calculation refuses."""


class InputError(CostingError):
    """What was asked cannot be computed; carries every problem found, not the first."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("; ".join(f"{p.path}: {p.message}" for p in self.problems))


class CannotDetermine(CostingError):
    """The class rule leaves open what would be needed to give a number."""


class CostingBug(CostingError):
    """A self-check failed: totals that do not add up, a lay that does not hold."""


def problem(path: str, code: str, message: str) -> InputError:
    """An InputError that carries one problem."""
    return InputError((Problem(path, code, message),))


class Collector:
    """Gathers problems from several checks, so that all are reported at once."""

    def __init__(self) -> None:
        self._problems: list[Problem] = []

    def __iter__(self) -> Iterator[Problem]:
        return iter(self._problems)

    def __bool__(self) -> bool:
        return bool(self._problems)

    def add(self, path: str, code: str, message: str) -> None:
        self._problems.append(Problem(path, code, message))

    def extend(self, problems: Iterable[Problem]) -> None:
        self._problems.extend(problems)

    @contextmanager
    def under(self, prefix: str) -> Iterator[None]:
        """Collect an InputError raised inside the block, its paths put below `prefix`."""
        try:
            yield
        except InputError as error:
            for p in error.problems:
                path = ".".join(piece for piece in (prefix, p.path) if piece)
                self._problems.append(Problem(path, p.code, p.message))

    def raise_if_any(self) -> None:
        """Raise one InputError with everything gathered, if there is anything."""
        if self._problems:
            raise InputError(self._problems)


def nearest(asked: str, known: Iterable[str], *, alike: float = 0.6) -> str:
    """The one of `known` that looks most like a word, capitals aside; empty when none is `alike` (0 to 1, 1 the same)."""
    folded = {word.casefold(): word for word in known}
    close = get_close_matches(asked.casefold(), tuple(folded), n=1, cutoff=alike)
    return folded[close[0]] if close else ""


def did_you_mean(asked: str, known: Iterable[str], *, listed: bool = True) -> str:
    """The end of a message on a word that is not known: the nearest one that is. listed: where none is near, all that there are."""
    known = tuple(dict.fromkeys(known))
    if near := nearest(asked, known):
        return f"; did you mean {near}?"
    return f"; there are {', '.join(known) or 'none yet'}" if listed else ""
