"""HTTP clients that make no retries of their own, and several of them at the same moment."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.db import connections

#: What a client sees of a server that was killed.
BROKEN = (OSError, http.client.HTTPException)


@dataclass(frozen=True, slots=True)
class Reply:
    """One answer, and how long it took in seconds."""

    status: int
    headers: Mapping[str, str]
    body: bytes
    seconds: float

    def json(self) -> Any:
        return json.loads(self.body)


@dataclass(frozen=True, slots=True)
class Client:
    """Talks to a port of this machine, each request on a connection of its own."""

    port: int
    token: str = ""
    timeout: float = 60

    def get(self, path: str) -> Reply:
        return self._send("GET", path, b"", {})

    def post(self, path: str, body: Any = None, *, key: str = "", seen: str = "*") -> Reply:
        """Post JSON to the API; seen: the ETag that the request was decided on, * for whichever there is."""
        headers = {"Content-Type": "application/json", "If-Match": seen} | ({"Idempotency-Key": key} if key else {})
        return self._send("POST", path, json.dumps(body).encode() if body is not None else b"", headers)

    def post_form(self, path: str, fields: Mapping[str, str]) -> Reply:
        return self._send("POST", path, urlencode(fields).encode(), {"Content-Type": "application/x-www-form-urlencoded"})

    def _send(self, method: str, path: str, body: bytes, headers: dict[str, str]) -> Reply:
        if self.token:
            headers["Authorization"] = f"Token {self.token}"
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.timeout)
        started = time.monotonic()
        try:
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            content = answer.read()
            return Reply(answer.status, dict(answer.getheaders()), content, time.monotonic() - started)
        finally:
            connection.close()


def together(works: Sequence[Callable[[], Any]], *, timeout: float = 180) -> list[Any]:
    """Run each in a thread of its own, all let go at the same moment; results in order. Raises what the first failed one raised."""
    gate = threading.Barrier(len(works))
    results: list[Any] = [None] * len(works)
    errors: list[BaseException] = []

    def run(index: int) -> None:
        try:
            gate.wait(timeout=30)
            results[index] = works[index]()
        except BaseException as error:  # handed to the caller below
            errors.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(index,), daemon=True) for index in range(len(works))]
    end = time.monotonic() + timeout
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=max(0.0, end - time.monotonic()))
    if errors:
        raise errors[0]
    assert not any(thread.is_alive() for thread in threads), f"no end within {timeout} s"
    return results


def slowest_but_one_percent(replies: Sequence[Reply]) -> float:
    """The 99th percentile of the answering times, seconds (nearest rank)."""
    times = sorted(reply.seconds for reply in replies)
    return times[-(-len(times) * 99 // 100) - 1]


def statuses(replies: Sequence[Reply]) -> dict[int, int]:
    """How many answers came with each status."""
    found = sorted(reply.status for reply in replies)
    return {status: found.count(status) for status in dict.fromkeys(found)}
