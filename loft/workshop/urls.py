"""Addresses of the floor."""

from __future__ import annotations

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from loft.workshop.api import TicketViews

router = SimpleRouter(use_regex_path=False)
router.register("tickets", TicketViews, basename="ticket")

urlpatterns = [path("api/", include(router.urls))]
