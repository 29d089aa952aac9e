"""Signing in and out, accounts, the loft itself, who did what."""

from __future__ import annotations

from django.urls import path

from loft.common import account_pages, history_page, pages, profile_page, sign_in

urlpatterns = [
    path("login/", sign_in.SignIn.as_view(), name="login"),
    path("logout/", pages.SignOut.as_view(), name="logout"),
    path("account/second-step/", account_pages.second_step, name="second_step"),
    path("people/", account_pages.people, name="people"),
    path("people/<int:pk>/roles/", account_pages.set_roles, name="set_roles"),
    path("people/<int:pk>/second-step/off/", account_pages.end_second_step, name="end_second_step"),
    path("profile/", profile_page.profile, name="loft_profile"),
    path("history/", history_page.history, name="history"),
]
