"""Which request and which job the running code belongs to, for the logs."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_request_id: ContextVar[str] = ContextVar("request_id", default="")
_job_id: ContextVar[str] = ContextVar("job_id", default="")


def request_id() -> str:
    """The id of the request being answered, or an empty string outside of one."""
    return _request_id.get()


def job_id() -> str:
    """The id of the job being run, or an empty string outside of one."""
    return _job_id.get()


@contextmanager
def request(identifier: str) -> Iterator[None]:
    """Everything logged inside the block carries this request id."""
    token = _request_id.set(identifier)
    try:
        yield
    finally:
        _request_id.reset(token)


@contextmanager
def job(identifier: str) -> Iterator[None]:
    """Everything logged inside the block carries this job id."""
    token = _job_id.set(identifier)
    try:
        yield
    finally:
        _job_id.reset(token)
