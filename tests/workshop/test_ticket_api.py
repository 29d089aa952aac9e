"""What a ticket waits for, told over HTTP: fit, options, class label; and a sail taken out of work."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from rest_framework.test import APIClient

from loft.common import policies
from loft.common.services import give_role
from loft.customers import fit
from loft.workshop.models import Requirement, Ticket
from tests import desk
from tests.documents import reading

VARIANT = b"boat,owner,sail_number,luff_length,luff_curve\nLinnet,Morwenna Fell,99,5.21 m,0.25:30 0.5:42 0.75:28\n"


@pytest.fixture
def loft(db: None) -> None:
    desk.load_catalogue()


@pytest.fixture
def ticket(loft: None, manager: User) -> Ticket:
    """A sail to a boat's own measurements: its fit is to be confirmed."""
    desk.keep_fit_sheets(desk.accepted(manager, VARIANT))
    return Ticket.objects.get()


def _client(user: User) -> APIClient:
    client = APIClient()
    client.force_login(user)
    return client


def _open(ticket: Ticket) -> set[str]:
    return set(Requirement.objects.filter(ticket=ticket, met_at__isnull=True).values_list("kind", flat=True))


def test_fit_and_label_are_recorded_against_the_version_that_was_read(ticket: Ticket, manager: User) -> None:
    client, place = _client(manager), f"/api/tickets/{ticket.pk}/"
    assert _open(ticket) == {"deposit", "fit", "cloth", "label"}
    tag = client.get(place)["ETag"]
    assert client.post(f"{place}fit/").status_code == 428
    done = client.post(f"{place}fit/", headers={"If-Match": tag})
    assert (done.status_code, _open(ticket)) == (200, {"deposit", "cloth", "label"})
    assert {need["kind"] for need in done.json()["waiting_for"]} == {"deposit", "cloth", "label"}
    late = client.post(f"{place}label/", {"label_number": "SK 0471"}, format="json", headers={"If-Match": tag})
    assert (late.status_code, late.json()["code"]) == (412, "stale")
    sewn = client.post(f"{place}label/", {"label_number": "SK 0471"}, format="json", headers={"If-Match": done["ETag"]})
    assert (sewn.json()["label_number"], _open(ticket)) == ("SK 0471", {"deposit", "cloth"})


def test_options_that_were_taken_back_can_be_confirmed_again(ticket: Ticket, manager: User) -> None:
    Requirement.objects.filter(ticket=ticket, kind="options").update(met_at=None, met_by="")
    done = _client(manager).post(f"/api/tickets/{ticket.pk}/options/", headers={"If-Match": "*"})
    assert (done.status_code, "options" in _open(ticket)) == (200, False)


def test_a_sail_is_scrapped_with_a_reason_once(ticket: Ticket, manager: User) -> None:
    client, place = _client(manager), f"/api/tickets/{ticket.pk}/scrap/"
    assert client.post(place, {"reason": " "}, format="json", headers={"If-Match": "*"}).status_code == 400
    done = client.post(place, {"reason": "torn on the table"}, format="json", headers={"If-Match": "*"})
    assert (done.status_code, done.json()["state"]) == (200, "scrapped")
    assert client.post(place, {"reason": "again"}, format="json", headers={"If-Match": "*"}).status_code == 409


@pytest.mark.parametrize(
    ("role", "fit", "options", "label", "scrap"),
    [
        (policies.OFFICE, 200, 200, 403, 200),
        (policies.CUTTER, 403, 403, 200, 403),
        (policies.SEWER, 403, 403, 200, 403),
        (policies.READER, 403, 403, 403, 403),
    ],
)
def test_who_may_tell_it(ticket: Ticket, role: str, fit: int, options: int, label: int, scrap: int) -> None:
    user = User.objects.create_user(role, f"{role}@loft.example", "a-long-password")
    give_role(user=user, role=role)
    bodies = [("fit", {}, fit), ("options", {}, options), ("label", {"label_number": "7"}, label), ("scrap", {"reason": "torn"}, scrap)]
    for call, body, code in bodies:
        answer = _client(user).post(f"/api/tickets/{ticket.pk}/{call}/", body, format="json", headers={"If-Match": "*"})
        assert answer.status_code == code, call


def keep_for_a_stay(ticket: Ticket) -> None:
    """A fit sheet of the ticket's boat for her headsail alone."""
    boat = fit.boat_of(class_code=ticket.class_code, sail_number=ticket.sail_number, name=ticket.boat, owner=ticket.owner)
    fit.keep(boat=boat, rows={"hoist": fit.Row("4.9 m", "tape along the stay", "Ada", desk.TODAY)}, by=None, now=desk.NOW)


def test_the_fit_is_confirmed_on_the_boat_s_sheet_which_goes_onto_the_ticket(loft: None, manager: User) -> None:
    order = desk.accepted(manager, VARIANT)
    ticket, client = Ticket.objects.get(), _client(manager)
    refused = client.post(f"/api/tickets/{ticket.pk}/fit/", headers={"If-Match": "*"})
    assert (refused.status_code, "fit" in _open(ticket)) == (409, True)
    assert "no fit sheet of Linnet" in refused.json()["message"]
    keep_for_a_stay(ticket)
    refused = client.post(f"/api/tickets/{ticket.pk}/fit/", headers={"If-Match": "*"})
    assert refused.status_code == 409 and "nothing on it that her mainsail must fit" in refused.json()["message"]
    desk.keep_fit_sheets(order)
    assert client.post(f"/api/tickets/{ticket.pk}/fit/", headers={"If-Match": "*"}).status_code == 200
    ticket.refresh_from_db()
    assert ["Luff groove, inside", "9.5 mm", "calliper", ticket.owner, "2026-03-01"] in ticket.fit
    assert "Longest hoist" not in [what for what, *_ in ticket.fit]
    text = reading.text(client.get(f"/api/tickets/{ticket.pk}/sheets/finisher/").content)
    assert "Fit sheet of the boat" in text and f"calliper; {ticket.owner}, 2026-03-01" in text
