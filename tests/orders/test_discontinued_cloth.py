"""A draft in a cloth that is no longer sold: said on its page, issued only with a reason, replaced only by what is sold."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client

from costing.errors import InputError
from loft.catalogue import services as catalogue
from loft.orders import services, substitutes
from loft.orders.models import Revision
from loft.orders.services.substituting import substitute
from tests import desk, skerling

RED = b"boat,owner,sail_number,colour\nScarlet,Ada Fenwick,318,red\n"
WORDS = "DW170 in red is discontinued: not on Tarnside Sailcloth 2026b, in force since 2 Mar 2026"


def load_next(*, dw185: str = "", without: str = "") -> None:
    """Tarnside's list of the day itself: DW170 no more in red; DW185 with a price and these colours, where they are given."""
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026b"').replace("2026-01-05", "2026-03-02")
    text = text.replace(', "red"]', "]")
    if dw185:
        text = text.replace('colours = ["white"]', f"colours = {dw185}", 1)
        text += '[[rows]]\nrow = 13\nmaterial = "DW185"\ntheir_code = "TS 185 F"\nunit = "m"\nbreaks = [{ from = 0, cost = 18.90 }]\n'
    catalogue.load_prices(text=text)


def test_it_is_issued_only_with_a_word_on_where_it_comes_from(loft: None, manager: User) -> None:
    draft = desk.draft(RED, by=manager)
    load_next()
    with pytest.raises(InputError) as caught:
        services.issue(revision=draft, by=manager, now=desk.NOW)
    assert [(p.path, p.code) for p in caught.value.problems] == [("reason", "discontinued")]
    assert caught.value.problems[0].message == f"{WORDS}: choose another cloth, or say where this one comes from"
    draft.refresh_from_db()
    assert (draft.state, draft.quote.number) == ("draft", None)
    services.issue(revision=draft, by=manager, now=desk.NOW, reason="a roll in stock")
    assert (draft.state, draft.reason) == ("issued", "a roll in stock")


def test_a_draft_in_a_colour_that_is_sold_needs_no_word(loft: None, manager: User) -> None:
    draft = desk.draft(RED.replace(b"red", b"white"), by=manager)
    load_next()
    assert services.issue(revision=draft, by=manager, now=desk.NOW).state == "issued"


def test_the_page_says_so_and_asks_for_a_reason(loft: None, manager: User, client: Client) -> None:
    draft = desk.draft(RED, by=manager)
    client.force_login(manager)
    address = f"/quotes/{draft.quote_id}/"
    assert "No longer sold" not in client.get(address).content.decode()
    load_next()
    page = client.get(address).content.decode()
    assert WORDS in page and 'name="reason"' in page
    answer = client.post(f"{address}issue/", {"revision": "1"})
    assert answer.status_code == 400 and "say where this one comes from" in answer.content.decode()


def test_pricing_it_again_is_refused_and_the_cloth_that_fits_takes_its_place(loft: None, manager: User) -> None:
    draft = desk.draft(RED, by=manager)
    load_next(dw185='["white", "red"]')
    with pytest.raises(InputError) as caught:
        services.revise(quote=draft.quote, on=desk.TODAY, now=desk.NOW, by=manager)
    assert [(p.path, p.code) for p in caught.value.problems] == [("row 2.colour", "discontinued")]
    assert caught.value.problems[0].message.endswith("could stand in: DW185")
    row = substitute(quote=draft.quote, old="DW170", new="DW185", on=desk.TODAY, now=desk.NOW, by=manager, seen=1)
    assert (row.revision, row.state) == (2, "draft")
    assert Revision.objects.get(quote=draft.quote, revision=1).state == "superseded"


def test_a_cloth_that_is_gone_itself_cannot_stand_in(loft: None, manager: User) -> None:
    load_next(dw185='["white", "red"]')
    draft = desk.draft(RED.replace(b"red", b"white"), by=manager)
    assert substitutes.choice(draft, old="DW170", new="DW185", on=desk.TODAY).reasons == ()
    third = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026c"').replace("2026-01-05", "2026-03-16")
    catalogue.load_prices(text=third)  # DW185 has no row any more
    (reason,) = substitutes.choice(draft, old="DW170", new="DW185", on=desk.TODAY.replace(day=16)).reasons
    assert (reason.path, reason.code) == ("supply", "discontinued")
