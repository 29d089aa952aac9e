"""The pages of supplier lists: a table looked at, stored, and taken away."""

from __future__ import annotations

import re

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from loft.catalogue.models import SupplierList

TABLE = b"Artikel,Unit,Price\nTS 170 F,m,18.00\nTS 150 F,m,41.00\n"


def sent(**more: object) -> dict[str, object]:
    return {
        "supplier": "Tarnside Sailcloth", "version": "2027", "valid_from": "2027-01-04", "currency": "GBP",
        "column_their_code": "Artikel", "file": SimpleUploadedFile("list.csv", TABLE), **more,
    }  # fmt: skip


def ticket(client: Client) -> str:
    page = client.post("/supplier-lists/import/", sent())
    assert page.status_code == 200
    found = re.search(r'name="ticket" value="([^"]+)"', page.content.decode())
    assert found
    return found[1]


def test_a_table_is_looked_at_then_stored_and_its_columns_are_remembered(loft: None, at_the_desk: Client) -> None:
    kept = ticket(at_the_desk)
    assert not SupplierList.objects.filter(version="2027").exists()
    refused = at_the_desk.post("/supplier-lists/store/", {"ticket": kept}, follow=True).content.decode()
    assert "look at the suspicious rows first" in refused
    assert not SupplierList.objects.filter(version="2027").exists()
    done = at_the_desk.post("/supplier-lists/store/", {"ticket": kept, "looked_at": "yes"}, follow=True).content.decode()
    assert "Tarnside Sailcloth, list 2027: stored." in done
    assert SupplierList.objects.get(version="2027").prices.count() == 2
    form = at_the_desk.get("/supplier-lists/import/?supplier=Tarnside Sailcloth").content.decode()
    assert 'name="column_their_code" type="text" maxlength="100" value="Artikel"' in form


def test_a_ticket_that_was_changed_stores_nothing(loft: None, at_the_desk: Client) -> None:
    answer = at_the_desk.post("/supplier-lists/store/", {"ticket": ticket(at_the_desk)[:-2] + "xx", "looked_at": "yes"}, follow=True)
    assert "was changed on its way" in answer.content.decode()
    assert not SupplierList.objects.filter(version="2027").exists()


def test_everything_wrong_is_shown_beside_the_form(loft: None, at_the_desk: Client) -> None:
    page = at_the_desk.post("/supplier-lists/import/", sent(file=SimpleUploadedFile("l.csv", b"Artikel,Unit,Price\nNOBODY,m,x\n")))
    assert page.status_code == 400
    assert "row 2.cost" in page.content.decode() and "row 2.material" in page.content.decode()
    assert at_the_desk.post("/supplier-lists/import/", sent(valid_from="soon")).status_code == 400
    assert at_the_desk.post("/supplier-lists/import/", {**sent(), "file": ""}).status_code == 400


def test_a_list_can_be_taken_away_as_csv_and_as_xlsx(loft: None, at_the_desk: Client) -> None:
    row = SupplierList.objects.get(supplier="Tarnside Sailcloth")
    page = at_the_desk.get("/supplier-lists/").content.decode()
    assert f"/supplier-lists/{row.pk}/list.csv" in page
    table = at_the_desk.get(f"/supplier-lists/{row.pk}/list.csv")
    assert b'DW170,TS 170 F,"woven polyester 170 g/m2, fill",m,80,13.95' in table.content
    assert at_the_desk.get(f"/supplier-lists/{row.pk}/list.xlsx").content.startswith(b"PK")
    assert at_the_desk.get(f"/supplier-lists/{row.pk}/list.pdf").status_code == 404


def test_the_floor_sees_and_imports_nothing(loft: None, on_the_floor: Client) -> None:
    assert on_the_floor.get("/supplier-lists/").status_code == 403
    assert on_the_floor.post("/supplier-lists/import/", sent()).status_code == 403
    assert on_the_floor.post("/supplier-lists/store/", {"ticket": "x"}).status_code == 403
