"""The form's lines and the quote's page for suits: a pattern for a line, a further sail for a boat, and what a member sees of his."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from loft.catalogue import services as catalogue
from loft.customers import list_changes
from loft.orders import paper, selectors
from loft.orders.models import Quote
from tests import desk, skerling

JIB, SPINNAKER = "SK13-JIB", "SK13-SPI"
ONE = "boat,owner,sail_number,options\nHeron,Maud Pellow,214,window\nDipper,Tobias Wray,187,\n"


@pytest.fixture
def office(loft: None, manager: User) -> Client:
    catalogue.load_pattern(text=skerling.text("sk13_jib_v1.toml"))
    catalogue.load_pattern(text=skerling.text("sk13_spinnaker_v1.toml"))
    client = Client()
    client.force_login(manager)
    return client


def _fields(**more: str) -> dict[str, str]:
    start = {"pattern": desk.PATTERN, "terms": "STANDARD", "on": "2026-03-02", "boats": ONE, "idempotency_key": "suit-form-0001"}
    return start | {"customer": "new", "name": "Maud Pellow", "kind": "person", "email": "maud@skerling.example", "buyer": "private"} | more


def test_a_line_gets_another_pattern_and_its_boat_a_further_sail(office: Client) -> None:
    answer = office.post(reverse("new_quote"), _fields(change_list="yes", pattern_3=JIB, further_2=SPINNAKER))
    assert (answer.status_code, Quote.objects.count()) == (200, 0)
    assert answer.context["boats_text"].splitlines() == [
        "boat,owner,sail_number,options,pattern",
        "Heron,Maud Pellow,214,window,",
        "Heron,Maud Pellow,214,,SK13-SPI",
        "Dipper,Tobias Wray,187,,SK13-JIB",
    ]
    shown = answer.content.decode()
    assert 'name="pattern_4"' in shown and 'aria-label="Add a sail for the boat of row 3"' in shown
    assert office.post(reverse("new_quote"), _fields(boats=answer.context["boats_text"])).status_code == 302
    batch = paper.thaw(selectors.last_revision(Quote.objects.get().pk))
    assert [s.label for s in batch.sails] == ["Heron 214, mainsail", "Heron 214, spinnaker", "Dipper 187, headsail"]


def test_a_choice_that_was_not_put_into_the_list_is_shown_before_anything_is_priced(office: Client) -> None:
    answer = office.post(reverse("new_quote"), _fields(further_2=JIB))
    assert (answer.status_code, Quote.objects.count()) == (200, 0)
    assert "Heron,Maud Pellow,214,,SK13-JIB" in answer.context["boats_text"]


IGNORED = [
    ("no such row", {"further_99": JIB}),
    ("no such pattern", {"further_2": "NOTHING", "pattern_2": "<script>"}),
    ("nothing chosen", {"pattern_2": "", "further_2": ""}),
    ("no list to change", {"boats": 'boat,"owner\n', "further_2": JIB}),
]


@pytest.mark.parametrize("sent", [case[1] for case in IGNORED], ids=[case[0] for case in IGNORED])
def test_what_cannot_be_chosen_changes_no_cell(office: Client, sent: dict[str, str]) -> None:
    fields = _fields(change_list="yes", **{k: v for k, v in sent.items() if k != "boats"}) | {k: v for k, v in sent.items() if k == "boats"}
    answer = office.post(reverse("new_quote"), fields)
    assert answer.status_code == 200
    kept = [line.rstrip(",") for line in answer.context["boats_text"].splitlines()]
    assert [line.removesuffix(",pattern") for line in kept] == [line.rstrip(",") for line in fields["boats"].splitlines()]


def test_the_quote_page_offers_the_sails_that_a_boat_has_not(office: Client) -> None:
    revision = desk.draft(ONE.encode())
    page = office.get(reverse("quote_page", args=[revision.quote_id])).content.decode()
    asked = f"{reverse('revise_quote', args=[revision.quote_id])}?further_2={JIB}"
    assert f'href="{asked}"' in page
    form = office.get(asked)
    assert form.context["boats_text"].splitlines()[2] == "Heron,Maud Pellow,214,,SK13-JIB"
    sent = {"pattern": desk.PATTERN, "on": "2026-03-02", "boats": form.context["boats_text"], "version": "1"}
    answer = office.post(reverse("revise_quote", args=[revision.quote_id]), sent | {"idempotency_key": "suit-form-0002"})
    assert answer.status_code == 302, answer.content
    page = office.get(reverse("quote_page", args=[revision.quote_id])).content.decode()
    assert page.index("Heron 214, mainsail") < page.index("Heron 214, headsail") < page.index("Dipper 187, mainsail")
    assert "hanks pressed on" in page  # what the jib includes
    assert f"further_3={SPINNAKER}" in page and f"further_3={JIB}" not in page


def test_changing_a_list_keeps_its_separator_and_every_other_cell() -> None:
    found = list_changes.changed(b'boat;owner;sail_number;note\r\nHeron;M;214;"a;b"\r\n', patterns={2: "X"}, further={2: "Y"})
    assert found.decode().splitlines() == ["boat;owner;sail_number;note;pattern", 'Heron;M;214;"a;b";X', "Heron;M;214;;Y"]
