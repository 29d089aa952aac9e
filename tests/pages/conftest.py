from __future__ import annotations

from datetime import datetime

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from loft.orders import services
from loft.orders.models import Order, Revision
from tests import desk


@pytest.fixture
def loft(db: None) -> None:
    """The invented loft's catalogue and profile."""
    desk.load_catalogue()


@pytest.fixture
def at_the_desk(manager: User) -> Client:
    """A manager's browser."""
    client = Client()
    client.force_login(manager)
    return client


@pytest.fixture
def on_the_floor(cutter: User) -> Client:
    """A cutter's browser."""
    client = Client()
    client.force_login(cutter)
    return client


def issue_now(by: User, boats: bytes = desk.TWO_BOATS, *, now: datetime | None = None) -> Revision:
    """A quote issued a moment ago (pages read the clock), or at `now`."""
    return services.issue(revision=desk.draft(boats, by=by), by=by, now=now or timezone.now())


@pytest.fixture
def issued(loft: None, manager: User) -> Revision:
    """A quote that the customer can accept now."""
    return issue_now(manager)


@pytest.fixture
def accepted(issued: Revision) -> Order:
    """An order of two sails, opened a moment ago."""
    return services.accept(token=desk.token_of(issued), name="Hester Lorne", now=timezone.now())
