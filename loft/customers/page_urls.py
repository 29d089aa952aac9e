"""Addresses of the customers' pages."""

from __future__ import annotations

from django.urls import path

from loft.customers import boat_pages, pages

urlpatterns = [
    path("customers/<int:pk>/", pages.edit, name="edit_customer"),
    path("boats/<int:pk>/", pages.edit_boat, name="edit_boat"),
    path("boats/<int:pk>/fit/", boat_pages.fit_sheet, name="fit_sheet"),
    path("boats/<int:pk>/measurements/", boat_pages.measurements, name="boat_measurements"),
    path("boats/<int:pk>/measure-<slug:kind>.pdf", boat_pages.sheet, name="measuring_sheet"),
]
