"""Do the background work: `manage.py worker`, or `manage.py worker --once` for what is due now."""

from __future__ import annotations

import signal
import threading
from argparse import ArgumentParser
from types import FrameType
from typing import Any

from django.core.management.base import BaseCommand
from django.db import connection
from django.utils import timezone

from loft.jobs import services
from loft.jobs.models import Job


class Command(BaseCommand):
    help = "Run background jobs (mail, lays) until stopped, or once what is due now. SIGTERM ends it after the job in hand."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--once", action="store_true", help="run what is due now, then end")
        parser.add_argument("--lane", choices=Job.Lane.values, help="only this lane")
        parser.add_argument("--pause", type=float, default=1.0, help="seconds between looks when nothing is due")

    def handle(self, *args: Any, **options: Any) -> None:
        lane: str | None = options["lane"]
        if options["once"]:
            self.stdout.write(f"{services.run_ready(lane=lane)} job(s) run")
            return
        stop = self._stop_on_signal()
        self.stdout.write("Waiting for jobs; Ctrl-C ends it after the job in hand.")
        self.stdout.flush()
        services.tidy(now=timezone.now())
        while not stop.is_set():
            if not services.run_ready(lane=lane, limit=1):
                # An idle worker holds no connection that a restarted database would break.
                connection.close()
                stop.wait(options["pause"])

    def _stop_on_signal(self) -> threading.Event:
        stop = threading.Event()

        def ask(number: int, frame: FrameType | None) -> None:
            stop.set()

        signal.signal(signal.SIGTERM, ask)
        signal.signal(signal.SIGINT, ask)
        return stop
