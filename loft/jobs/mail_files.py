"""A mail back end that writes each message to a file: for a demo, for tests, and for a loft without a mail server."""

from __future__ import annotations

import os
import re
import secrets
from collections.abc import Sequence
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend


class EmailBackend(BaseEmailBackend):
    """Writes LOFT_VAR/mail/<message id>.eml, whole or not at all; the same message again replaces its file."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        folder = Path(settings.LOFT_VAR) / "mail"
        folder.mkdir(parents=True, exist_ok=True)
        for message in email_messages:
            _write(folder, message)
        return len(email_messages)


def _write(folder: Path, message: EmailMessage) -> None:
    content = message.message()
    name = re.sub(r"[^A-Za-z0-9@._-]", "_", str(content["Message-ID"]).strip("<>"))
    draft = folder / f".{name}.{secrets.token_hex(6)}"
    with draft.open("wb") as file:
        file.write(content.as_bytes())
        file.flush()
        os.fsync(file.fileno())
    draft.replace(folder / f"{name}.eml")
