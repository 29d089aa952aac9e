"""Make the first account: `manage.py create_owner NAME`."""

from __future__ import annotations

import getpass
import os
import secrets
import sys
from argparse import ArgumentParser
from typing import Any

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from loft.common import policies, services


class Command(BaseCommand):
    help = (
        "Make the owner's account: a manager who may also use /admin/. The password is asked for, or taken from LOFT_OWNER_PASSWORD, "
        "or made at random and printed once (--random)."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the name to sign in with")
        parser.add_argument("--email", default="")
        parser.add_argument("--random", action="store_true", help="make a random password and print it once")

    def handle(self, *args: Any, **options: Any) -> None:
        if User.objects.filter(username=options["name"]).exists():
            raise CommandError(f"There is an account {options['name']!r} already: `manage.py changepassword` sets a new password.")
        user = User(username=options["name"], email=options["email"], is_staff=True, is_superuser=True)
        password = secrets.token_urlsafe(12) if options["random"] else _given_password()
        try:
            validate_password(password, user)
            user.set_password(password)
            user.full_clean()
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        with transaction.atomic():
            user.save()
            services.give_role(user=user, role=policies.MANAGER)
        self.stdout.write(f"Made the owner's account {user.username!r}.")
        if options["random"]:
            self.stdout.write(f"Password, shown this once: {password}")


def _given_password() -> str:
    """The password from the environment, or asked for twice; CommandError where nobody can be asked."""
    if "LOFT_OWNER_PASSWORD" in os.environ:
        return os.environ["LOFT_OWNER_PASSWORD"]
    if not sys.stdin.isatty():
        raise CommandError("Set LOFT_OWNER_PASSWORD, use --random, or run this where a password can be typed.")
    password = getpass.getpass("Password: ")
    if password != getpass.getpass("Again: "):
        raise CommandError("The two passwords differ.")
    return password
