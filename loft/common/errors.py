"""What the service refuses, apart from bad input (costing.errors.InputError)."""

from __future__ import annotations

from collections.abc import Mapping

from costing.errors import Problem


class Refused(Exception):
    """Something asked that is not done; the message is for the person who asked. problems: where it lies in what was asked, if known."""

    problems: tuple[Problem, ...] = ()


class NotFound(Refused):
    """There is no such thing. The API answers 404."""


class NotAllowed(Refused):
    """This person may not do that. The API answers 403."""


class Conflict(Refused):
    """The thing is no longer in the state that the request assumed: somebody was faster. The API answers 409."""


class Stale(Conflict):
    """The thing was changed since the request read it. The API answers 412.

    version: the one that is stored now; stored: its values, under the names of the form's fields.
    """

    def __init__(self, message: str, *, version: str, stored: Mapping[str, str]) -> None:
        super().__init__(message)
        self.version = version
        self.stored = stored


class TooMany(Refused):
    """Asked too often. The API answers 429; retry_after is in seconds, limit the name of the one that is used up."""

    def __init__(self, retry_after: int, limit: str = "") -> None:
        super().__init__(f"This was asked too often: try again in {retry_after} seconds.")
        self.retry_after = retry_after
        self.limit = limit
