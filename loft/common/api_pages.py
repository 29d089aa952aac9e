"""Lists in pages: how many at once, and from where."""

from __future__ import annotations

from rest_framework.pagination import LimitOffsetPagination


class Pages(LimitOffsetPagination):
    """At most 500 at once, whatever is asked for: no number that a client may write reaches the database unbounded."""

    max_limit = 500
