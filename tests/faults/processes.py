"""The programs of the service as real processes on the test's database, to be killed and started again."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tests.faults.clients import Client

ROOT = Path(__file__).resolve().parents[2]


class Program:
    """One program with its children in a process group of its own; what it prints goes to a file."""

    def __init__(self, arguments: Sequence[str], environment: Mapping[str, str], log: Path, *, keep: Sequence[int] = ()) -> None:
        self.arguments, self.environment, self.log, self.keep = list(arguments), dict(environment), log, tuple(keep)
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it; AssertionError when it runs already."""
        assert self._process is None, "it runs already"
        with self.log.open("ab") as log:
            self._process = subprocess.Popen(
                [sys.executable, *self.arguments], cwd=ROOT, env=self.environment, pass_fds=self.keep,
                stdin=subprocess.DEVNULL, stdout=log, stderr=subprocess.STDOUT, start_new_session=True,
            )  # fmt: skip

    def kill(self) -> None:
        """kill -9 it and every child of it."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        """Ask it to end, and wait until it has."""
        self._end(signal.SIGTERM)

    def printed(self) -> str:
        return self.log.read_text(encoding="utf-8", errors="replace") if self.log.exists() else ""

    def _end(self, number: signal.Signals) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        try:
            os.killpg(process.pid, number)
            process.wait(timeout=30)
        except (ProcessLookupError, subprocess.TimeoutExpired):
            pass
        finally:
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


class Server(Program):
    """The web server. Its listening socket belongs to the test, so that a killed server's port stays and callers queue for the next."""

    def __init__(
        self, environment: Mapping[str, str], log: Path, *,
        application: str = "loft.wsgi", processes: int = 2, threads: int = 8, preload: bool = False, more: Sequence[str] = (),
    ) -> None:  # fmt: skip
        self.socket = socket.create_server(("127.0.0.1", 0), backlog=512)
        handle = self.socket.fileno()
        arguments = (
            "-m", "gunicorn", application, "--bind", f"fd://{handle}", "--worker-class", "gthread", "--timeout", "120",
            "--workers", str(processes), "--threads", str(threads), *(["--preload"] if preload else []), *more,
        )  # fmt: skip
        super().__init__(arguments, environment, log, keep=(handle,))

    @property
    def port(self) -> int:
        address: Any = self.socket.getsockname()
        return int(address[1])

    def start(self) -> None:
        """Start it and wait until it answers."""
        super().start()
        assert Client(self.port).get("/healthz").status == 200, self.printed()
