"""Erase what need not be kept any longer: `manage.py erase_past_retention`, once a day."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from loft.common import idempotency, limits
from loft.orders import personal


class Command(BaseCommand):
    help = (
        "Empty the papers of contracts closed more than LOFT_RETENTION_YEARS ago, erase customers with nothing newer, and delete "
        "answers kept for repeated requests and counts of limits that are over."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        papers, customers = personal.erase_past_retention(now=now)
        keys, counts = idempotency.forget_old(now=now), limits.forget_old(now=now)
        self.stdout.write(f"erased: papers of {papers} contracts, {customers} customers; deleted: {keys} kept answers, {counts} counts")
