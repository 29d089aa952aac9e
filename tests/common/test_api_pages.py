"""The lists of the API, asked for more than any table can count."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client

LISTS = ("boats", "classes", "customers", "orders", "patterns", "quotes", "supplier-lists", "tickets")
#: More than 64 bits hold.
HUGE = 15_142_736_506_122_931_164_676_096


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("query", [f"limit={HUGE}", f"offset={HUGE}", f"limit={HUGE}&offset={HUGE}"])
def test_no_number_is_too_large_for_a_list(name: str, query: str, manager: User, client: Client) -> None:
    client.force_login(manager)
    answer = client.get(f"/api/{name}/?{query}")
    assert (answer.status_code, answer.json()["results"]) == (200, [])
