"""How often: counted in the database, so that processes count together, and over when the time is over."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client, RequestFactory
from rest_framework.test import APIClient

from loft.common import limits
from loft.common.errors import TooMany
from loft.common.models import RateCount
from loft.orders import selectors
from loft.settings import environment
from tests import desk
from tests.conftest import Children

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def three(settings: Any) -> None:
    settings.LOFT_LIMITS = {"wrong_link": (3, 600), "wrong_token": (3, 600), "costly": (3, 60), "drawn": (3, 60), "link_drawn": (3, 60)}


@pytest.fixture
def loft(db: None) -> None:
    desk.load_catalogue()


def test_the_nth_is_refused_and_all_that_follow_until_the_time_is_over(db: None) -> None:
    limits.count("costly", "one", now=NOW)
    limits.count("costly", "one", now=NOW + timedelta(seconds=20))
    with pytest.raises(TooMany) as raised:
        limits.count("costly", "one", now=NOW + timedelta(seconds=40))
    assert raised.value.retry_after == 20
    with pytest.raises(TooMany):
        limits.check("costly", "one", now=NOW + timedelta(seconds=59))
    limits.check("costly", "two", now=NOW)
    limits.check("costly", "one", now=NOW + timedelta(seconds=60))
    limits.count("costly", "one", now=NOW + timedelta(seconds=61))
    assert RateCount.objects.get().count == 1


def test_who_was_counted_cannot_be_read(db: None) -> None:
    limits.count("wrong_link", "192.0.2.7", now=NOW)
    assert "192.0.2.7" not in str(RateCount.objects.values().get())
    assert limits.forget_old(now=NOW + timedelta(seconds=601)) == 1


def test_wrong_links_get_404_and_from_the_nth_on_429(db: None) -> None:
    answers = [Client().get(f"/accept/{'x' * 42}{n}/") for n in range(5)]
    assert [a.status_code for a in answers] == [404, 404, 429, 429, 429]
    assert 0 < int(answers[2]["Retry-After"]) <= 600
    assert {a["Cache-Control"] for a in answers} == {"no-store, private"}
    assert Client(REMOTE_ADDR="192.0.2.9").get("/accept/other/").status_code == 404


def test_wrong_api_tokens_get_429_from_the_nth_on_and_right_ones_wait_too(manager: User) -> None:
    wrong = APIClient(HTTP_AUTHORIZATION=f"Token {'0' * 40}")
    answers = [wrong.get("/api/quotes/") for _ in range(4)]
    assert [a.status_code for a in answers] == [403, 403, 429, 429]
    assert int(answers[2]["Retry-After"]) > 0
    assert answers[2].json()["code"] == "too_many"


def test_costly_calls_of_one_account(manager: User) -> None:
    api = APIClient()
    api.force_login(manager)
    body = {"new_customer": {"kind": "person", "name": "A", "buyer": "trade"}, "pattern": "NONE", "csv": "boat,owner\n"}
    answers = [api.post("/api/quotes/", body, format="json", headers={"Idempotency-Key": f"key-0000{n}"}) for n in range(4)]
    assert [a.status_code == 429 for a in answers] == [False, False, True, True]


def test_papers_and_drawings_of_one_account_by_page_and_over_http(manager: User, cutter: User) -> None:
    client, other = Client(), Client()
    client.force_login(manager)
    other.force_login(cutter)
    asked = ("/tickets/1/cutter.pdf", "/api/orders/1/confirmation/", "/lays/1/sheet.pdf", "/api/tickets/1/sheets/cutter/")
    answers = [client.get(address) for address in asked]
    assert [a.status_code for a in answers] == [404, 404, 429, 429]
    assert int(answers[2]["Retry-After"]) > 0 and "This was asked too often" in answers[2].content.decode()
    assert answers[3].json()["code"] == "too_many"
    assert (other.get(asked[0]).status_code, client.get("/tickets/1/").status_code) == (404, 404)  # another account, another thing


def test_papers_and_drawings_behind_good_links_by_address(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    link, member = desk.token_of(order.revision), selectors.member_token(order.lines.get(position=1))
    asked = (f"/accept/{link}/quote.pdf", f"/member/{member}/sail-1.svg", f"/member/{member}/sail.svg")
    answers = [Client().get(address) for address in (*asked, *asked)]
    assert [a.status_code for a in answers] == [200, 200, 429, 429, 429, 429]
    said = answers[2].content.decode()
    assert "Your link is good" in said and "do not open" not in said and int(answers[2]["Retry-After"]) > 0
    assert Client().get(f"/member/{member}/").status_code == 200
    assert Client(REMOTE_ADDR="192.0.2.9").get(asked[0]).status_code == 200
    assert Client().get("/accept/wrong/quote.pdf").status_code == 404


_GUESS = """
import django; django.setup()
from django.conf import settings
from django.test import Client
settings.ALLOWED_HOSTS = ["*"]
print(*(Client().get(f"/accept/guess-{n}/").status_code for n in range(6)))
"""


def test_guesses_of_three_processes_count_together(transactional_db: None, children: Children) -> None:
    more = {"LOFT_LIMITS": "wrong_link=10/600", "LOFT_LOG_LEVEL": "ERROR", "LOFT_SECRET_KEY": "one-for-all"}
    started = [children.start("-c", _GUESS, **more) for _ in range(3)]
    statuses = [word for child in started for word in child.communicate(timeout=120)[0].split() if word in ("404", "429")]
    assert sorted(statuses) == ["404"] * 9 + ["429"] * 9


@pytest.mark.parametrize(("proxy", "seen"), [(False, "127.0.0.1"), (True, "192.0.2.8")])
def test_only_our_own_proxy_is_believed(settings: Any, rf: RequestFactory, proxy: bool, seen: str) -> None:
    settings.LOFT_BEHIND_PROXY = proxy
    assert limits.client_address(rf.get("/", headers={"X-Forwarded-For": "203.0.113.1, 192.0.2.8"})) == seen


@pytest.mark.parametrize("word", ["costly", "costly=0/60", "other=1/60", "costly=5/x"])
def test_a_limit_that_cannot_be_read(monkeypatch: pytest.MonkeyPatch, word: str) -> None:
    monkeypatch.setenv("LOFT_LIMITS", word)
    with pytest.raises(ValueError, match="LOFT_LIMITS"):
        environment.limits("LOFT_LIMITS", {"costly": (1, 1)})


def test_a_body_that_no_form_needs_is_refused_unread(manager: User, settings: Any) -> None:
    settings.LOFT_MOST_BYTES = settings.LOFT_MOST_BYTES_OF_A_FORM = 1000
    client = Client()
    client.force_login(manager)
    for path, kind in (("/quotes/new/", "text/html"), ("/api/quotes/", "application/json")):
        refused = client.post(path, {"boats": "x" * 1001})
        assert (refused.status_code, refused.headers["Content-Type"].partition(";")[0]) == (413, kind)
    assert client.post("/quotes/new/", {"boats": "x"}).status_code == 400
