"""Who may call what in the API: each view names, for each of its actions, the action of the policy table."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, Concatenate, ParamSpec, TypeVar

from django.contrib.auth.models import User
from django.http import HttpResponse
from django.utils import timezone
from rest_framework.exceptions import NotAuthenticated
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from loft.common import limits, policies

P = ParamSpec("P")
View = TypeVar("View")


def person(request: Request) -> User:
    """Who is signed in."""
    if not isinstance(request.user, User):
        raise NotAuthenticated
    return request.user


def drawn(handler: Callable[Concatenate[View, Request, P], HttpResponse]) -> Callable[Concatenate[View, Request, P], HttpResponse]:
    """Decorate a handler that draws a paper: TooMany (429) when one account asks without end, counted with its pages."""

    @functools.wraps(handler)
    def counted(view: View, request: Request, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        limits.count(limits.DRAWN, str(person(request).pk), now=timezone.now())
        return handler(view, request, *args, **kwargs)

    return counted


class ByPolicy(BasePermission):
    """Asks the policy table for the action that `view.policy` names; an action without a name is refused."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if not request.user.is_authenticated:
            return False
        if view.action is None or view.action == "metadata":  # another method: DRF answers 405, or describes the view
            return True
        policies.require(request.user, view.policy[view.action])
        return True
