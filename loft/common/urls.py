"""Address of the loft's own details in the API."""

from __future__ import annotations

from django.urls import path

from loft.common.api import ProfileView

urlpatterns = [path("api/profile/", ProfileView.as_view(), name="profile")]
