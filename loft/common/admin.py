"""Accounts in the administration: what is changed there stands in the history too."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import Group, User
from django.http import HttpRequest

from loft.common import audit, policies

if TYPE_CHECKING:
    _UserAdmin = UserAdmin[User]
else:
    _UserAdmin = UserAdmin  # generic to the type checker only


class AccountAdmin(_UserAdmin):
    """Accounts are made and switched off here; nobody is deleted who did anything."""

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        super().save_related(request, form, formsets, change)
        user: User = form.instance
        after = {"roles": sorted(policies.roles_in_store(user)), "active": user.is_active, "superuser": user.is_superuser}
        audit.record("change" if change else "create", user, by=request.user if isinstance(request.user, User) else None, after=after)


admin.site.unregister(User)
admin.site.register(User, AccountAdmin)
admin.site.unregister(Group)  # the roles are the policy table's: there are no others to make
