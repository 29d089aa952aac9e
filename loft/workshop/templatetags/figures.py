"""{% load figures %}: numbers on a page read as they do on paper (loft.documents.wording)."""

from __future__ import annotations

from decimal import Decimal

from django import template

from costing import money
from costing.rules import Headroom, Undetermined
from loft.documents import quote_designs, wording

register = template.Library()

register.filter("plain", wording.plain)
register.filter("rate", wording.rate)
register.filter("minutes", wording.minutes)
register.filter("hours", wording.hours)
register.filter("metres_to_pull", wording.metres_to_pull)
register.filter("amount", wording.amount)


@register.filter
def minor(value: int, currency: str) -> str:
    """An amount stored in minor units: 123456 is 1,234.56."""
    return wording.amount(Decimal(value).scaleb(-money.currency(currency).digits), currency)


@register.filter
def tenth_percent(fraction: Decimal | None) -> str:
    """A margin to a tenth of a per cent, or that there is none."""
    return "none" if fraction is None else wording.percent(fraction, 1)


@register.filter
def percent(fraction: Decimal) -> str:
    return wording.percent(fraction)


@register.filter
def unit_cost(value: Decimal) -> str:
    """Our cost of one unit, to the four places in which it is kept."""
    return f"{value:,.4f}"


@register.filter
def measurement(room: Headroom) -> str:
    return quote_designs.measurement_name(room)


register.filter("source", quote_designs.source)
register.filter("open_words", quote_designs.open_words)
register.filter("as_printed", wording.as_printed)
register.filter("spelled", wording.spelled)


@register.filter
def open_name(left_open: Undetermined) -> str:
    return quote_designs.limited_name(left_open.limit)


@register.filter
def open_bound(left_open: Undetermined) -> str:
    return quote_designs.open_bound(left_open.limit)


@register.filter
def limit(room: Headroom) -> str:
    return wording.limit_text(room.limit)


@register.filter
def designed(room: Headroom) -> str:
    return wording.designed_text(room)


@register.filter
def headroom(room: Headroom) -> str:
    return wording.room_text(room)
