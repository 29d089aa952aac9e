"""The demo's second half: a dearer supplier list comes in while a quote is out, and a colour that a draft wants is no longer made."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import User

from costing.errors import InputError
from loft.catalogue import importing
from loft.catalogue.list_import import ListHead
from loft.common import selectors as common
from loft.customers import services as customers
from loft.orders import exposure, services
from loft.orders.models import Revision
from loft.orders.services.substituting import substitute

LIST = Path(settings.ROOT) / "fixtures" / "tarnside_2026_second.csv"
SUPPLIER, VERSION = "Tarnside Sailcloth", "2026-2"
COLUMNS: Mapping[str, str] = {"material": "Our code", "their_code": "Code", "name": "Description", "from": "From", "cost": "Price"}
CLUB, PERSON = "Tarn End Sailing Club", "Ada Fenwick"
OLD, NEW, COLOUR = "DW170", "DW185", "red"

_CLUB_BOATS = b"boat,owner,sail_number,options,colour\nKittiwake,Tarn End SC,301,window,white\nDunlin,Tarn End SC,302,window,white\n"
_RED_BOAT = b"boat,owner,sail_number,options,colour\nScarlet,Ada Fenwick,318,window,red\n"


@dataclass(frozen=True, slots=True)
class PriceRise:
    """What was out, what the list did to it, and the draft before and after its cloth was replaced."""

    open_quote: Revision
    before: exposure.Exposure
    after: exposure.Exposure
    refused: tuple[str, ...]
    first_draft: Revision
    draft: Revision


def quote_out(*, pattern: str, by: User, now: datetime) -> tuple[Revision, Revision]:
    """A quote that its customer may still accept, and a draft for a red sail."""
    club = customers.new_customer(kind="association", name=CLUB, email="sails@tarnend.example", address="Tarn End", buyer="trade")
    person = customers.new_customer(kind="person", name=PERSON, email="ada@fenwick.example", address="2 Weir Lane", buyer="private")
    day = _day(now)
    out = services.draft_batch(customer=club, pattern=pattern, boats=_CLUB_BOATS, on=day, now=now, by=by)
    draft = services.draft_batch(customer=person, pattern=pattern, boats=_RED_BOAT, on=day, now=now, by=by)
    return services.issue(revision=out, by=by, now=now), draft


def import_list(out: Revision, draft: Revision, *, by: User, now: datetime) -> PriceRise:
    """Store the dearer list as the desk does, see what it does to what is out, and replace the cloth that can no longer be had."""
    day, currency = _day(now), out.currency
    before = exposure.exposure(on=day, now=now, currency=currency)
    head = ListHead(SUPPLIER, VERSION, day, None, currency)
    checked = importing.check_table(data=LIST.read_bytes(), head=head, columns=COLUMNS, by=by)
    importing.store_table(text=checked.text, columns=COLUMNS, looked_at=False, by=by)
    after = exposure.exposure(on=day, now=now, currency=currency)
    refused = _refusal(draft, by=by, now=now)
    replaced = substitute(quote=draft.quote, old=OLD, new=NEW, on=day, now=now, by=by, seen=draft.revision)
    return PriceRise(out, before, after, refused, draft, replaced)


def _refusal(draft: Revision, *, by: User, now: datetime) -> tuple[str, ...]:
    """What the desk is told when it prices the draft again as it stands."""
    try:
        services.revise(quote=draft.quote, on=_day(now), now=now, by=by)
    except InputError as error:
        return tuple(f"{p.path}: {p.message}" for p in error.problems)
    return ()


def _day(now: datetime) -> date:
    return common.local_time(now, common.loft_profile()).date()
