"""The same request twice: one thing made, one answer."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection, transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.test import RequestFactory
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.test import APIRequestFactory, force_authenticate
from rest_framework.views import APIView

from loft.common import idempotency, services
from loft.common.errors import Conflict
from loft.common.models import Counter, IdempotencyKey

KEY = "key-00000001"
hooks: dict[str, Callable[[], None]] = {}


class MakeThing(APIView):
    """Makes one numbered thing, as the desk makes a quote."""

    @idempotency.idempotent
    def post(self, request: Request) -> Response:
        if request.data.get("refuse"):
            return Response({"code": "refused"}, status=400)
        hooks.get("before", lambda: None)()
        with transaction.atomic():
            number = services.next_number(series="thing")
            idempotency.made(f"/things/{number}/")
        hooks.get("after", lambda: None)()
        return Response({"number": number, "sail": "ł☃"}, status=201, headers={"Location": f"/things/{number}/"})


@pytest.fixture(autouse=True)
def no_hooks() -> Iterator[None]:
    hooks.clear()
    yield
    hooks.clear()


def post(user: User, body: dict[str, Any], key: str | None = KEY) -> HttpResponse:
    headers = {} if key is None else {"Idempotency-Key": key}
    request = APIRequestFactory().post("/things/", body, format="json", headers=headers)
    force_authenticate(request, user)
    response: HttpResponse = MakeThing.as_view()(request)
    return response.render() if isinstance(response, Response) else response


def things() -> int:
    return Counter.objects.filter(series="thing").values_list("last", flat=True).first() or 0


@pytest.mark.django_db
@pytest.mark.parametrize("key", [None, "", "short", "x" * 101, "with blank 1"])
def test_a_missing_or_unusable_key_is_refused(manager: User, key: str | None) -> None:
    assert post(manager, {}, key).status_code == 400
    assert things() == 0


@pytest.mark.django_db
def test_the_second_time_gives_the_first_answer_byte_for_byte(manager: User) -> None:
    first, second = post(manager, {"a": 1}), post(manager, {"a": 1})
    assert (first.status_code, second.status_code, things()) == (201, 201, 1)
    assert first.content == second.content
    assert second["Location"] == first["Location"] == "/things/1/"
    assert second["Idempotent-Replay"] == "true" and "Idempotent-Replay" not in first


@pytest.mark.django_db
def test_the_same_key_with_another_body_is_422(manager: User) -> None:
    post(manager, {"a": 1})
    assert post(manager, {"a": 2}).status_code == 422
    assert things() == 1


@pytest.mark.django_db
def test_two_people_may_use_the_same_key(manager: User, cutter: User) -> None:
    assert post(manager, {}).content != post(cutter, {}).content
    assert things() == 2


@pytest.mark.django_db
def test_a_refused_request_may_be_corrected_under_its_key(manager: User) -> None:
    assert post(manager, {"refuse": True}).status_code == 400
    assert IdempotencyKey.objects.count() == 0
    assert post(manager, {}).status_code == 201


@pytest.mark.django_db
def test_in_progress_is_409_until_the_lease_runs_out(manager: User) -> None:
    seen: list[int] = []
    hooks["before"] = lambda: (hooks.pop("before"), seen.append(post(manager, {}).status_code))  # type: ignore[func-returns-value]
    assert post(manager, {}).status_code == 201
    assert (seen, things()) == ([409], 1)


def killed(manager: User, moment: str) -> None:
    """A request whose process was killed at this moment leaves its key as it was then."""
    rows: list[dict[str, Any]] = []

    def die() -> None:
        rows.extend(IdempotencyKey.objects.values())
        raise KeyboardInterrupt

    hooks[moment] = die
    with pytest.raises(KeyboardInterrupt):
        post(manager, {})
    hooks.clear()
    IdempotencyKey.objects.all().delete()
    past = timezone.now() - timedelta(seconds=1)
    IdempotencyKey.objects.create(**{**rows[0], "lease_until": past})


@pytest.mark.django_db
def test_a_request_killed_before_it_made_anything_no_longer_blocks(manager: User) -> None:
    killed(manager, "before")
    assert post(manager, {}).status_code == 201
    assert things() == 1


@pytest.mark.django_db
def test_a_request_killed_after_it_made_the_thing_is_sent_to_it(manager: User) -> None:
    killed(manager, "after")
    again = post(manager, {})
    assert (again.status_code, again["Location"], things()) == (303, "/things/1/", 1)


@pytest.mark.django_db
def test_whoever_lost_the_key_makes_nothing(manager: User) -> None:
    hooks["before"] = lambda: (IdempotencyKey.objects.update(holder="another"), None)[1]
    assert post(manager, {}).status_code == 409
    assert things() == 0


@pytest.mark.django_db(transaction=True)
def test_eight_at_once_make_one_thing(manager: User) -> None:
    start = threading.Barrier(8)
    codes: list[int] = []

    def send() -> None:
        try:
            start.wait(20)
            codes.append(post(manager, {"a": 1}).status_code)
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert things() == 1
    assert len(codes) == 8 and set(codes) <= {201, 409} and 201 in codes
    assert post(manager, {"a": 1}).status_code == 201
    assert things() == 1


@idempotency.idempotent_form
def form(request: HttpRequest) -> HttpResponse:
    if request.POST.get("wrong"):
        return HttpResponse("look again")
    with transaction.atomic():
        number = services.next_number(series="thing")
    return HttpResponseRedirect(f"/things/{number}/")


def send_form(user: User, **fields: str) -> HttpResponse:
    request = RequestFactory().post("/things/new/", {"idempotency_key": KEY, **fields})
    request.user = user
    response: HttpResponse = form(request)  # type: ignore[assignment]
    return response


@pytest.mark.django_db
def test_a_form_sent_twice_makes_one_thing(manager: User) -> None:
    places = [send_form(manager, name="a", csrfmiddlewaretoken=token)["Location"] for token in ("one", "two")]
    assert (places, things()) == (["/things/1/"] * 2, 1)
    with pytest.raises(Conflict):
        send_form(manager, name="b")
    assert things() == 1


@pytest.mark.django_db
def test_a_form_shown_again_with_its_errors_may_be_sent_again(manager: User) -> None:
    assert send_form(manager, wrong="1").content == b"look again"
    assert send_form(manager).status_code == 302


@pytest.mark.django_db
def test_old_keys_are_forgotten(manager: User) -> None:
    post(manager, {})
    assert idempotency.forget_old(now=timezone.now()) == 0
    assert idempotency.forget_old(now=timezone.now() + idempotency.KEPT_FOR + timedelta(seconds=1)) == 1
