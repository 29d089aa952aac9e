"""Reads of the loft profile."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from loft.common.errors import NotFound
from loft.common.models import LoftProfile


def loft_profile() -> LoftProfile:
    """The loft's own details; NotFound says where to enter them when nobody has."""
    profile = LoftProfile.objects.filter(pk=1).first()
    if profile is None:
        raise NotFound("The loft has no profile yet: `manage.py load_house FILE` brings it, or enter it under /admin/ (Loft profile).")
    return profile


def local_time(now: datetime, profile: LoftProfile) -> datetime:
    """An instant on the loft's own clock; `now` is aware."""
    return now.astimezone(ZoneInfo(profile.time_zone))
