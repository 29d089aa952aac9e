"""Drafts a revision of every issued quote at once; killed before its statement number LOFT_DIE_BEFORE, or left to say how many it made.

Statements are counted from the first one inside the transaction that writes.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from datetime import datetime
from typing import Any

import django

django.setup()

from django.contrib.auth.models import User  # noqa: E402
from django.db import connection  # noqa: E402

from loft.orders.models import Revision  # noqa: E402
from loft.orders.services.revising_many import revise_many  # noqa: E402

_made = 0


def _count(execute: Callable[..., Any], sql: str, parameters: Any, many: bool, context: Any) -> Any:
    global _made
    if connection.in_atomic_block:
        _made += 1
        if _made == int(os.environ.get("LOFT_DIE_BEFORE", "0")):
            os.kill(os.getpid(), signal.SIGKILL)
    return execute(sql, parameters, many, context)


def main() -> None:
    now = datetime.fromisoformat(os.environ["LOFT_NOW"])
    chosen = dict(Revision.objects.filter(state="issued").values_list("quote_id", "revision"))
    with connection.execute_wrapper(_count):
        revise_many(chosen=chosen, on=now.date(), now=now, by=User.objects.get(username=os.environ["LOFT_BY"]))
    print(_made)


if __name__ == "__main__":
    main()
