"""Signing in and out."""

from __future__ import annotations

from django.urls import path

from loft.common import pages, sign_in

urlpatterns = [
    path("login/", sign_in.SignIn.as_view(), name="login"),
    path("logout/", pages.SignOut.as_view(), name="logout"),
]
