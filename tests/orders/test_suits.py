"""A boat's suit from the list of boats to delivery: one quote, one deposit, a ticket and a delivery for each sail."""

from __future__ import annotations

import json
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from costing.errors import InputError
from costing.quote import PricedBatch
from loft import documents
from loft.catalogue import services as catalogue
from loft.common import selectors as common
from loft.customers.models import Boat, MeasurementSet
from loft.orders import order_papers, paper, selectors, services, substitutes
from loft.orders.models import Order, Revision
from loft.workshop import paper as floor_paper
from loft.workshop import selectors as floor
from loft.workshop.models import Design
from tests import desk, skerling
from tests.documents import reading

#: Heron's suit with its jib last, and Dipper's main and jib; columns as a loft would fill them in.
SUITS = (
    b"boat,owner,sail_number,pattern,luff_length,leech_length,options,colour\n"
    b"Heron,Maud Pellow,214,,5.2 m,,window,white\n"
    b"Dipper,Tobias Wray,187,mainsail,,,,white\n"
    b"Heron,Maud Pellow,214,SK13-SPI,,,,\n"
    b"Dipper,Tobias Wray,187,SK13-JIB,3.7 m,3.35 m,,white\n"
    b"Heron,Maud Pellow,214,headsail,,,,white\n"
)
LABELS = ["Heron 214, mainsail", "Heron 214, spinnaker", "Heron 214, headsail", "Dipper 187, mainsail", "Dipper 187, headsail"]


@pytest.fixture
def kinds(loft: None) -> None:
    """The loft with its patterns for jib and spinnaker too."""
    for name in ("sk13_jib_v1.toml", "sk13_spinnaker_v1.toml"):
        catalogue.load_pattern(text=skerling.text(name))


def _batch(revision: Revision) -> PricedBatch:
    return paper.thaw(Revision.objects.get(pk=revision.pk))


def test_a_draft_keeps_the_sails_of_a_boat_together_and_each_by_its_pattern(kinds: None) -> None:
    batch = _batch(desk.draft(SUITS))
    assert [s.label for s in batch.sails] == LABELS
    assert [s.path for s in batch.sails] == ["row 2", "row 4", "row 6", "row 3", "row 5"]  # as the list has them
    assert [s.pattern_code for s in batch.sails] == ["SK13-MAIN", "SK13-SPI", "SK13-JIB", "SK13-MAIN", "SK13-JIB"]
    assert set(Design.objects.values_list("pattern_code", flat=True)) == {"SK13-MAIN", "SK13-SPI", "SK13-JIB"}
    assert not [w for w in batch.warnings if "times" in w]


def test_a_suit_is_one_boat_with_its_sizes_kept_apart_by_sail(kinds: None) -> None:
    desk.draft(SUITS)
    assert set(Boat.objects.values_list("sail_number", flat=True)) == {"187", "214"}
    sets = MeasurementSet.objects.select_related("boat")
    kept = {(s.boat.name, s.how): s.values.get(measurement="luff_length").mm for s in sets}
    assert kept == {
        ("Heron", "the customer's list"): Decimal(5200), ("Dipper", "the customer's list: SK13-JIB"): Decimal(3700),
    }  # fmt: skip


def test_a_second_draft_computes_no_design_again(kinds: None) -> None:
    first = desk.draft(SUITS)
    made = set(Design.objects.values_list("key", "created_at"))
    assert _batch(desk.draft(SUITS)) == _batch(first)
    assert set(Design.objects.values_list("key", "created_at")) == made


REFUSED = [
    ("two owners of one number", b"Heron,Maud Pellow,214,\nDipper,Tobias Wray,214,SK13-JIB\n", {"row 2.sail_number", "row 3.sail_number"}),
    ("a pattern that there is not", b"Heron,Maud Pellow,214,\nHeron,Maud Pellow,214,SK13-JIBE\n", {"row 3.pattern"}),
    ("an option of another kind's table", b"Heron,Maud Pellow,214,SK13-SPI,cunningham\n", {"row 2.options"}),
]


@pytest.mark.parametrize(("rows", "paths"), [case[1:] for case in REFUSED], ids=[case[0] for case in REFUSED])
def test_what_is_wrong_is_told_at_its_row_and_nothing_is_stored(kinds: None, rows: bytes, paths: set[str]) -> None:
    head = b"boat,owner,sail_number,pattern" + (b",options" if rows.count(b",") == 4 else b"") + b"\n"
    with pytest.raises(InputError) as refused:
        desk.draft(head + rows)
    assert {p.path for p in refused.value.problems} == paths
    assert (Revision.objects.count(), Boat.objects.count()) == (0, 0)


def _post(client: Client, key: str, rows: list[dict[str, str]], customer: int) -> Any:
    asked = {"customer": customer, "pattern": desk.PATTERN, "boats": rows, "priced_on": "2026-03-02"}
    return client.post("/api/quotes/", json.dumps(asked), content_type="application/json", headers={"Idempotency-Key": key})


def _suit(boat: str, number: str, *patterns: str) -> list[dict[str, str]]:
    return [{"boat": boat, "owner": f"Owner of {boat}", "sail_number": number, "pattern": pattern} for pattern in patterns]


def test_the_statements_of_a_draft_do_not_grow_with_suits(kinds: None, manager: User) -> None:
    client, customer, counts = Client(), desk.association().pk, []
    client.force_login(manager)
    for boats in (2, 12):
        rows = [row for i in range(boats) for row in _suit(f"Boat {i}", str(300 + i), "", "SK13-JIB", "SK13-SPI")]
        for stored in (MeasurementSet, Boat, Design):
            stored.objects.all().delete()
        with CaptureQueriesContext(connection) as captured:
            assert _post(client, f"suits-of-{boats:04d}", rows, customer).status_code == 201
        counts.append(len(desk.queries(captured)))
    assert counts[0] == counts[1] <= 25, counts


def test_the_api_takes_suits_in_one_request(kinds: None, manager: User) -> None:
    client, customer = Client(), desk.association().pk
    client.force_login(manager)
    made = _post(client, "suit-0001", _suit("Heron", "214", "", "SK13-JIB"), customer).json()
    batch = client.get(f"/api/quotes/{made['id']}/").json()["batch"]
    assert [(s["label"], s["pattern_code"]) for s in batch["sails"]] == [
        ("Heron 214, mainsail", "SK13-MAIN"), ("Heron 214, headsail", "SK13-JIB"),
    ]  # fmt: skip
    refused = _post(client, "suit-0002", _suit("Heron", "214", "", "SK13-JAB"), customer)
    assert (refused.status_code, [d["path"] for d in refused.json()["details"]]) == (400, ["boats[1].pattern"])


@pytest.fixture
def order(kinds: None, manager: User) -> Order:
    return selectors.order(desk.accepted(manager, SUITS).pk)


def test_an_order_has_one_deposit_and_a_ticket_of_its_own_for_each_sail(order: Order) -> None:
    batch = desk.paper_of(order)
    assert [line.label for line in order.lines.all()] == LABELS
    assert order.deposit_minor == int(batch.totals.deposit * 100) > 0
    labels = [line.ticket.pattern_label for line in order.lines.all()]
    assert labels[2] == "Skerling 13 headsail, cross-cut (SK13-JIB version 1)"
    steps = {line.label: set(floor.ticket(line.ticket_id).steps.values_list("operation", flat=True)) for line in order.lines.all()}
    assert "headboard" in steps["Heron 214, mainsail"] and "headboard" not in steps["Heron 214, headsail"]
    assert "hanks" in steps["Heron 214, headsail"] and "hanks" not in steps["Heron 214, mainsail"]
    places = [line.ticket.label_place for line in order.lines.all()]
    rules = [batch.pattern_of(sail).royalty_label for sail in batch.sails]
    assert places == [rule.place if rule else "" for rule in rules]


def test_the_papers_name_each_sail(order: Order) -> None:
    profile = common.loft_profile()
    confirmation = " ".join(reading.page_words(order_papers.confirmation_pdf(order, profile)))
    note = " ".join(reading.page_words(order_papers.delivery_note_pdf(order, profile)))
    for label in LABELS:
        assert label in confirmation, label
        assert label in note, label
    sheets = [floor_paper.ticket_document(floor.ticket(line.ticket_id), profile, now=desk.NOW) for line in order.lines.all()]
    work = " ".join(reading.page_words(documents.tickets_pdf(sheets)))
    assert "SK13-SPI version 1" in work and "SK13-JIB version 1" in work and "Heron 214, headsail" in work


def test_a_members_page_names_his_sail_and_those_ordered_with_it(order: Order) -> None:
    links = {line.label: address for line, address in selectors.member_links(order, base_url="")}
    assert list(links) == LABELS
    page = Client().get(links["Heron 214, headsail"]).content.decode()
    assert "Your 3 sails for Heron" in page and "SK13-JIB version 1" in page
    assert all(f"Heron 214, {kind}" in page for kind in ("mainsail", "headsail", "spinnaker")) and "Dipper" not in page


def test_the_quote_lists_a_boats_sails_below_it_with_one_drawing_a_design(kinds: None, manager: User) -> None:
    revision = desk.issued(manager, SUITS)
    words = " ".join(reading.page_words(bytes(revision.pdf or b"")))
    heron, dipper = words.index("Heron 214 · Maud Pellow"), words.index("Dipper 187 · Tobias Wray")
    assert heron < words.index("Skerling 13 spinnaker, tri-radial", heron) < dipper
    assert "5 sails for 2 boats of the Skerling 13" in words
    assert words.count("Starboard side (luff on the right)") + words.count("flat convention") >= 2
    for rule in ("C.6.3 (a)", "C.7.3 (a)", "C.8.3"):  # the limits of each kind
        assert rule in words, rule
    assert words.count("Design A –") == words.count("Design B –") == words.count("Design C –") == 1
    boats = words[words.index("Deposit by boat") :]
    assert boats.count("Heron") == boats.count("Dipper") == 1


def test_the_cost_sheet_lays_each_cloth_of_the_batch_together(kinds: None) -> None:
    revision = desk.draft(SUITS)
    sheet = paper.cost_sheet(paper.offer(revision), common.loft_profile(), reference="")
    assert [(b.material, b.sails) for b in sheet.batch_lays] == [("DW170 white", 4)]  # two mains with two jibs; one spinnaker alone
    (together,) = sheet.batch_lays
    assert together.bound_mm <= together.together_mm <= together.one_by_one_mm


def test_a_cloth_is_replaced_in_the_sails_that_have_it(kinds: None) -> None:
    revision = desk.draft(SUITS)
    found = {(c.old.code, c.new.code) for c in substitutes.choices(revision, on=desk.TODAY)}
    assert {old for old, _ in found} == {"DW170", "NR41"}
    spinnaker = [c for c in substitutes.choices(revision, on=desk.TODAY) if (c.old.code, c.new.code) == ("NR41", "DW170")]
    assert spinnaker and spinnaker[0].reasons


def test_a_revision_of_a_suit_keeps_its_list(kinds: None) -> None:
    first = desk.draft(SUITS)
    second = services.revise(quote=first.quote, on=desk.TODAY, now=desk.NOW)
    assert _batch(second).totals == _batch(first).totals


def test_the_command_prices_suits(kinds: None, tmp_path: Path) -> None:
    boats, out = tmp_path / "suits.csv", StringIO()
    boats.write_bytes(SUITS)
    call_command("price_batch", desk.PATTERN, str(boats), out=tmp_path / "made", on=desk.TODAY, stdout=out)
    assert "5 sails by SK13-MAIN version 3, SK13-JIB version 1, SK13-SPI version 1" in out.getvalue()
    plain = json.loads((tmp_path / "made" / "batch.json").read_text(encoding="utf-8"))
    assert [p["kind"] for p in plain["batch"]["patterns"]] == ["mainsail", "headsail", "symmetric_spinnaker"]
    assert [s["pattern"] for s in plain["sails"]] == ["SK13-MAIN", "SK13-SPI", "SK13-JIB", "SK13-MAIN", "SK13-JIB"]
