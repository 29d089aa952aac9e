"""Logs: one JSON object a line on standard error, with the request and the job it belongs to, and no tokens."""

from __future__ import annotations

from typing import Any


def logging_settings(level: str) -> dict[str, Any]:
    """The LOGGING setting."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "filters": {"traced": {"()": "loft.common.logs.Traced"}},
        "formatters": {
            "json": {
                "()": "loft.common.logs.MaskingJsonFormatter",
                "fmt": "%(levelname)s %(name)s %(message)s %(request_id)s %(job_id)s",
                "timestamp": True,
                "rename_fields": {"levelname": "level", "name": "logger"},
            }
        },
        "handlers": {"stderr": {"class": "logging.StreamHandler", "filters": ["traced"], "formatter": "json"}},
        "root": {"handlers": ["stderr"], "level": level},
        # Django's own set-up gives these loggers a console and a mail handler; ours is the only one.
        "loggers": {
            "django": {"handlers": [], "level": level, "propagate": True},
            "django.server": {"handlers": [], "level": level, "propagate": True},
            # A line for each job is ours (loft/jobs/running.py); what the broker's libraries say below a warning is theirs.
            **{name: {"handlers": [], "level": "WARNING", "propagate": True} for name in ("celery", "kombu", "amqp")},
            "fontTools": {"level": "WARNING"},
        },
    }
