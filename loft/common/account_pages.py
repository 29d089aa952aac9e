"""Pages of accounts: the people and their roles for managers, and everybody's own second step."""

from __future__ import annotations

import base64
import binascii

import segno
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_otp.plugins.otp_totp.models import TOTPDevice

from loft.common import accounts, pages, policies, sign_in


@require_GET
@pages.may("manage_people")
def people(request: HttpRequest) -> HttpResponse:
    """Every account with its roles."""
    guarded = set(TOTPDevice.objects.filter(confirmed=True).values_list("user_id", flat=True))
    rows = [(user, policies.roles_in_store(user), user.pk in guarded) for user in User.objects.order_by("username")]
    return render(request, "common/people.html", {"place": "people", "rows": rows, "roles": policies.ROLES})


@require_POST
@pages.may("manage_people")
def set_roles(request: HttpRequest, pk: int) -> HttpResponse:
    """Give an account exactly the roles that are ticked."""
    user = accounts.account(pk)

    def write() -> str:
        roles, active = request.POST.getlist("roles"), bool(request.POST.get("active"))
        accounts.set_roles(user=user, roles=roles, active=active, by=pages.person(request))
        return f"{user.get_username()}: {', '.join(roles) or 'no role'}{'' if active else ', switched off'}."

    return pages.done(request, write, back="/people/")


@require_POST
@pages.may("manage_people")
def end_second_step(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the second step off somebody whose authenticator is lost."""
    user = accounts.account(pk)

    def write() -> str:
        accounts.end_second_step(user=user, by=pages.person(request))
        return f"{user.get_username()} signs in with the password alone until a new second step is set up."

    return pages.done(request, write, back="/people/")


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def second_step(request: HttpRequest) -> HttpResponse:
    """One's own second step: GET shows how it stands, POST begins one or confirms it with a code."""
    user = pages.person(request)
    if request.method != "POST":
        return render(request, "common/second_step.html", {"in_force": sign_in.second_step(user) is not None})
    if "code" not in request.POST:
        return _show_key(request, accounts.begin_second_step(user=user))

    def write() -> str:
        accounts.confirm_second_step(user=user, code=request.POST["code"])
        return "The second step is in force: the next sign-in asks for a code."

    response = pages.done(request, write, back=request.path)
    if sign_in.second_step(user) is not None:
        return response
    list(messages.get_messages(request))  # the page below says it where the code is typed
    device = TOTPDevice.objects.filter(user=user, confirmed=False).first()
    return redirect("second_step") if device is None else _show_key(request, device, wrong=True)


def _show_key(request: HttpRequest, device: TOTPDevice, *, wrong: bool = False) -> HttpResponse:
    """The key as a picture for the authenticator, and as letters to type."""
    picture = segno.make(device.config_url, error="m").svg_data_uri(scale=5)
    letters = base64.b32encode(binascii.unhexlify(device.key)).decode()
    context = {"picture": picture, "letters": " ".join(letters[i : i + 4] for i in range(0, len(letters), 4)), "wrong": wrong}
    return render(request, "common/second_step.html", context, status=400 if wrong else 200)
