"""Lays and rolls on the screen: from the sails that wait to the cut section, with what was typed wrong."""

from __future__ import annotations

import io
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client
from ezdxf import filemanagement

from loft.common import idempotency
from loft.jobs import services as jobs
from loft.jobs.models import Job
from loft.orders import services as desk_writes
from loft.orders.models import Order
from loft.workshop import lay_planning, services
from loft.workshop.models import Lay, LaySection, Remake, Roll, Step, Ticket
from loft.workshop.states import LayState
from tests import desk
from tests.documents import reading


@pytest.fixture
def client(client: Client, manager: User) -> Client:
    client.force_login(manager)
    return client


def post(client: Client, path: str, **fields: object) -> str:
    """Send a form as a browser would and return the page that follows."""
    data = {idempotency.FIELD: idempotency.new_key(), **fields}
    return client.post(path, data, follow=True).content.decode()


def begun(client: Client) -> Lay:
    chosen = list(Ticket.objects.values_list("pk", flat=True))
    post(client, "/lays/new/", ticket=chosen, thorough="quick")
    return Lay.objects.get()


def planned(client: Client) -> Lay:
    lay = begun(client)
    assert jobs.run_one(pk=Job.objects.get(key=lay_planning.job_key(lay)).pk)
    lay.refresh_from_db()
    return lay


def book(client: Client, **fields: str) -> str:
    told = {"name": "R-7", "cloth_code": "DW170", "colour": "white", "lot": "1180", "length": "40 m", "usable_width": "1355"}
    return post(client, "/rolls/new/", **{**told, **fields})


def test_the_empty_pages_say_what_to_do(client: Client, loft: None) -> None:
    assert "No sail waits" in client.get("/lays/").content.decode()
    assert "No roll is booked yet" in client.get("/rolls/").content.decode()


def test_from_the_list_to_a_cut_section(client: Client, accepted: Order, manager: User) -> None:
    desk_writes.record_payment(
        order=accepted, amount=Decimal(accepted.deposit_minor) / 100, received_on=desk.TODAY, by=manager, now=desk.NOW
    )
    for ticket in Ticket.objects.all():
        services.confirm_fit(ticket=ticket, fit=desk.FIT, by=manager, now=desk.NOW)
    assert "DW170 white" in client.get("/lays/").content.decode()
    lay = begun(client)
    page = client.get(f"/lays/{lay.pk}/").content.decode()
    assert "waiting for a worker" in page
    assert 'http-equiv="refresh"' in page
    assert jobs.run_one(pk=Job.objects.get(key=lay_planning.job_key(lay)).pk)
    assert "R-7" in book(client, flaws="7.4 m to 7.6 m")
    lay.refresh_from_db()
    said = post(client, f"/lays/{lay.pk}/rolls/", version=lay.version)
    assert "Every section has its place" in said
    assert 'http-equiv="refresh"' not in said
    lay.refresh_from_db()
    for section in LaySection.objects.filter(lay=lay).order_by("number"):
        lay.refresh_from_db()
        path = f"/lays/{lay.pk}/sections/{section.number}/"
        said = post(client, f"{path}cut/", actual=f"{section.length_mm / 1000 + 0.02:.3f}", version=lay.version)
        assert f"Section {section.number} is cut" in said
    lay.refresh_from_db()
    assert lay.state == LayState.CUT
    assert "Shares by net area" in client.get(f"/lays/{lay.pk}/").content.decode()
    ticket = Ticket.objects.order_by("number")[0]
    assert "L-0001" in client.get(f"/tickets/{ticket.pk}/").content.decode()
    assert "lay L-0001" in reading.text(client.get(f"/tickets/{ticket.pk}/cutter.pdf").content)


def test_metres_typed_wrong_are_told_and_nothing_is_cut(client: Client, accepted: Order) -> None:
    lay = planned(client)
    book(client)
    lay.refresh_from_db()
    post(client, f"/lays/{lay.pk}/rolls/", version=lay.version)
    lay.refresh_from_db()
    assert "Not done: actual metres" in post(client, f"/lays/{lay.pk}/sections/1/cut/", actual="7,5", version=lay.version)
    assert LaySection.objects.filter(cut_at__isnull=False).count() == 0


def test_everything_wrong_with_a_roll_at_once(client: Client, loft: None) -> None:
    page = book(client, length="40,5 m", usable_width="wide", flaws="somewhere\n7.6 m to 7.4 m")
    assert "4 things are wrong" in page
    assert Roll.objects.count() == 0
    assert "there is a roll" in (book(client) and book(client))
    assert Roll.objects.count() == 1


def test_the_sheet_and_the_files_of_a_lay(client: Client, accepted: Order) -> None:
    lay = planned(client)
    words = reading.text(client.get(f"/lays/{lay.pk}/sheet.pdf").content)
    assert "Lay L-0001" in words
    assert "on no roll yet" in words
    assert "HELD" in words
    for layers in ("plain", "d6673"):
        answer = client.get(f"/lays/{lay.pk}/sections/1-{layers}.dxf")
        assert answer["Content-Disposition"] == f'attachment; filename="L-0001-section-1-{layers}.dxf"'
        assert len(filemanagement.read(io.StringIO(answer.content.decode())).modelspace()) > 10
    assert client.get(f"/lays/{lay.pk}/sections/1-other.dxf").status_code == 404
    assert client.get(f"/lays/{lay.pk}/sections/9.svg").status_code == 404
    for section in LaySection.objects.filter(lay=lay):
        drawing = client.get(f"/lays/{lay.pk}/sections/{section.number}.svg").content.decode()
        assert f"Section {section.number}" in drawing
        assert f"Section {3 - section.number}" not in drawing
    numbers = range(1, 1 + LaySection.objects.filter(lay=lay).count())
    whole = "".join(client.get(f"/lays/{lay.pk}/sections/{number}-plain.dxf").content.decode() for number in numbers)
    assert "O-0001-01 Heron 214" in whole
    assert "number 214 port" in whole
    ticket = Ticket.objects.order_by("number")[0]
    for path in (f"/tickets/{ticket.pk}/parts-plain.dxf", f"/tickets/{ticket.pk}/lays/1/1-d6673.dxf"):
        written = client.get(path).content.decode()
        assert ticket.order_number in written
        assert "number 214 starboard" in written


def test_no_sail_ticked_is_told(client: Client, accepted: Order) -> None:
    assert "choose the sails" in post(client, "/lays/new/", thorough="quick")
    assert Lay.objects.count() == 0


def test_a_spoiled_panel_from_the_tickets_page_to_its_lay(client: Client, accepted: Order) -> None:
    ticket = Ticket.objects.order_by("number")[0]
    Ticket.objects.filter(pk=ticket.pk).update(state="released", released_at=desk.NOW)
    page = client.get(f"/tickets/{ticket.pk}/").content.decode()
    assert 'name="part" value="P3"' in page
    said = post(client, f"/tickets/{ticket.pk}/remakes/", part=["P3"], reason="torn", version=ticket.version)
    assert "P3 is not cut yet: cutting by the own lay of the sail has not begun" in said
    Step.objects.filter(ticket=ticket, station="cutter").update(started_at=desk.NOW)
    said = post(client, f"/tickets/{ticket.pk}/remakes/", part=["P3", "CLEW-2"], reason="torn", version=ticket.version)
    assert "P3, CLEW-2 wait under Lays, DW170 white." in said
    assert "Waits to be laid" in said
    assert "cut again: P3, CLEW-2 (torn)" in client.get("/lays/").content.decode()
    post(client, "/lays/new/", remake=Remake.objects.get().pk, cloth="DW170", colour="white", thorough="quick")
    lay = Lay.objects.get()
    assert jobs.run_one(pk=Job.objects.get(key=lay_planning.job_key(lay)).pk)
    assert "cut again: P3, CLEW-2" in client.get(f"/lays/{lay.pk}/").content.decode()
    words = reading.text(client.get(f"/lays/{lay.pk}/sheet.pdf").content)
    assert "cut again: P3, CLEW-2" in words


def test_film_of_the_batch_is_laid_from_its_own_form(client: Client, accepted: Order) -> None:
    assert '<input type="hidden" name="cloth" value="FILM-05">' in client.get("/lays/").content.decode()
    post(client, "/lays/new/", ticket=list(Ticket.objects.values_list("pk", flat=True)), cloth="FILM-05", colour="", thorough="quick")
    lay = Lay.objects.get()
    assert jobs.run_one(pk=Job.objects.get(key=lay_planning.job_key(lay)).pk)
    assert "FILM-05" in reading.text(client.get(f"/lays/{lay.pk}/sheet.pdf").content)
    for layers in ("plain", "d6673"):
        assert client.get(f"/lays/{lay.pk}/sections/1-{layers}.dxf").status_code == 200
    ticket = Ticket.objects.order_by("number")[0]
    assert "lay L-0001 (FILM-05)" in reading.text(client.get(f"/tickets/{ticket.pk}/cutter.pdf").content)
    for layers in ("plain", "d6673"):
        assert client.get(f"/tickets/{ticket.pk}/lays/2/1-{layers}.dxf").status_code == 200


def test_nothing_is_printed_of_a_lay_that_is_planned_again(client: Client, accepted: Order, manager: User) -> None:
    """Its old sections still hold a sail that was taken off: neither sheet nor cut file leaves the house."""
    lay = planned(client)
    services.scrap(ticket=Ticket.objects.order_by("number")[0], reason="given up", now=desk.NOW, by=manager)
    assert client.get(f"/lays/{lay.pk}/sheet.pdf").status_code == 404
    for layers in ("plain", "d6673"):
        assert client.get(f"/lays/{lay.pk}/sections/1-{layers}.dxf").status_code == 409
    page = client.get(f"/lays/{lay.pk}/").content.decode()
    assert "Not to be cut as it lies" in page
    assert "DXF" not in page
    lay.refresh_from_db()
    assert jobs.run_one(pk=Job.objects.get(key=lay_planning.job_key(lay)).pk)
    words = reading.text(client.get(f"/lays/{lay.pk}/sheet.pdf").content)
    assert "Linnet" in words
    assert "Heron" not in words
    assert client.get(f"/lays/{lay.pk}/sections/1-plain.dxf").status_code == 200
