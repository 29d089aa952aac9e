"""Addresses of the desk, and of the API's own description."""

from __future__ import annotations

from django.urls import include, path, re_path
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.routers import SimpleRouter

from loft.common import api_errors
from loft.orders.api import OrderViews, QuoteViews
from loft.orders.changes_api import ChangeViews
from loft.orders.editions_api import WouldBreachViews
from loft.orders.fit_api import FitViews
from loft.orders.letters_api import LetterViews
from loft.orders.members_api import MemberViews
from loft.orders.refunds_api import RefundViews

router = SimpleRouter(use_regex_path=False)
router.register("quotes", QuoteViews, basename="quote")
router.register("would-breach", WouldBreachViews, basename="would-breach")
router.register("letters", LetterViews, basename="letter")
router.register("orders", OrderViews, basename="order")

urlpatterns = [
    path("api/", include(router.urls)),
    path("api/orders/<int:pk>/changes/", ChangeViews.as_view({"get": "list", "post": "create"}), name="order-changes"),
    path("api/orders/<int:pk>/changes/<int:revision>/cancel/", ChangeViews.as_view({"post": "cancel"}), name="order-change-cancel"),
    path("api/orders/<int:pk>/refunds/", RefundViews.as_view({"post": "create"}), name="order-refunds"),
    path("api/tickets/<int:pk>/fit/", FitViews.as_view({"post": "fit"}), name="ticket-fit"),
    path("api/orders/<int:pk>/members/", MemberViews.as_view({"get": "list"}), name="order-members"),
    path("api/orders/<int:pk>/members/letters/", MemberViews.as_view({"post": "write"}), name="order-member-letters"),
    path("api/schema/", SpectacularAPIView.as_view(), name="api-schema"),
    # The split view keeps its script in an answer of its own: our content policy runs no inline script.
    path("api/docs/", SpectacularSwaggerSplitView.as_view(url_name="api-schema", template_name="orders/api_docs.html"), name="api-docs"),
    # The last address below /api/: no list of addresses for programs comes after this one.
    re_path(r"^api/", api_errors.no_such_address),
]
