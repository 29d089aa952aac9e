"""`manage.py`, or Celery, with a lease of two seconds instead of a minute, so that a short test need not wait for a minute.

LOFT_LEASE_S=... makes it another: with one that outlasts the test, what a killed worker held must be missing.

`python -m tests.faults.programs.short_lease worker` and `python -m tests.faults.programs.short_lease celery worker ...`.
"""

from __future__ import annotations

import os
import sys
from datetime import timedelta

import django

LEASE_S = float(os.environ.get("LOFT_LEASE_S", "2"))


def main(arguments: list[str]) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "loft.settings")
    django.setup()
    from loft.celery import app
    from loft.jobs import running

    running.LEASE = timedelta(seconds=LEASE_S)
    if arguments[0] == "celery":
        app.conf.beat_schedule["sweep"]["schedule"] = float(LEASE_S)
        app.start(arguments[1:])
    else:
        from django.core.management import call_command

        call_command(*arguments)


if __name__ == "__main__":
    main(sys.argv[1:])
