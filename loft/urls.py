"""The addresses of the service: each app keeps its own lists, one for programs and one for people."""

from __future__ import annotations

from django.contrib import admin
from django.urls import URLPattern, URLResolver, include, path
from django.views.generic import RedirectView

from loft.common import health
from loft.jobs import pages as jobs_pages

urlpatterns: list[URLPattern | URLResolver] = [
    path("healthz", health.healthz, name="healthz"),
    path("readyz", jobs_pages.readyz, name="readyz"),
    # The administration's own form knows no second step: everybody signs in at /login/.
    path("admin/login/", RedirectView.as_view(url="/login/?next=/admin/")),
    path("admin/", admin.site.urls),
    *(path("", include(f"loft.{app}.urls")) for app in ("common", "jobs", "catalogue", "customers", "workshop", "orders")),
    *(path("", include(f"loft.{app}.page_urls")) for app in ("common", "jobs", "catalogue", "customers", "workshop", "orders")),
]
