"""Take the second step off an account whose authenticator is lost: `manage.py end_second_step NAME`."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import BaseCommand, CommandError

from loft.common import accounts
from loft.common.errors import Conflict


class Command(BaseCommand):
    help = "Take the second step off an account whose authenticator is lost; for when no other manager can do it on /people/."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the name to sign in with")

    def handle(self, *args: Any, **options: Any) -> None:
        user = User.objects.filter(username=options["name"]).first()
        if user is None:
            raise CommandError(f"There is no account {options['name']!r}.")
        try:
            accounts.end_second_step(user=user, by=None)
        except Conflict as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{user.username!r} signs in with the password alone.")
