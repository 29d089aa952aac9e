"""Background work of the floor: planning a lay."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from django.conf import settings
from django.utils import timezone

from costing import cloth
from costing.errors import InputError
from loft.jobs import registry
from loft.jobs.models import Job
from loft.workshop import lay_planning, lay_remnants, lay_stock
from loft.workshop.lay_remnants import OnRemnant
from loft.workshop.models import Lay
from loft.workshop.nesting import Nesting
from loft.workshop.states import LayState

_BEAT_S = 1.0


@registry.handler(lay_planning.KIND)
def plan_lay(job: Job, context: registry.Context) -> None:
    """Lay what is not cut yet and keep it, unless the lay awaits another planning by then. Stopped early, it keeps the best found."""
    lay = Lay.objects.get(pk=job.payload["lay"])
    wanted = int(job.payload["plan"])
    if lay.state != LayState.PLANNING or lay.plan != wanted:
        return
    watch = _Watch(context.heartbeat)
    try:
        pieces, found = _planned(lay, watch)
    except InputError as error:
        _give_up(lay, wanted, "; ".join(problem.message for problem in error.problems))
        raise registry.GiveUp(f"{lay.number} cannot be planned: {error}") from error
    lay_planning.keep(lay, wanted, found, pieces, now=timezone.now())


class _Watch:
    """Tells the worker how far the planning is, now and then, and remembers that it was asked to stop."""

    def __init__(self, heartbeat: Callable[[int], None]) -> None:
        self._heartbeat = heartbeat
        self._last = time.monotonic()
        self._share = 0.0
        self.stopped = False

    def progress(self, share: float, length_mm: float) -> None:
        self._share = share

    def should_stop(self) -> bool:
        if not self.stopped and time.monotonic() - self._last >= _BEAT_S:
            self._last = time.monotonic()
            try:
                self._heartbeat(min(99, int(self._share * 100)))
            except registry.Cancelled:
                self.stopped = True
        return self.stopped


def _planned(lay: Lay, watch: _Watch) -> tuple[tuple[OnRemnant, ...], cloth.Lay | None]:
    """What comes off remnants, and a lay of all other parts that are not cut yet; None when nothing else is left to cut.

    Without remnants the lay is never longer than the sails one after another.
    """
    laid = lay_planning.designs(lay)
    roll, table = lay_planning.roll(lay, laid), next(iter(laid.values())).table
    pieces, sails = lay_remnants.used_first(lay, lay_planning.uncut(lay), roll, table)
    if not sails:
        return pieces, None
    apart = lay_planning.one_after_another(lay, sails, laid)

    def planned(longest_mm: float) -> cloth.Lay:
        on = replace(table, length_mm=longest_mm)
        together = cloth.plan_lay(
            sails, roll, on, neighbours=lay.neighbours, steps=lay.steps, seed=lay.plan, should_stop=watch.should_stop,
            progress=watch.progress, improve=_library(lay, sails, roll, on, watch),
        )  # fmt: skip
        fit = [one for one in apart if max(section.length_mm for section in one.sections) <= longest_mm]
        return min((together, *fit), key=lambda found: found.length_mm)

    return pieces, lay_stock.fitting(lay, laid, planned) if lay.fit_rolls else planned(table.length_mm)


def _library(
    lay: Lay, sails: Mapping[str, Sequence[cloth.Part]], roll: cloth.Cloth, table: cloth.Table, watch: _Watch
) -> cloth.Improve | None:
    """The nesting library's turn, for a lay on which somebody wants time spent."""
    seconds = settings.LOFT_NESTING_SECONDS
    if lay.steps == 0 or seconds <= 0:
        return None
    return Nesting(sails, roll, table, seconds=seconds, seed=lay.plan, should_stop=watch.should_stop)


def _give_up(lay: Lay, wanted: int, why: str) -> None:
    Lay.objects.filter(pk=lay.pk, state=LayState.PLANNING, plan=wanted).update(trouble=why)
