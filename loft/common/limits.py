"""How often something may be done: counted in the database, so that every process counts together.

A limit is (how many, in how many seconds). The N-th within the time is refused, and all that follow until the time is over.
"""

from __future__ import annotations

import hashlib
import hmac
from datetime import datetime, timedelta

from django.conf import settings
from django.db import connection
from django.http import HttpRequest

from loft.common.errors import TooMany
from loft.common.models import RateCount

WRONG_LINK = "wrong_link"
WRONG_TOKEN = "wrong_token"
COSTLY = "costly"
DRAWN = "drawn"  # papers, drawings and cut files of an account
LINK_DRAWN = "link_drawn"  # papers and drawings behind links, by address

# One statement, so that processes that count at once lose none; SQLite and PostgreSQL read it alike.
_COUNT_ONE = """
    INSERT INTO common_ratecount AS mine (name, who, started_at, count) VALUES (%(name)s, %(who)s, %(now)s, 1)
    ON CONFLICT (name, who) DO UPDATE SET
        count = CASE WHEN mine.started_at > %(window_began)s THEN mine.count + 1 ELSE 1 END,
        started_at = CASE WHEN mine.started_at > %(window_began)s THEN mine.started_at ELSE excluded.started_at END
    RETURNING count
"""


def check(name: str, who: str, *, now: datetime) -> None:
    """Raise TooMany while this limit is used up for this one."""
    most, window = _limit(name)
    row = RateCount.objects.filter(name=name, who=_hidden(who), started_at__gt=now - window, count__gte=most).first()
    if row is not None:
        raise TooMany(_wait(row.started_at + window - now), limit=name)


def count(name: str, who: str, *, now: datetime) -> None:
    """Count one; TooMany when it is the N-th or a later one."""
    most, window = _limit(name)
    if _count(name, _hidden(who), now, window) >= most:
        check(name, who, now=now)


def client_address(request: HttpRequest) -> str:
    """Where a request comes from; behind our proxy, what the proxy saw."""
    forwarded = request.headers.get("X-Forwarded-For", "") if settings.LOFT_BEHIND_PROXY else ""
    return forwarded.rpartition(",")[2].strip() or str(request.META.get("REMOTE_ADDR", ""))


def forget_old(*, now: datetime) -> int:
    """Delete counts that no longer count; how many there were."""
    longest = max(timedelta(seconds=seconds) for _, seconds in settings.LOFT_LIMITS.values())
    return RateCount.objects.filter(started_at__lt=now - longest).delete()[0]


def _count(name: str, who: str, now: datetime, window: timedelta) -> int:
    """One more in the running window, or the first of a new one; how many that makes."""
    at = connection.ops.adapt_datetimefield_value
    with connection.cursor() as cursor:
        cursor.execute(_COUNT_ONE, {"name": name, "who": who, "now": at(now), "window_began": at(now - window)})
        return int(cursor.fetchone()[0])


def _limit(name: str) -> tuple[int, timedelta]:
    most, seconds = settings.LOFT_LIMITS[name]
    return most, timedelta(seconds=seconds)


def _wait(left: timedelta) -> int:
    return max(1, -(-int(left.total_seconds() * 1000) // 1000))


def _hidden(who: str) -> str:
    """An address says who somebody is: only its keyed hash is kept."""
    return hmac.new(settings.SECRET_KEY.encode(), who.encode(), hashlib.sha256).hexdigest()
