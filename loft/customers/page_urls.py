"""Addresses of the customers' pages."""

from __future__ import annotations

from django.urls import path

from loft.customers import pages

urlpatterns = [
    path("customers/<int:pk>/", pages.edit, name="edit_customer"),
    path("boats/<int:pk>/", pages.edit_boat, name="edit_boat"),
]
