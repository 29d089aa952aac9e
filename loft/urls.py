"""The addresses of the service: each app keeps its own list."""

from __future__ import annotations

from importlib.util import find_spec

from django.contrib import admin
from django.urls import URLPattern, URLResolver, include, path

from loft.common import health
from loft.jobs import pages as jobs_pages

urlpatterns: list[URLPattern | URLResolver] = [
    path("healthz", health.healthz, name="healthz"),
    path("readyz", jobs_pages.readyz, name="readyz"),
    path("admin/", admin.site.urls),
]
for name in ("loft.catalogue", "loft.customers", "loft.workshop", "loft.orders"):
    if find_spec(f"{name}.urls"):
        urlpatterns.append(path("", include(f"{name}.urls")))
for name in ("loft.common", "loft.customers", "loft.workshop", "loft.orders"):
    urlpatterns.append(path("", include(f"{name}.page_urls")))
