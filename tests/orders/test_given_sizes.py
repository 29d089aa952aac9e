"""The rig that a list gives: on the quote with its value and, where it is on record, how it was measured, by whom and when."""

from __future__ import annotations

from datetime import date

import pytest
from django.contrib.auth.models import User
from django.test import Client

from costing.measurements import SailKind
from loft.customers import measuring
from loft.customers.models import Boat
from loft.orders import paper, services
from tests import desk

pytestmark = pytest.mark.usefixtures("loft")

LIST = b"boat,owner,sail_number,boom_band_distance\nHeron,Maud Pellow,214,%s\n"
DECIDES = "it decides the foot length, 2,440 mm: boom band distance (E) of 2,460 mm less 20 mm that the relaxed edge stays short of it"


def measured(boom: str) -> None:
    heron = Boat.objects.create(class_code="SK13", sail_number="214", name="Heron", owner="Maud Pellow")
    taken = measuring.Taken(date(2026, 2, 20), "steel tape along the boom", "Jory Ash")
    measuring.keep(boat=heron, kind=SailKind.MAINSAIL, readings={"boom_band_distance": [boom]}, taken=taken, by=None)


def test_a_boom_on_record_is_told_with_who_measured_it() -> None:
    measured("2460 mm")
    batch = paper.thaw(desk.draft(LIST % b"2.46 m"))
    said = f"boom band distance (E) 2,460 mm, measured by Jory Ash on 2026-02-20 (steel tape along the boom): {DECIDES}"
    assert batch.sails[0].given == (said,)


def test_page_and_api_tell_it_too(manager: User) -> None:
    revision = desk.draft(LIST % b"2.46 m", by=manager)
    client = Client()
    client.force_login(manager)
    page = client.get(f"/quotes/{revision.quote_id}/").content.decode()
    said = f"boom band distance (E) 2,460 mm: {DECIDES}"
    assert f"Line 1, Heron 214 (row 2 of the list of boats): {said}" in page
    sail = client.get(f"/api/quotes/{revision.quote_id}/").json()["batch"]["sails"][0]
    assert sail["given"] == [said]
    assert ["Sail numbers on both sides", "C.6.6 (a)"] in sail["required"]


def test_a_list_that_repeats_it_does_not_take_its_place(manager: User) -> None:
    """Issued, the first list is on record and newer; who measured the boom is still told."""
    measured("2460 mm")
    services.issue(revision=desk.draft(LIST % b"2.46 m", by=manager), by=manager, now=desk.NOW)
    (said,) = paper.thaw(desk.draft(LIST % b"2460 mm")).sails[0].given
    assert "measured by Jory Ash on 2026-02-20" in said


def test_a_list_that_says_otherwise_is_not_told_as_measured() -> None:
    measured("2465 mm")
    assert paper.thaw(desk.draft(LIST % b"2.46 m")).sails[0].given == (f"boom band distance (E) 2,460 mm: {DECIDES}",)
