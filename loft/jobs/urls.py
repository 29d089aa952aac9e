"""Addresses of the background work in the API."""

from __future__ import annotations

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from loft.jobs.api import JobViews

router = SimpleRouter(use_regex_path=False)
router.register("jobs", JobViews, basename="job")

urlpatterns = [path("api/", include(router.urls))]
