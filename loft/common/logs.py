"""What every log line passes through: ids of the request and the job put on, secrets taken off."""

from __future__ import annotations

import logging
import re
from typing import Any

from pythonjsonlogger.json import JsonFormatter

from loft.common import tracing

# What must not be read from a log: tokens of links in paths, API tokens and cookies in quoted headers, passwords in addresses.
_SECRETS = (
    (re.compile(r"(/(?:accept|member)/)[^/\s\"'?#]+"), r"\1***"),
    (re.compile(r"(?i)\b(token|bearer|basic)\s+[A-Za-z0-9._~+/=-]{16,}"), r"\1 ***"),
    (re.compile(r"(?i)\b(sessionid|csrftoken|csrfmiddlewaretoken)=[^;\s&\"']+"), r"\1=***"),
    (re.compile(r"(\b[a-z][a-z+]*://[^/\s:@]*:)[^@\s/]+(@)"), r"\1***\2"),
)


def masked(text: str) -> str:
    """The text with every secret replaced by three stars."""
    for pattern, stars in _SECRETS:
        text = pattern.sub(stars, text)
    return text


class Traced(logging.Filter):
    """Puts request_id and job_id on every record."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request_id = tracing.request_id()
        record.job_id = tracing.job_id()
        return True


class MaskingJsonFormatter(JsonFormatter):
    """One JSON object a line; masks the finished line, so that extra fields and tracebacks are covered too."""

    def format(self, record: logging.LogRecord) -> str:
        # Django puts the request object on its records: its repr is a path, which the mask covers.
        return masked(super().format(record))

    def add_fields(self, log_data: dict[str, Any], record: logging.LogRecord, message_dict: dict[str, Any]) -> None:
        super().add_fields(log_data, record, message_dict)
        for name in ("request", "taskName"):
            log_data.pop(name, None)
        for name in ("request_id", "job_id"):
            if not log_data.get(name):
                log_data.pop(name, None)
