"""{% load loft %}: the loft's name, and days and instants as the loft writes them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django import template
from django.template import Context

from loft.common import policies, selectors
from loft.common.errors import NotFound
from loft.common.models import LoftProfile

register = template.Library()

_KEPT_AS = "loft_profile"
_WITHOUT_PROFILE = LoftProfile(name="Sail loft", date_format="%d %b %Y", time_zone="UTC", currency="")


@register.simple_tag(takes_context=True)
def loft_name(context: Context) -> str:
    """The loft's name for the head of a page."""
    return _profile(context).name


@register.simple_tag(takes_context=True)
def day(context: Context, value: date | None, unknown: str = "–") -> str:
    """A day as the loft writes it."""
    return value.strftime(_profile(context).date_format) if value else unknown


@register.simple_tag(takes_context=True)
def moment(context: Context, value: datetime | None, unknown: str = "–") -> str:
    """An instant as day and time on the loft's own clock."""
    if value is None:
        return unknown
    profile = _profile(context)
    return selectors.local_time(value, profile).strftime(f"{profile.date_format}, %H:%M")


@register.simple_tag(takes_context=True)
def may(context: Context, action: str) -> bool:
    """Whether the person who looks at the page may do this: {% may "issue_quote" as may_issue %}."""
    return policies.allowed(context["request"].user, action)


def _profile(context: Context) -> LoftProfile:
    """The loft's profile, read once a page; a plain one while nobody has entered it."""
    kept: dict[str, Any] = context.dicts[0]
    if _KEPT_AS not in kept:
        try:
            kept[_KEPT_AS] = selectors.loft_profile()
        except NotFound:
            kept[_KEPT_AS] = _WITHOUT_PROFILE
    profile: LoftProfile = kept[_KEPT_AS]
    return profile
