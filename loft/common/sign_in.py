"""Signing in: name and password, the second step of those who have one, and the pause after too many wrong ones."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.models import User
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django_otp.plugins.otp_totp.models import TOTPDevice


class SignInForm(AuthenticationForm):
    """Name, password, and the code for an account with a second step."""

    code = forms.CharField(required=False, max_length=12)

    def confirm_login_allowed(self, user: Any) -> None:
        super().confirm_login_allowed(user)
        device = second_step(user)
        if device is None:
            return
        code = self.data.get("code", "").replace(" ", "")
        if not code:
            raise forms.ValidationError("Give the code of your second step as well.", code="code_missing")
        if not device.verify_token(code):
            raise forms.ValidationError("The code is not right, or was used already: wait for the next one.", code="code_wrong")


class SignIn(LoginView):
    """The form with name, password and code; somebody who is signed in goes on to the order board."""

    template_name = "common/login.html"
    form_class = SignInForm
    redirect_authenticated_user = True


def second_step(user: User) -> TOTPDevice | None:
    """The second step that this account has, if it has one."""
    found: TOTPDevice | None = TOTPDevice.objects.filter(user=user, confirmed=True).first()
    return found


def locked_out(request: HttpRequest, *_: Any, **__: Any) -> HttpResponse:
    """What somebody sees after too many wrong passwords: 429, and when to try again."""
    wait = int(settings.AXES_COOLOFF_TIME.total_seconds())
    response = render(request, "common/locked_out.html", {"minutes": wait // 60}, status=429)
    response["Retry-After"] = str(wait)
    return response
