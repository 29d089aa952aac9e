"""A connection to a broker that the test can cut: refused, as by a machine without the service, or swallowed, as by a dead wire."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Iterator
from urllib.parse import urlsplit, urlunsplit


class Proxy:
    """Listens on a port of this machine and passes everything on to another address."""

    def __init__(self, target: tuple[str, int]) -> None:
        self.target = target
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        self._open: set[socket.socket] = set()
        self._swallow = False
        self._accept()

    def refuse(self) -> None:
        """Close the port and every connection through it."""
        self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self._cut()

    def swallow(self) -> None:
        """Take connections again, and pass nothing on."""
        self._swallow = True
        self._listen_again()

    def restore(self) -> None:
        """Pass everything on again; swallowed connections are cut."""
        self._swallow = False
        if self._listener.fileno() == -1:
            self._listen_again()
        self._cut()

    def close(self) -> None:
        if self._listener.fileno() != -1:
            self.refuse()

    def _listen_again(self) -> None:
        self._listener = socket.create_server(("127.0.0.1", self.port))
        self._accept()

    def _accept(self) -> None:
        threading.Thread(target=self._serve, args=(self._listener,), daemon=True).start()

    def _serve(self, listener: socket.socket) -> None:
        while True:
            try:
                near, _ = listener.accept()
            except OSError:
                return
            self._open.add(near)
            if not self._swallow:
                with contextlib.suppress(OSError):
                    self._join(near, socket.create_connection(self.target, timeout=5))

    def _join(self, near: socket.socket, far: socket.socket) -> None:
        far.settimeout(None)
        self._open.add(far)
        for one, other in ((near, far), (far, near)):
            threading.Thread(target=self._pass_on, args=(one, other), daemon=True).start()

    def _pass_on(self, one: socket.socket, other: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while content := one.recv(65536):
                other.sendall(content)
        for end in (one, other):
            self._open.discard(end)
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def _cut(self) -> None:
        for end in list(self._open):
            self._open.discard(end)
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()


@contextlib.contextmanager
def broker_behind_proxy(url: str) -> Iterator[tuple[Proxy, str]]:
    """A proxy before the broker at `url`, and the address that leads through it."""
    parts = urlsplit(url)
    default_port = 6379 if parts.scheme.startswith("redis") else 5672
    proxy = Proxy((parts.hostname or "127.0.0.1", parts.port or default_port))
    login, at, _ = parts.netloc.rpartition("@")
    try:
        yield proxy, urlunsplit(parts._replace(netloc=f"{login}{at}127.0.0.1:{proxy.port}"))
    finally:
        proxy.close()
