"""Signing in: the pause after wrong passwords, the second step, and who may take it off."""

from __future__ import annotations

import pytest
from axes.models import AccessAttempt
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.test import Client
from django_otp.oath import TOTP
from django_otp.plugins.otp_totp.models import TOTPDevice

from loft.common import accounts, policies
from loft.common.errors import Conflict, NotAllowed
from loft.common.models import AuditEntry
from loft.common.services import give_role

PASSWORD = "a-long-password"


def sign_in(name: str, password: str = PASSWORD, **more: str) -> tuple[int, Client]:
    client = Client()
    return client.post("/login/", {"username": name, "password": password, **more}).status_code, client


def code_of(device: TOTPDevice, *, steps: int = 0) -> str:
    """What an authenticator shows (RFC 6238: HMAC-SHA1, 30 s, six figures), some steps away from now."""
    made = TOTP(device.bin_key, device.step, device.t0, device.digits, steps)
    return f"{made.token():06d}"


def with_second_step(user: User) -> TOTPDevice:
    device = accounts.begin_second_step(user=user)
    accounts.confirm_second_step(user=user, code=code_of(device))
    device.refresh_from_db()
    return device


def test_wrong_passwords_close_the_door_for_a_while_for_that_name_from_there(manager: User, cutter: User) -> None:
    statuses = [sign_in("manager", "wrong")[0] for _ in range(9)]
    assert statuses == [200] * 7 + [429] * 2
    status, client = sign_in("manager")
    assert status == 429
    assert client.get("/").status_code == 302
    answer = Client().post("/login/", {"username": "manager", "password": PASSWORD})
    assert answer["Retry-After"] == "900"
    assert sign_in("cutter")[0] == 302
    assert Client(REMOTE_ADDR="192.0.2.1").post("/login/", {"username": "manager", "password": PASSWORD}).status_code == 302


def test_what_is_kept_of_a_wrong_password_is_no_secret(manager: User) -> None:
    sign_in("manager", "nearly-the-password", code="424242")
    kept = str(AccessAttempt.objects.values().get())
    assert "nearly-the-password" not in kept
    assert "424242" not in kept


def test_the_second_step_by_its_page(manager: User) -> None:
    client = sign_in("manager")[1]
    shown = client.post("/account/second-step/").content.decode()
    assert "data:image/svg+xml" in shown
    device = TOTPDevice.objects.get()
    assert sign_in("manager")[0] == 302  # begun is not in force
    wrong = client.post("/account/second-step/", {"code": "000000"})
    assert (wrong.status_code, "is not right" in wrong.content.decode()) == (400, True)
    TOTPDevice.objects.update(throttling_failure_count=0)
    client.post("/account/second-step/", {"code": code_of(device)})
    assert TOTPDevice.objects.get().confirmed
    assert "It is in force" in client.get("/account/second-step/").content.decode()


def test_signing_in_with_a_second_step(manager: User) -> None:
    device = with_second_step(manager)
    assert sign_in("manager")[0] == 200
    assert sign_in("manager", code="123456")[0] == 200
    TOTPDevice.objects.update(throttling_failure_count=0)
    used = code_of(device)
    assert sign_in("manager", code=used)[0] == 200  # it was used to put the step in force
    TOTPDevice.objects.update(throttling_failure_count=0, last_t=-1)
    assert sign_in("manager", code=f"{used[:3]} {used[3:]}")[0] == 302


def test_the_administration_has_no_door_of_its_own(manager: User) -> None:
    assert Client().get("/admin/login/")["Location"] == "/login/?next=/admin/"
    assert Client().post("/admin/login/", {"username": "manager", "password": PASSWORD}).status_code == 302
    assert Client().get("/admin/login/?next=/admin/auth/")["Location"].startswith("/login/")


def test_a_lost_authenticator(manager: User, cutter: User) -> None:
    with_second_step(cutter)
    with pytest.raises(NotAllowed):
        accounts.end_second_step(user=cutter, by=cutter)
    accounts.end_second_step(user=cutter, by=manager)
    assert sign_in("cutter")[0] == 302
    entry = AuditEntry.objects.get(action="end_second_step")
    assert (entry.who, entry.subject) == ("manager", "cutter")
    with_second_step(manager)
    with pytest.raises(Conflict, match="another manager"):
        accounts.end_second_step(user=manager, by=manager)
    call_command("end_second_step", "manager")
    assert not TOTPDevice.objects.exists()
    with pytest.raises(CommandError, match="no second step"):
        call_command("end_second_step", "manager")


def test_roles_on_the_page_of_people(manager: User, cutter: User) -> None:
    client = sign_in("manager")[1]
    client.post(f"/people/{cutter.pk}/roles/", {"roles": ["sewer", "reader"], "active": "1"})
    cutter = User.objects.get(pk=cutter.pk)
    assert policies.roles_of(cutter) == {"sewer", "reader"}
    entry = AuditEntry.objects.get(action="set_roles")
    assert (entry.before, entry.after) == ({"roles": ["cutter"]}, {"roles": ["reader", "sewer"]})
    client.post(f"/people/{cutter.pk}/roles/", {"roles": ["owner"], "active": "1"})
    assert policies.roles_of(User.objects.get(pk=cutter.pk)) == {"sewer", "reader"}
    assert client.post(f"/people/{manager.pk}/roles/", {"active": "1"}).status_code == 409
    client.post(f"/people/{cutter.pk}/roles/", {"roles": ["sewer"]})
    assert sign_in("cutter")[0] == 200  # switched off


def test_two_roles_may_what_either_may(cutter: User) -> None:
    assert (policies.allowed(cutter, "work_cutter"), policies.allowed(cutter, "work_sewer")) == (True, False)
    give_role(user=cutter, role=policies.SEWER)
    assert policies.allowed(User.objects.get(pk=cutter.pk), "work_sewer")


def test_whatever_is_asked_of_nobody_in_particular_is_allowed_to_the_service_alone(cutter: User) -> None:
    policies.require(None, "cancel_order")
    with pytest.raises(NotAllowed, match="needs the role manager"):
        policies.require(cutter, "cancel_order")
