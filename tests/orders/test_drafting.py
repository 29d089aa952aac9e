"""Drafting and revising: what is stored, and that a refusal stores nothing."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from costing.errors import InputError
from loft.common.errors import Conflict, NotFound
from loft.customers import services as customers
from loft.customers.models import Boat, Customer, MeasurementSet
from loft.orders import links, paper, pricing, selectors, services
from loft.orders.models import AcceptanceLink, Quote, Revision
from loft.workshop.models import Design
from tests import desk

BROKEN = b"boat,owner,sail_number,half_width\nHeron,Maud Pellow,214,1.45 m\nDipper,Tobias Wray,187,1480\nLinnet,Maud Fell,to follow,14450\n"


def test_a_draft_has_no_number_and_keeps_its_figures_to_the_byte(loft: None) -> None:
    row = Revision.objects.get(pk=desk.draft().pk)
    batch = paper.thaw(row)
    assert (row.state, row.quote.number, row.revision, row.sails, row.currency) == ("draft", None, 1, 2, "GBP")
    assert (row.net_minor, row.gross_minor) == (int(batch.totals.net * 100), int(batch.totals.gross * 100))
    assert [s.label for s in batch.sails] == ["Heron 214", "Linnet (number to follow)"]
    assert Design.objects.filter(key__in={s.design_key for s in batch.sails}).count() == 2


def test_the_snapshot_does_not_move_when_prices_do(loft: None) -> None:
    row = desk.draft(desk.ONE_BOAT)
    before = paper.thaw(row).totals
    services.revise(quote=row.quote, on=desk.TODAY, now=desk.NOW)
    assert paper.thaw(Revision.objects.get(pk=row.pk)).totals == before


def test_a_refused_list_names_every_row_and_stores_nothing(loft: None) -> None:
    customer = Customer(kind="person", name="New Customer", buyer="private")
    with pytest.raises(InputError) as refused:
        services.draft_batch(customer=customer, pattern=desk.PATTERN, boats=BROKEN, on=desk.TODAY, now=desk.NOW, by=None)
    assert {p.path for p in refused.value.problems} == {"row 3.half_width", "row 4.half_width"}
    stored = [model.objects.count() for model in (Quote, Revision, Customer, Boat, Design)]
    assert stored == [0, 0, 0, 0, 0]


def test_a_known_design_is_not_computed_again(loft: None, monkeypatch: pytest.MonkeyPatch) -> None:
    desk.draft()
    first = {d.key: d.created_at for d in Design.objects.all()}
    priced = pricing.price(customer="x", buyer="trade", pattern=desk.PATTERN, boats=desk.TWO_BOATS, terms="", on=desk.TODAY)
    assert priced.fresh_keys == frozenset()
    services.draft_batch(
        customer=desk.association(), pattern=desk.PATTERN, boats=desk.TWO_BOATS, on=desk.TODAY, now=desk.NOW + timedelta(days=1), by=None
    )
    assert {d.key: d.created_at for d in Design.objects.all()} == first


def test_stored_designs_give_the_same_price_as_fresh_ones(loft: None) -> None:
    fresh, known = desk.draft(), desk.draft()
    assert bytes(fresh.snapshot) == bytes(known.snapshot)


def test_the_number_of_statements_does_not_grow_with_the_boats(loft: None) -> None:
    customer = desk.association()
    many = desk.TWO_BOATS + b"".join(f"Boat {i},Owner {i},{300 + i},5.2{i % 3} m,,window\n".encode() for i in range(38))
    counts = []
    for boats in (desk.TWO_BOATS, many):
        MeasurementSet.objects.all().delete()
        Boat.objects.all().delete()
        with CaptureQueriesContext(connection) as queries:
            desk.draft(boats, customer=customer)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 20, counts


def test_a_new_revision_supersedes_the_issued_one_and_its_link_is_dead(loft: None, manager: User) -> None:
    first = desk.issued(manager)
    token = desk.token_of(first)
    assert selectors.revision_for_token(token, now=desk.NOW).pk == first.pk
    second = services.revise(quote=first.quote, boats=desk.ONE_BOAT, on=desk.TODAY, now=desk.NOW)
    first.refresh_from_db()
    assert (first.state, first.superseded_at, second.revision, second.state, second.sails) == ("superseded", desk.NOW, 2, "draft", 1)
    with pytest.raises(NotFound):
        services.accept(token=token, name="Hester Lorne", now=desk.NOW)
    assert AcceptanceLink.objects.get(revision=first).revoked_at == desk.NOW


def test_the_second_revision_keeps_the_quotes_number_and_has_another_link(loft: None, manager: User) -> None:
    first = desk.issued(manager)
    second = services.issue(revision=services.revise(quote=first.quote, on=desk.TODAY, now=desk.NOW), by=manager, now=desk.NOW)
    assert (second.quote.number, second.revision) == (1, 2)
    assert desk.token_of(second) != desk.token_of(first)
    other = desk.issued(manager, desk.ONE_BOAT)
    assert other.quote.number == 2


def test_an_accepted_quote_is_not_revised(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    with pytest.raises(Conflict, match="accepted"):
        services.revise(quote=order.revision.quote, on=desk.TODAY, now=desk.NOW)
    assert order.revision.quote.revisions.count() == 1


def test_a_token_is_not_stored_and_differs_by_quote_revision_and_nonce(loft: None, manager: User) -> None:
    row = desk.issued(manager, desk.ONE_BOAT)
    token = desk.token_of(row)
    assert len(token) == 43
    assert row.link.token_sha256 == links.fingerprint(token) != token
    variants = {links.token(quote=q, revision=r, nonce=n) for q in (1, 2) for r in (1, 2) for n in ("a", "b")}
    assert len(variants) == 8


def test_the_margin_is_that_of_the_snapshot(loft: None) -> None:
    row = Revision.objects.get(pk=desk.draft().pk)
    margin = paper.thaw(row).margin
    assert margin is not None and row.margin is not None
    assert abs(row.margin - margin) <= Decimal("0.00005")


def test_an_address_moves_no_design_and_no_figure_and_a_revision_brings_no_old_one_back(loft: None) -> None:
    plain = desk.draft(desk.ONE_BOAT)
    named = desk.draft(b"boat,owner,sail_number,email\nHeron,Maud Pellow,214,maud@skerling.example\n")
    assert bytes(named.snapshot) == bytes(plain.snapshot)
    heron = Boat.objects.get()
    assert heron.email == "maud@skerling.example"
    customers.save_boat(pk=heron.pk, name="Heron", owner="Maud Pellow", sail_number="214", email="new@skerling.example", by=None)
    services.revise(quote=named.quote, on=desk.TODAY, now=desk.NOW)
    assert Boat.objects.get().email == "new@skerling.example"


def test_an_edition_that_is_not_in_force_hides_no_row(loft: None) -> None:
    """The rows are read by the nearest edition, so that all is said at once; nothing is priced by it."""
    with pytest.raises(InputError) as refused:
        pricing.price(
            customer="C", buyer="trade", pattern="SK13-MAIN", terms="", on=date(2024, 5, 1),
            boats=b"boat,owner,sail_number,luff_length,half_width\nA,B,1,5 yards,\nC,D,2,5500,\n",
        )  # fmt: skip
    told = [(p.path, p.code) for p in refused.value.problems]
    assert ("on", "no_edition") in told
    assert ("row 2.luff_length", "not_a_length") in told and ("row 3.luff_length", "outside_maximum") in told
