"""Print an account's token for the API: `manage.py api_token NAME`."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from rest_framework.authtoken.models import Token

from loft.common import audit


class Command(BaseCommand):
    help = (
        "Print the token with which a program uses the API as this account: it sends the header `Authorization: Token ...`. "
        "The token is made when there is none; --new makes another, and the old one opens nothing any more."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the name that the account signs in with")
        parser.add_argument("--new", action="store_true", help="put a new token in place of the old one")

    def handle(self, *args: Any, **options: Any) -> None:
        user = User.objects.filter(username=options["name"], is_active=True).first()
        if user is None:
            raise CommandError(f"There is no account {options['name']!r} that may sign in.")
        with transaction.atomic():
            if options["new"]:
                Token.objects.filter(user=user).delete()
            token, made = Token.objects.get_or_create(user=user)
            if made:
                audit.record("make_api_token", user, by=None)
        self.stdout.write(token.key)
