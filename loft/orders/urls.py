"""Addresses of the desk, and of the API's own description."""

from __future__ import annotations

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerView
from rest_framework.routers import SimpleRouter

from loft.orders.api import OrderViews, QuoteViews

router = SimpleRouter(use_regex_path=False)
router.register("quotes", QuoteViews, basename="quote")
router.register("orders", OrderViews, basename="order")

urlpatterns = [
    path("api/", include(router.urls)),
    path("api/schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("api/docs/", SpectacularSwaggerView.as_view(url_name="api-schema"), name="api-docs"),
]
