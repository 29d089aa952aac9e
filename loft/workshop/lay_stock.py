"""Rolls for a lay: which of those in hand it may come off, and where its sections find their places."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace

from costing import cloth
from costing.errors import CostingBug, InputError, problem
from costing.quote import colours
from loft.workshop import lay_cloths, lay_planning, rolls
from loft.workshop.models import Lay, LaySail, LaySection, LayShare, Roll

#: So many shorter sections are tried for rolls that have no room for long ones.
_MOST_TRIED = 6


def stock(lay: Lay, laid: lay_planning.Laid, *, only: Collection[int] = ()) -> list[Roll]:
    """The rolls that the lay may come off: its cloth and colour, whole width, and of the lot that its sails have already.

    InputError where there is none, with what would be right.
    """
    width = lay_planning.roll(lay, laid).usable_width_mm
    rows = [r for r in rolls.rolls(cloth_code=lay.cloth_code, colour=lay.colour or None) if not only or r.pk in only]
    wide = [r for r in rows if r.usable_width_mm >= width]
    name = lay_cloths.told((lay.cloth_code, lay.colour))
    if not wide:
        told = f"no roll of {name} of at least {width:,.0f} mm usable width is in hand; book one first"
        raise problem("rolls", "no_roll", told)
    lots = _lots(lay, laid)
    if len(lots) > 1:
        raise problem("rolls", "two_lots", f"the sails of {lay} have cloth of lots {', '.join(sorted(lots))}; lay them apart")
    fitting = [r for r in wide if not lots or r.lot in lots]
    if not fitting:
        raise problem("rolls", "other_lot", f"a sail of {lay} has {name} of lot {lots.pop()} already; no roll of that lot is in hand")
    return fitting


def places(
    lay: Lay,
    laid: lay_planning.Laid,
    sections: Sequence[cloth.Lay],
    rows: Sequence[Roll],
    *,
    keep_clear: Iterable[LaySection] = (),
    named: Sequence[int] = (),
) -> tuple[cloth.Cut, ...]:
    """Where each section comes off these rolls, in whole millimetres; InputError for those that find no place.

    keep_clear: sections whose present places are free; named: the sections' numbers, for what is told of them. Of
    the sails' own cloth no sail comes from two lots.
    """
    row = cloth.in_a_row(sections)
    whole = replace(row, sections=tuple(cloth.Section(s.number, float(math.ceil(s.length_mm))) for s in row.sections))
    if not any(design.cloth.code == lay.cloth_code for design in laid.values()):
        whole = replace(whole, placements=())  # panes of one sail may come from two rolls
    kept_clear = list(keep_clear)
    in_hand = [rolls.as_costed(r, keep_clear=kept_clear) for r in rows]
    cuts = cloth.on_rolls(whole, in_hand, named=named)
    if wrong := cloth.audit_rolls(whole, cuts, in_hand, _panels(lay, laid)):
        raise CostingBug(f"{lay.number}: its places on rolls do not hold: " + "; ".join(p.message for p in wrong))
    return cuts


def _panels(lay: Lay, laid: lay_planning.Laid) -> set[tuple[str, str]]:
    """The parts that make a sail's body."""
    parts = ((letter, part) for letter, design in laid.items() for part in design.parts)
    return {(letter, part.id) for letter, part in parts if part.kind == "panel" and part.material == lay.cloth_code}


def fitting(lay: Lay, laid: lay_planning.Laid, planned: Callable[[float], cloth.Lay]) -> cloth.Lay:
    """The lay in the longest sections that the rolls in hand have places for; as long as the table lets them be where none fits.

    planned: the lay in sections of at most so many mm.
    """
    length = next(iter(laid.values())).table.length_mm
    best = planned(length)
    uncut = list(LaySection.objects.filter(lay=lay, cut_at__isnull=True))
    try:
        rows = stock(lay, laid)
    except InputError:
        return best  # which rolls are missing is told where the sections are put on rolls
    free = {stretch for row in rows for stretch in cloth.free_stretches(rolls.as_costed(row, keep_clear=uncut)) if stretch < length}
    for longest in (length, *sorted(free, reverse=True)[:_MOST_TRIED]):
        try:
            found = best if longest == length else planned(longest)
            places(lay, laid, [found], rows, keep_clear=uncut)
        except InputError:  # a part is longer, or there is no place
            continue
        return found
    return best


def _lots(lay: Lay, laid: lay_planning.Laid) -> set[str]:
    """The dye lots that the lay's sails have of this cloth and colour already; of a film none counts."""
    lots = set[str]()
    here = [row for row in _here(lay) if laid[row.letter].cloth.code == lay.cloth_code]
    lots |= {row.ticket.lot for row in here if row.ticket.lot and colours.BODY in row.slots}
    of_it = LayShare.objects.filter(section__lay__cloth_code=lay.cloth_code, section__lay__colour=lay.colour, section__roll__remnant=False)
    return lots | set(of_it.filter(ticket__in=[row.ticket_id for row in here]).values_list("section__roll__lot", flat=True))


def _here(lay: Lay) -> Iterable[LaySail]:
    return LaySail.objects.filter(lay=lay, out=False).select_related("ticket").defer("ticket__sail")
