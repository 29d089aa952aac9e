"""Who may call what in the API: each view names, for each of its actions, the action of the policy table."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from rest_framework.exceptions import NotAuthenticated
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from loft.common import policies


def person(request: Request) -> User:
    """Who is signed in."""
    if not isinstance(request.user, User):
        raise NotAuthenticated
    return request.user


class ByPolicy(BasePermission):
    """Asks the policy table for the action that `view.policy` names; an action without a name is refused."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if not request.user.is_authenticated:
            return False
        if view.action is None or view.action == "metadata":  # another method: DRF answers 405, or describes the view
            return True
        policies.require(request.user, view.policy[view.action])
        return True
