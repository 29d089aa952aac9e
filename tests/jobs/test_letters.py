"""Mail as a job: rendered when sent, one Message-ID over all attempts, whole files."""

from __future__ import annotations

import email
import email.policy
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core import mail as outbox_of
from django.utils import timezone

from loft.jobs import mail, services
from loft.jobs.models import Job
from loft.jobs.states import State

pytestmark = pytest.mark.django_db

FILES = "loft.jobs.mail_files.EmailBackend"


@pytest.fixture(autouse=True)
def letter() -> Iterator[dict[str, Any]]:
    """A letter whose text says what is known when it is written."""
    known: dict[str, Any] = {"text": "first"}

    def render(payload: dict[str, Any]) -> mail.Letter:
        return mail.Letter(
            to=payload["to"],
            subject="Your quote\nBcc: all@example.com",
            text=known["text"],
            html="<p>html</p>",
            attachments=(("quote.pdf", b"%PDF-1.4 \x00\xff", "application/pdf"),),
            reply_to="loft@loft.example",
        )

    mail.letter("test_letter")(render)
    yield known
    mail._letters.pop("test_letter")


def enqueue(key: str = "quote-1") -> Job:
    return mail.enqueue_letter(name="test_letter", key=key, payload={"to": "ann@example.org"})


def test_a_letter_is_written_when_it_is_sent(letter: dict[str, Any]) -> None:
    enqueue()
    letter["text"] = "as it stands now"
    services.run_ready(lane=Job.Lane.MAIL)
    (sent,) = outbox_of.outbox
    assert sent.body == "as it stands now"
    assert sent.to == ["ann@example.org"]
    assert sent.subject == "Your quote Bcc: all@example.com"
    assert sent.bcc == []


def test_the_same_letter_is_sent_once() -> None:
    enqueue()
    enqueue()
    services.run_ready()
    enqueue()
    services.run_ready()
    assert len(outbox_of.outbox) == 1


def test_every_attempt_has_the_same_message_id(monkeypatch: pytest.MonkeyPatch) -> None:
    assert mail.message_id("quote-1") == mail.message_id("quote-1") != mail.message_id("quote-2")
    seen: list[str] = []

    def broken(self: Any, fail_silently: bool = False) -> int:
        seen.append(self.extra_headers["Message-ID"])
        raise ConnectionRefusedError("mail server is down")

    monkeypatch.setattr("django.core.mail.EmailMultiAlternatives.send", broken)
    enqueue()
    services.run_ready()
    services.run_ready(now=timezone.now() + timedelta(hours=1))
    assert seen == [mail.message_id("quote-1")] * 2
    job = Job.objects.get()
    assert (job.state, job.last_error) == (State.READY, "ConnectionRefusedError: mail server is down")


def test_a_file_holds_the_whole_letter_under_its_message_id(settings: Any, tmp_path: Path) -> None:
    settings.EMAIL_BACKEND = FILES
    settings.LOFT_VAR = tmp_path
    enqueue()
    services.run_ready()
    (file,) = (tmp_path / "mail").iterdir()
    assert file.name == mail.message_id("quote-1").strip("<>") + ".eml"
    message = email.message_from_bytes(file.read_bytes(), policy=email.policy.default)
    assert message["Message-ID"] == mail.message_id("quote-1")
    assert message["Reply-To"] == "loft@loft.example"
    (attached,) = message.iter_attachments()
    assert (attached.get_filename(), attached.get_content()) == ("quote.pdf", b"%PDF-1.4 \x00\xff")


def test_an_unknown_letter_goes_to_the_dead_list() -> None:
    mail.enqueue_letter(name="unheard_of", key="x", payload={})
    services.run_ready()
    assert Job.objects.get(key="x").state == State.DEAD
    assert outbox_of.outbox == []
