"""Addresses of the catalogue."""

from __future__ import annotations

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from loft.catalogue.api import ClassViews, PatternViews, RetailListViews, SupplierListViews

router = SimpleRouter(use_regex_path=False)
router.register("classes", ClassViews, basename="class")
router.register("patterns", PatternViews, basename="pattern")
router.register("supplier-lists", SupplierListViews, basename="supplier-list")
router.register("retail-lists", RetailListViews, basename="retail-list")

urlpatterns = [path("api/", include(router.urls))]
