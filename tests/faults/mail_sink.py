"""A mail server that keeps what it is given, and can be told to let something happen at a chosen moment of a delivery."""

from __future__ import annotations

import contextlib
import socketserver
import threading
from collections.abc import Callable, Iterator
from email import message_from_bytes

#: The moments of a delivery: its text is about to come, it was taken but not yet confirmed, it was confirmed.
BEFORE, UNCONFIRMED, CONFIRMED = "before", "unconfirmed", "confirmed"

Moment = Callable[[str, int], None]


class MailSink(socketserver.ThreadingTCPServer):
    """As much of SMTP (RFC 5321) as a client needs to hand over mail. `taken` holds the Message-ID of every mail, in order."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Delivery)
        self.taken: list[str] = []
        self.grown = threading.Condition()
        self.at_moment: Moment = lambda moment, count: None

    @property
    def url(self) -> str:
        return f"smtp+plain://127.0.0.1:{self.server_address[1]}"

    def take(self, content: bytes) -> None:
        with self.grown:
            self.taken.append(str(message_from_bytes(content)["Message-ID"]))
            self.grown.notify_all()

    def wait_for(self, different: int, *, timeout: float) -> bool:
        """Wait until so many different mails are here; whether they came in time."""
        with self.grown:
            return self.grown.wait_for(lambda: len(set(self.taken)) >= different, timeout=timeout)


class _Delivery(socketserver.StreamRequestHandler):
    server: MailSink
    timeout = 60

    def handle(self) -> None:
        # A client that is killed leaves in the middle of a sentence.
        with contextlib.suppress(OSError):
            self._talk()

    def _talk(self) -> None:
        self._say("220 sink ready")
        while line := self.rfile.readline():
            word = line[:4].upper().strip()
            if word == b"DATA":
                self._take()
            elif word == b"QUIT":
                self._say("221 bye")
                return
            else:
                self._say("250 ok")

    def _take(self) -> None:
        self.server.at_moment(BEFORE, len(self.server.taken))
        self._say("354 go on")
        lines = []
        while (line := self.rfile.readline()) not in (b".\r\n", b""):
            lines.append(line)
        if not line:
            return  # it was killed before the end: nothing was handed over
        self.server.take(b"".join(lines))
        self.server.at_moment(UNCONFIRMED, len(self.server.taken))
        self._say("250 taken")
        self.server.at_moment(CONFIRMED, len(self.server.taken))

    def _say(self, words: str) -> None:
        self.wfile.write(f"{words}\r\n".encode())


@contextlib.contextmanager
def mail_sink() -> Iterator[MailSink]:
    """A running mail server on a free port of this machine."""
    with MailSink() as sink:
        threading.Thread(target=sink.serve_forever, daemon=True).start()
        try:
            yield sink
        finally:
            sink.shutdown()
