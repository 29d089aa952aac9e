"""Mail as a job: rendered when it is sent, one by one, with a Message-ID that stays the same over every attempt."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from email.utils import parseaddr
from typing import Any

from django.conf import settings
from django.core.mail import EmailMultiAlternatives

from loft.jobs import registry, services
from loft.jobs.models import Job

KIND = "letter"

Attachment = tuple[str, bytes, str]  # file name, content, mimetype


@dataclass(frozen=True, slots=True)
class Letter:
    """A mail as it goes out. text is always there; html may be empty."""

    to: str
    subject: str
    text: str
    html: str = ""
    attachments: tuple[Attachment, ...] = ()
    reply_to: str = ""


@dataclass(frozen=True, slots=True)
class About:
    """Which letter this is, for the list of jobs: to whom it goes as things stand, what it is about, and the page of that."""

    to: str
    subject: str
    place: str


Describe = Callable[[dict[str, Any]], About]
Render = Callable[[dict[str, Any]], Letter]

_letters: dict[str, Render] = {}
_about: dict[str, Describe] = {}


def letter(name: str) -> Callable[[Render], Render]:
    """Register the function that writes letters of this name; ValueError if another one does already."""

    def register(function: Render) -> Render:
        known = _letters.setdefault(name, function)
        if known is not function:
            raise ValueError(f"letters named {name!r} are written by {known.__module__}.{known.__qualname__} already")
        return function

    return register


def about(name: str) -> Callable[[Describe], Describe]:
    """Register the function that says, without writing them, what letters of this name are about."""

    def register(function: Describe) -> Describe:
        _about[name] = function
        return function

    return register


def about_of(job: Job) -> About | None:
    """What a letter is about; None for other work, and for letters that nobody describes."""
    describe = _about.get(job.payload.get("letter", "")) if job.kind == KIND else None
    return None if describe is None else describe(job.payload["payload"])


def enqueue_letter(*, name: str, key: str, payload: dict[str, Any]) -> Job:
    """Have a letter sent; the key says which letter it is, and the same key is never sent twice."""
    return services.enqueue(kind=KIND, key=key, payload={"letter": name, "payload": payload}, lane=Job.Lane.MAIL)


def message_id(key: str) -> str:
    """The Message-ID of the letter with this job key: the same for every attempt, so that mailboxes drop a repeat."""
    host = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    return f"<{hashlib.sha256(key.encode()).hexdigest()[:40]}@{host}>"


@registry.handler(KIND)
def send(job: Job, context: registry.Context) -> None:
    """Write the letter from what is stored now and hand it to the mail server."""
    name = job.payload["letter"]
    if name not in _letters:
        raise registry.GiveUp(f"no installed app writes letters named {name!r}")
    written = _letters[name](job.payload["payload"])
    message = _message(written, key=job.key)
    context.heartbeat(50)
    message.send(fail_silently=False)
    Job.objects.filter(pk=job.pk).update(sent_to=written.to[:254])


def _message(written: Letter, *, key: str) -> EmailMultiAlternatives:
    message = EmailMultiAlternatives(
        subject=" ".join(written.subject.split()),
        body=written.text,
        to=[written.to],
        reply_to=[written.reply_to] if written.reply_to else None,
        headers={"Message-ID": message_id(key)},
    )
    if written.html:
        message.attach_alternative(written.html, "text/html")
    for name, content, mimetype in written.attachments:
        message.attach(name, content, mimetype)
    return message
