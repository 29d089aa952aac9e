"""The catalogue as the admin shows it: to read, since nothing that was loaded is edited."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.db.models import Model
from django.http import HttpRequest

from loft.catalogue.models import HouseStandard, Material, PatternVersion, RuleEdition, SupplierList, SupplierPrice

if TYPE_CHECKING:
    _Admin = admin.ModelAdmin[Any]
else:
    _Admin = admin.ModelAdmin  # generic to the type checker only


class ReadOnlyAdmin(_Admin):
    """Lists and shows; files are loaded by the load commands."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


@admin.register(RuleEdition)
class RuleEditionAdmin(ReadOnlyAdmin):
    list_display = ("class_name", "edition", "correction", "valid_from", "valid_to")


@admin.register(PatternVersion)
class PatternVersionAdmin(ReadOnlyAdmin):
    list_display = ("code", "version", "name", "class_code")


@admin.register(SupplierList)
class SupplierListAdmin(ReadOnlyAdmin):
    list_display = ("supplier", "version", "valid_from", "valid_to", "currency")


@admin.register(Material)
class MaterialAdmin(ReadOnlyAdmin):
    list_display = ("code", "name", "unit", "role")
    list_filter = ("role",)


@admin.register(SupplierPrice)
class SupplierPriceAdmin(ReadOnlyAdmin):
    list_display = ("material", "supplier_list", "row", "unit", "from_quantity_e3", "unit_cost_e4")
    list_select_related = ("material", "supplier_list")


@admin.register(HouseStandard)
class HouseStandardAdmin(ReadOnlyAdmin):
    list_display = ("version", "valid_from")
