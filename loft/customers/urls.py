"""Addresses of customers and boats."""

from __future__ import annotations

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from loft.customers.api import BoatViews, CustomerViews

router = SimpleRouter(use_regex_path=False)
router.register("customers", CustomerViews, basename="customer")
router.register("boats", BoatViews, basename="boat")

urlpatterns = [path("api/", include(router.urls))]
