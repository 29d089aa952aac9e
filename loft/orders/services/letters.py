"""The owner's wording of letters."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from loft.common import audit, policies
from loft.common.errors import Stale
from loft.orders import wording
from loft.orders.models import LetterWording


def word_letter(*, name: str, subject: str, body: str, by: User, now: datetime, version: int | None = None) -> wording.Wording:
    """Keep a new version of a letter's wording, for every letter that is sent from now on.

    version: the one that was looked at; Stale when there is a later one. InputError names every unknown placeholder.
    """
    policies.require(by, "edit_profile")
    seen = wording.current(name)
    if version is not None and version != seen.version:
        raise _stale(seen)
    body = body.replace("\r\n", "\n").strip()
    wording.check(name, subject=subject, body=body)
    try:
        with transaction.atomic():
            row = LetterWording.objects.create(
                name=name, version=seen.version + 1, subject=subject.strip(), body=body, stored_at=now, stored_by=by
            )
            before, after = {"subject": seen.subject, "body": seen.body}, {"subject": row.subject, "body": row.body}
            audit.record("word_letter", row, by=by, before=before, after=after)
    except IntegrityError as error:
        raise _stale(wording.current(name)) from error
    return wording.current(name)


def _stale(stored: wording.Wording) -> Stale:
    values = {"subject": stored.subject, "body": stored.body}
    return Stale("this letter was worded anew by somebody else since you read it", version=str(stored.version), stored=values)
