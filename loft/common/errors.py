"""What the service refuses, apart from bad input (costing.errors.InputError)."""

from __future__ import annotations


class Refused(Exception):
    """Something asked that is not done; the message is for the person who asked."""


class NotFound(Refused):
    """There is no such thing. The API answers 404."""


class NotAllowed(Refused):
    """This person may not do that. The API answers 403."""


class Conflict(Refused):
    """The thing is no longer in the state that the request assumed: somebody was faster. The API answers 409."""
