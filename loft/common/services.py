"""Writes that every part of the service needs: the loft profile, roles and gapless numbers."""

from __future__ import annotations

from typing import Any
from zoneinfo import available_timezones

from django.contrib.auth.models import Group, User
from django.core.exceptions import ValidationError
from django.db import connection, transaction
from django.db.models import F

from costing import money
from costing.errors import Collector
from loft.common import audit, policies, versions
from loft.common.models import Counter, LoftProfile


def save_loft_profile(*, by: User | None = None, version: int | None = None, **fields: Any) -> LoftProfile:
    """Store the loft's own details, all of them or none; InputError names every field that is wrong.

    Fields: name, address (lines joined by newlines, or a sequence of lines), email, phone, tax_number, currency,
    date_format, public_base_url, time_zone. version: the one that the change was decided on; Stale when there is a later one.
    """
    policies.require(by, "edit_profile")
    if not isinstance(fields.get("address", ""), str):
        fields["address"] = "\n".join(fields["address"])
    fields["public_base_url"] = fields.get("public_base_url", "").rstrip("/")
    profile = LoftProfile(pk=1, **fields)
    _check_profile(profile)
    with transaction.atomic():
        stored = LoftProfile.objects.filter(pk=1).first()
        if stored is not None:
            versions.take(stored, version)
        LoftProfile.objects.update_or_create(pk=1, defaults=fields)
        before = {} if stored is None else audit.values(stored, *fields)
        audit.record("change", profile, by=by, before=before, after=fields)
    return LoftProfile.objects.get(pk=1)


def _check_profile(profile: LoftProfile) -> None:
    wrong = Collector()
    try:
        profile.clean_fields()
    except ValidationError as error:
        for field, messages in error.message_dict.items():
            wrong.add(field, "invalid", " ".join(messages))
    with wrong.under(""):
        money.currency(profile.currency)
    if profile.time_zone not in available_timezones():
        wrong.add("time_zone", "unknown_time_zone", f"{profile.time_zone!r} is not a zone of the IANA database, such as Europe/London")
    wrong.raise_if_any()


def next_number(*, series: str) -> int:
    """The next number of a series: 1, 2, 3, ... without a gap.

    Call it inside the transaction that uses the number: if that is rolled back the number is given again, and until it
    ends nobody else gets one. RuntimeError outside a transaction.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("next_number() must be called inside the transaction that uses the number")
    Counter.objects.get_or_create(series=series)
    Counter.objects.filter(series=series).update(last=F("last") + 1)
    return Counter.objects.values_list("last", flat=True).get(series=series)


def upcoming_number(*, series: str) -> int:
    """The number that would be given now: a forecast to prepare paper with, to be checked against `next_number`."""
    return (Counter.objects.filter(series=series).values_list("last", flat=True).first() or 0) + 1


def held_number(*, series: str) -> int:
    """The number that `next_number` is certain to give in this transaction: nobody else gets one before it ends."""
    Counter.objects.get_or_create(series=series)
    return Counter.objects.select_for_update().get(series=series).last + 1


def give_role(*, user: User, role: str, by: User | None = None) -> None:
    """Give a person a role; ValueError for one that the policy table does not know."""
    if role not in policies.ROLES:
        raise ValueError(f"{role!r} is not one of {', '.join(policies.ROLES)}")
    policies.require(by, "manage_people")
    with transaction.atomic():
        group, _ = Group.objects.get_or_create(name=role)
        user.groups.add(group)
        audit.record("give_role", user, by=by, after={"role": role})
