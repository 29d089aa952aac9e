"""Customers, boats and measurement sets in the admin, to read: they are changed on their own pages, which keep the history."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.db.models import Model
from django.http import HttpRequest

from loft.customers.models import Boat, Customer, MeasuredValue, MeasurementSet

if TYPE_CHECKING:
    _Admin = admin.ModelAdmin[Any]
    _Inline = admin.TabularInline[Any, Any]
else:
    _Admin, _Inline = admin.ModelAdmin, admin.TabularInline  # generic to the type checker only


class ToReadAdmin(_Admin):
    """Lists and shows."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


@admin.register(Customer)
class CustomerAdmin(ToReadAdmin):
    list_display = ("name", "kind", "email", "buyer")
    search_fields = ("name", "email")


@admin.register(Boat)
class BoatAdmin(ToReadAdmin):
    list_display = ("name", "sail_number", "class_code", "owner", "email")
    search_fields = ("name", "sail_number", "owner", "email")


class MeasuredValueInline(_Inline):
    model = MeasuredValue
    extra = 0
    can_delete = False


@admin.register(MeasurementSet)
class MeasurementSetAdmin(ToReadAdmin):
    list_display = ("boat", "taken_on", "how")
    list_select_related = ("boat",)
    inlines = (MeasuredValueInline,)
