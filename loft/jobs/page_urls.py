"""Addresses of the background work's pages."""

from __future__ import annotations

from django.urls import path

from loft.jobs import pages

urlpatterns = [
    path("jobs/", pages.job_list, name="job_list"),
    path("jobs/<int:pk>/cancel/", pages.cancel, name="cancel_job"),
    path("jobs/<int:pk>/run-again/", pages.run_again, name="run_job_again"),
]
