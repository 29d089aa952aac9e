"""Customers and boats in the admin; measurement sets to read only."""

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


@admin.register(Customer)
class CustomerAdmin(_Admin):
    list_display = ("name", "kind", "email", "buyer")
    search_fields = ("name", "email")


@admin.register(Boat)
class BoatAdmin(_Admin):
    list_display = ("name", "sail_number", "class_code", "owner")
    search_fields = ("name", "sail_number", "owner")


class MeasuredValueInline(_Inline):
    model = MeasuredValue
    extra = 0
    can_delete = False


@admin.register(MeasurementSet)
class MeasurementSetAdmin(_Admin):
    list_display = ("boat", "taken_on", "how")
    list_select_related = ("boat",)
    inlines = (MeasuredValueInline,)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False
