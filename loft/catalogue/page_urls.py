"""Addresses of the catalogue's pages."""

from __future__ import annotations

from django.urls import path

from loft.catalogue import pages, rate_pages

urlpatterns = [
    path("supplier-lists/", pages.supplier_lists, name="supplier_lists"),
    path("rates/", rate_pages.rate_list, name="rates"),
    path("rates/type/", rate_pages.type_rate, name="type_rate"),
    path("supplier-lists/import/", pages.import_list, name="import_list"),
    path("supplier-lists/store/", pages.store_list, name="store_list"),
    path("supplier-lists/<int:pk>/list.<str:kind>", pages.export_list, name="export_list"),
]
