"""The command that prints an account's API token: the same again, or a new one in its place."""

from __future__ import annotations

from io import StringIO

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.test import Client

from loft.common import policies, services
from tests import desk

pytestmark = pytest.mark.django_db


def token(*words: str) -> str:
    out = StringIO()
    call_command("api_token", *words, stdout=out)
    return out.getvalue().strip()


def status(key: str) -> int:
    return Client().get("/api/quotes/", headers={"Authorization": f"Token {key}"}).status_code


def test_it_opens_the_api_and_a_new_one_shuts_the_old_out() -> None:
    desk.load_catalogue()
    user = User.objects.create_user("hester")
    services.give_role(user=user, role=policies.MANAGER)
    first = token(user.username)
    assert (status(first), token(user.username)) == (200, first)
    second = token(user.username, "--new")
    assert (status(first), status(second)) == (403, 200)


def test_somebody_unknown_gets_none() -> None:
    with pytest.raises(CommandError, match="There is no account 'nobody' that may sign in"):
        token("nobody")
