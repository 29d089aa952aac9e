"""The nesting library as the planner's `improve`: sections laid anew in child processes, and every answer checked before it counts.

Children are asked for all sections of the first lay that is offered, a few at a time, so that the planner finds most answers ready.
Each is a process group of its own and is killed as one when it is late or somebody asks to stop. Without the library the lay stays.
"""

from __future__ import annotations

import contextlib
import json
import logging
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import replace
from pathlib import Path

from costing import cloth
from costing.cloth import Cloth, Lay, Part, Table
from costing.cloth.anew import Loose, Spot, alone, loosened, settled
from costing.cloth.push import Jammed

_LOG = logging.getLogger(__name__)
_Answer = Future[tuple[Spot, ...] | None]

#: The child is late when it takes so much longer than asked: the library overruns, and Python has to start.
_LATE_S, _LATE_AN_ITEM_S = 4.0, 0.1
_LOOK_S = 0.05
#: A child needs so long to start and to answer; with less left for the library it is not asked.
_START_S, _LEAST_S = 0.4, 0.3
#: Two sections are laid as one when together they need no more than this share of the table by area.
_JOINED = 0.96
#: ... and are not much longer than one now.
_NEARLY_ONE = 1.08
#: What Python runs as the child.
CHILD = ("-m", "loft.workshop.nesting_child")
#: So few items are laid twice by one thread, as the measured single mains with filled windows (20 and 21) came out 0.4 % shorter so; the
#: same with their windows left alone (25 and 27) came out 0.3 and 1 % shorter by one try of two threads, and so did public instances.
_FEW = 24
_ROOT = Path(__file__).resolve().parents[2]


class Nesting:
    """An `Improve` for one lay of these sails, to be used once.

    seconds: its whole time; children: how many threads of the library work at once, each in a process of its own or, for fewer sections,
    several in one; tries: how often each section is laid, with another seed each time.
    """

    def __init__(
        self,
        sails: Mapping[str, Sequence[Part]],
        roll: Cloth,
        table: Table,
        *,
        seconds: float,
        children: int = 2,
        tries: int = 1,
        seed: int = 0,
        should_stop: Callable[[], bool] = lambda: False,
    ) -> None:
        self._sails, self._roll, self._table = sails, roll, table
        self._seconds, self._children, self._tries, self._seed = seconds, children, tries, seed
        self._should_stop = should_stop
        self._answers: dict[frozenset[tuple[str, str]], list[tuple[Loose, _Answer]]] = {}
        self._begun, self._stopped = False, threading.Event()

    def __call__(self, lay: Lay, number: int) -> Lay:
        """The lay with that section laid anew, or just as it was when nothing shorter came of it."""
        if not self._begun:
            self._begin(lay)
        best = lay
        for numbers in (range(number, number + 2), range(number, number + 1)):
            for loose, answer in self._answers.get(_who(lay, numbers), ()):
                spots = self._awaited(answer)
                if spots is not None:
                    best = min((best, self._settled(replace(loose, lay=lay, numbers=numbers), spots)), key=lambda found: found.length_mm)
        return best

    def _awaited(self, answer: _Answer) -> tuple[Spot, ...] | None:
        """Whether to stop is asked here alone: whoever answers may keep to one thread."""
        while not answer.done():
            if self._should_stop():
                self._stopped.set()
            wait((answer,), timeout=_LOOK_S)
        return answer.result()

    def _begin(self, lay: Lay) -> None:
        """Every section to a child, where most cloth is wasted first.

        Fewer sections than children are laid more than once when their items are few, else each with more threads.
        """
        self._begun = True
        tasks = sorted(self._tasks(lay), key=lambda loose: -_waste(loose))
        few = max(len(loose.items) for loose in tasks) <= _FEW
        tries = max(self._tries, self._children // len(tasks)) if few else self._tries
        children = min(self._children, tries * len(tasks))
        shares = _Shares(self._seconds, children, tries * sum(map(_waste, tasks)))
        pool = ThreadPoolExecutor(children)
        for again in range(tries):
            for loose in tasks:
                asked = pool.submit(_answered_in_time, loose, shares, self._seed + again, self._children // children, self._stopped)
                self._answers.setdefault(_who(lay, loose.numbers), []).append((loose, asked))
        pool.shutdown(wait=False)

    def _tasks(self, lay: Lay) -> Iterator[Loose]:
        number = 0
        while number < len(lay.sections):
            two = range(number, min(number + 2, len(lay.sections)))
            room = self._table.length_mm * lay.usable_width_mm
            loose = self._loosened(lay, range(number, number + 1))
            if len(two) > 1 and sum(lay.sections[n].length_mm for n in two) < _NEARLY_ONE * self._table.length_mm:
                both = self._loosened(lay, two)
                loose = both if both.area_mm2 < _JOINED * room else loose
            yield loose
            number = loose.numbers[-1] + 1

    def _loosened(self, lay: Lay, numbers: range) -> Loose:
        return loosened(lay, numbers, self._sails, self._roll, self._table)

    def _settled(self, loose: Loose, spots: Sequence[Spot]) -> Lay:
        """What a child answered, exactly; the lay as it was where that overlaps, is longer or does not pass the audit."""
        try:
            offered = settled(loose, spots)
        except Jammed as error:
            _LOG.info("an answer of the nesting library overlaps: %s", error)
            return loose.lay
        if offered.length_mm >= loose.lay.length_mm or self._unsound(alone(offered, loose.numbers[0])):
            return loose.lay
        return offered

    def _unsound(self, lay: Lay) -> bool:
        """What the audit finds in one section; the whole lay is for the planner to audit."""
        here = {(p.sail, p.part_id) for p in lay.placements}
        sails = {sail: tuple(part for part in parts if (sail, part.id) in here) for sail, parts in self._sails.items()}
        return bool(cloth.audit_lay(lay, sails, self._roll, self._table))


def _who(lay: Lay, numbers: range) -> frozenset[tuple[str, str]]:
    """The parts in these sections: an answer stands for them, whatever became of the sections before."""
    return frozenset((p.sail, p.part_id) for p in lay.placements if p.section in numbers)


def _waste(loose: Loose) -> float:
    """Cloth between the parts, mm2."""
    return max(1.0, loose.length_mm * loose.height_mm - loose.area_mm2)


class _Shares:
    """Divides the time that is left among the sections that are left, by the cloth that they waste.

    How much longer than asked a child takes, with Python's start and what else the machine does, is learned from those before.
    """

    def __init__(self, seconds: float, children: int, waste: float) -> None:
        self._end, self._children, self._waste = time.monotonic() + seconds, children, waste
        self._busy: dict[int, float] = {}
        self._late = _START_S
        self._lock = threading.Lock()

    def take(self, waste: float) -> float:
        """Seconds for the library on a section that wastes so much."""
        with self._lock:
            now = time.monotonic()
            left = (self._end - now) * (self._children - len(self._busy)) + sum(max(0.0, self._end - end) for end in self._busy.values())
            whole = min(self._end - now, left * waste / self._waste)
            self._waste = max(1.0, self._waste - waste)
            self._busy[threading.get_ident()] = now + whole
            return whole - self._late

    def give_back(self, late: float | None) -> None:
        """The child has ended, so much later than asked."""
        with self._lock:
            del self._busy[threading.get_ident()]
            if late is not None:
                self._late = max(_START_S, (self._late + late) / 2)


def _answered_in_time(loose: Loose, shares: _Shares, seed: int, workers: int, stopped: threading.Event) -> tuple[Spot, ...] | None:
    seconds, begun, late = shares.take(_waste(loose)), time.monotonic(), None
    try:
        if seconds < _LEAST_S:
            _LOG.info("too little time is left for a section of %d parts; the library is not asked", len(loose.items))
            return None
        found = answered(loose, seconds, seed, workers, stopped)
        late = time.monotonic() - begun - seconds
        return found
    finally:
        shares.give_back(late)


def answered(loose: Loose, seconds: float, seed: int, workers: int, stopped: threading.Event) -> tuple[Spot, ...] | None:
    """Where a child puts the items; None when it was stopped, late, or ended badly."""
    items = [{"outline": item.outline, "angles": item.angles} for item in loose.items]
    task = json.dumps({"height": loose.height_mm, "seconds": seconds, "seed": seed, "workers": workers, "items": items})
    text = _told(task, seconds + _LATE_S + _LATE_AN_ITEM_S * len(items), stopped)
    if text is None:
        return None
    return tuple((float(x), float(y), int(angle)) for x, y, angle in json.loads(text)["spots"])


def _told(task: str, seconds: float, stopped: threading.Event) -> str | None:
    """What the child prints within so many seconds."""
    if stopped.is_set():
        return None
    with subprocess.Popen(
        [sys.executable, *CHILD], cwd=_ROOT, text=True, start_new_session=True,
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as child:  # fmt: skip
        end, given = time.monotonic() + seconds, task
        while True:
            try:
                text, trouble = child.communicate(given, timeout=_LOOK_S)
                break
            except subprocess.TimeoutExpired:
                given = ""  # already written as far as it goes; communicate keeps the rest
            if stopped.is_set() or time.monotonic() > end:
                _kill(child)
                return None
    if child.returncode != 0:
        _LOG.warning("the nesting library ended with %d: %s", child.returncode, trouble.strip()[-500:])
        return None
    return text


def _kill(child: subprocess.Popen[str]) -> None:
    """The child and all that it started."""
    # it may have ended by itself in the meantime
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGKILL)
    child.wait()
