"""The addresses of the service: each app keeps its own lists, one for programs and one for people."""

from __future__ import annotations

from django.contrib import admin
from django.urls import URLPattern, URLResolver, include, path

from loft.common import health
from loft.jobs import pages as jobs_pages

urlpatterns: list[URLPattern | URLResolver] = [
    path("healthz", health.healthz, name="healthz"),
    path("readyz", jobs_pages.readyz, name="readyz"),
    path("admin/", admin.site.urls),
    *(path("", include(f"loft.{app}.urls")) for app in ("catalogue", "customers", "workshop", "orders")),
    *(path("", include(f"loft.{app}.page_urls")) for app in ("common", "customers", "workshop", "orders")),
]
