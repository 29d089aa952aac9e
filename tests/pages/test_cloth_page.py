"""Another cloth for a quote: verdicts with reasons, one step to a new revision or to a change of the order, and where the cloth is used."""

from __future__ import annotations

import csv
import io

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from loft.catalogue import services as catalogue
from loft.customers import boats_csv
from loft.orders import paper, substitutes
from loft.orders.models import Order, Revision
from tests import desk, skerling


@pytest.fixture
def priced(loft: None) -> None:
    """DW185 is on a list too, dearer than DW170, so that a sail can be priced with it."""
    row = '[[rows]]\nrow = 13\nmaterial = "DW185"\ntheir_code = "TS 185 F"\nunit = "m"\nbreaks = [{ from = 0, cost = 17.90 }]\n'
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026c"').replace("2026-01-05", "2026-02-02")
    catalogue.load_prices(text=text + row)


def test_a_draft_is_priced_with_the_other_cloth_in_one_step(priced: None, manager: User, at_the_desk: Client) -> None:
    draft = desk.draft(by=manager)
    page = at_the_desk.get(f"/quotes/{draft.quote_id}/cloth/").content.decode()
    assert "Price with DW185" in page and "Price with DW150" not in page
    assert "DW150 weighs 149" in page
    sent = {"revision": 1, "old": "DW170", "new": "DW185"}
    answer = at_the_desk.post(f"/quotes/{draft.quote_id}/cloth/substitute/", sent, follow=True)
    assert "Priced with DW185 in place of DW170: revision 2." in answer.content.decode()
    row = Revision.objects.get(quote=draft.quote_id, revision=2)
    batch, before = paper.thaw(row), paper.thaw(draft)
    assert {line.code for sail in batch.sails for line in sail.cost_lines if line.group == "cloth"} == {"DW185", "FILM-05", "end-of-roll"}
    assert batch.cost > before.cost
    assert [s.colour for s in batch.sails] == [s.colour for s in before.sails]
    assert Revision.objects.get(pk=draft.pk).state == "superseded"


def test_a_cloth_that_cannot_stand_in_changes_nothing(priced: None, manager: User, at_the_desk: Client) -> None:
    draft = desk.draft(by=manager)
    for new, said in (("WP175", "orientation: WP175 is warp"), ("SILK", "is not one of")):
        sent = {"revision": 1, "old": "DW170", "new": new}
        answer = at_the_desk.post(f"/quotes/{draft.quote_id}/cloth/substitute/", sent, follow=True)
        assert said in answer.content.decode()
    assert Revision.objects.count() == 1


def test_what_is_issued_takes_a_revision(priced: None, issued: Revision, at_the_desk: Client) -> None:
    page = at_the_desk.get(f"/quotes/{issued.quote_id}/cloth/").content.decode()
    assert "the customer says yes to the new one" in page and "Draft a revision with DW185" in page
    sent = {"revision": 1, "old": "DW170", "new": "DW185"}
    assert at_the_desk.post(f"/quotes/{issued.quote_id}/cloth/substitute/", sent).status_code == 302
    assert list(Revision.objects.order_by("revision").values_list("revision", "state")) == [(1, "superseded"), (2, "draft")]
    assert at_the_desk.post(f"/quotes/{issued.quote_id}/cloth/substitute/", sent).status_code in (409, 412)
    assert Revision.objects.count() == 2


def test_what_is_accepted_takes_a_change_that_the_customer_signs(priced: None, accepted: Order, at_the_desk: Client) -> None:
    quote, contract = accepted.revision.quote_id, accepted.revision_id
    page = at_the_desk.get(f"/quotes/{quote}/cloth/").content.decode()
    assert "This quote has become O-0001" in page and "Draft a change with DW185" in page
    sent = {"revision": 1, "old": "DW170", "new": "DW185"}
    said = at_the_desk.post(f"/quotes/{quote}/cloth/substitute/", sent, follow=True).content.decode()
    assert "so that the customer can say yes to the change of the order" in said
    change = Revision.objects.get(revision=2)
    assert (change.change, change.state) == (True, "draft")
    assert {c.code for s in paper.thaw(change).sails for c in s.cost_lines if c.group == "cloth"} == {"DW185", "FILM-05", "end-of-roll"}
    assert Order.objects.get().revision_id == contract


def test_where_a_cloth_is_used_counts_quotes_and_orders(accepted: Order, manager: User) -> None:
    batch = paper.thaw(accepted.revision)
    metres = sum(line.quantity for sail in batch.sails for line in sail.cost_lines if line.code == "DW170")
    quoted, ordered = substitutes.where_used("DW170", now=timezone.now())
    assert (quoted.quotes, quoted.metres, ordered.quotes, ordered.metres) == (0, 0, 1, metres)


def test_the_list_of_boats_keeps_every_other_cell() -> None:
    text = 'Boat;owner;sail_number;colour;note;cloth\nHeron;M. Pellow;214;;"a; b";\nTeal;A. Ott;78;red;;DW185\nWren;B. Lund;5;red;;DW170\n'
    changed = boats_csv.with_cloth(text.encode(), old="DW170", new="X1", default="DW170", old_colour="white").decode()
    assert list(csv.reader(io.StringIO(changed), delimiter=";")) == [
        ["boat", "owner", "sail_number", "colour", "note", "cloth"],
        ["Heron", "M. Pellow", "214", "white", "a; b", "X1"],
        ["Teal", "A. Ott", "78", "red", "", "DW185"],
        ["Wren", "B. Lund", "5", "red", "", "X1"],
    ]
