"""Writes on accounts: roles, being switched on or off, and the second step at sign-in."""

from __future__ import annotations

from collections.abc import Collection

from django.contrib.auth.models import Group, User
from django.db import transaction
from django_otp.plugins.otp_totp.models import TOTPDevice

from costing.errors import problem
from loft.common import audit, policies
from loft.common.errors import Conflict, NotFound


def account(pk: int) -> User:
    """One account; NotFound when there is none."""
    found = User.objects.filter(pk=pk).first()
    if found is None:
        raise NotFound(f"There is no account {pk}.")
    return found


def set_roles(*, user: User, roles: Collection[str], active: bool, by: User | None) -> None:
    """Give an account exactly these roles, and switch it on or off. Nobody does that to his own account (Conflict)."""
    policies.require(by, "manage_people")
    if by is not None and by.pk == user.pk:
        raise Conflict("nobody changes his own roles: ask another manager")
    unknown = set(roles) - set(policies.ROLES)
    if unknown:
        raise problem("roles", "unknown_role", f"{', '.join(sorted(unknown))}: choose among {', '.join(policies.ROLES)}")
    before = {"roles": sorted(policies.roles_in_store(user)), "active": user.is_active}
    with transaction.atomic():
        User.objects.filter(pk=user.pk).update(is_active=active)
        user.groups.remove(*Group.objects.filter(name__in=policies.ROLES))
        user.groups.add(*(Group.objects.get_or_create(name=role)[0] for role in sorted(roles)))
        audit.record("set_roles", user, by=by, before=before, after={"roles": sorted(roles), "active": active})


def begin_second_step(*, user: User) -> TOTPDevice:
    """A key for the person's own authenticator, not in force before a code of it was typed; the one begun before is dropped."""
    with transaction.atomic():
        if TOTPDevice.objects.filter(user=user, confirmed=True).exists():
            raise Conflict("this account has a second step already")
        TOTPDevice.objects.filter(user=user, confirmed=False).delete()
        device: TOTPDevice = TOTPDevice.objects.create(user=user, name="authenticator", confirmed=False)
    return device


def confirm_second_step(*, user: User, code: str) -> None:
    """Put the second step in force; InputError for a code that is not right."""
    device = TOTPDevice.objects.filter(user=user, confirmed=False).first()
    if device is None:
        raise Conflict("no second step was begun")
    if not device.verify_token(code.replace(" ", "")):
        raise problem("code", "wrong", "the code is not right: type the six figures that the authenticator shows now")
    with transaction.atomic():
        TOTPDevice.objects.filter(pk=device.pk).update(confirmed=True)
        audit.record("begin_second_step", user, by=user)


def end_second_step(*, user: User, by: User | None) -> None:
    """Take the second step off an account whose authenticator is lost: a manager does it for another, the shell for anybody."""
    policies.require(by, "manage_people")
    if by is not None and by.pk == user.pk:
        raise Conflict("nobody takes the second step off his own account: ask another manager")
    with transaction.atomic():
        if not TOTPDevice.objects.filter(user=user).delete()[0]:
            raise Conflict(f"{user.get_username()} has no second step")
        audit.record("end_second_step", user, by=by)
