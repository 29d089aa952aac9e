"""Drafting, issuing and revising on the pages: everything wrong at once, nothing lost, nothing half stored."""

from __future__ import annotations

from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal

from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from loft.common.idempotency import FIELD
from loft.customers.models import Customer
from loft.jobs import services as jobs
from loft.orders import paper, services
from loft.orders.models import Quote, Revision
from tests import desk, skerling
from tests.pages.conftest import issue_now
from tests.pages.markup import Page, words

BAD_LIST = (
    "boat,owner,sail_number,luff_length,half_width,options,cloth,colour\n"
    'Heron,Maud Pellow,214,"5,21 m",,window,,white\n'
    "Dipper,Tobias Wray,214,,1300,,,purple\n"
    "Teal,Ann Ott,78,52100,,windw,DW150,\n"
    "Wren,Bo Lund,214,,,,,white\n"
    "Stint,Cas Vane,,,,,,white\n"
)


def form(**fields: object) -> dict[str, object]:
    """A filled form for a new customer's batch."""
    values: dict[str, object] = {
        FIELD: "form-key-0001", "customer": "new", "name": skerling.CUSTOMER, "kind": "association", "buyer": "trade",
        "email": "sails@skerling.example", "address": "Boathouse 4\nTarn Road", "pattern": desk.PATTERN, "terms": "ASSOC-2026",
        "on": "2026-03-02", "boats": desk.TWO_BOATS.decode(),
    }  # fmt: skip
    return values | fields


def test_the_form_drafts_a_quote_for_a_new_customer(loft: None, at_the_desk: Client, manager: User) -> None:
    answer = at_the_desk.post("/quotes/new/", form())
    quote = Quote.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/quotes/{quote.pk}/")
    assert (quote.number, quote.created_by, quote.customer.name) == (None, manager, skerling.CUSTOMER)
    assert quote.customer.address_lines == ("Boathouse 4", "Tarn Road")
    revision = quote.revisions.get()
    assert (revision.state, revision.sails, revision.terms_code) == ("draft", 2, "ASSOC-2026")
    assert paper.thaw(revision).priced_on == desk.TODAY
    assert revision.margin == round(paper.thaw(revision).margin or 0, 8)


def test_a_chosen_file_is_read_instead_of_the_text(loft: None, at_the_desk: Client) -> None:
    file = SimpleUploadedFile("boats.csv", desk.ONE_BOAT, "text/csv")
    assert at_the_desk.post("/quotes/new/", form(file=file)).status_code == 302
    assert Revision.objects.get().sails == 1


def test_a_form_sent_twice_makes_one_quote(loft: None, at_the_desk: Client) -> None:
    first, second = at_the_desk.post("/quotes/new/", form()), at_the_desk.post("/quotes/new/", form())
    assert first["Location"] == second["Location"]
    assert (Quote.objects.count(), Customer.objects.count()) == (1, 1)
    other = at_the_desk.post("/quotes/new/", form(boats=desk.ONE_BOAT.decode()))
    assert other.status_code == 409
    assert "sent before with other content" in words(other.content.decode())
    assert Quote.objects.count() == 1


def test_a_form_without_its_hidden_key_makes_nothing(loft: None, at_the_desk: Client) -> None:
    assert at_the_desk.post("/quotes/new/", form(**{FIELD: ""})).status_code == 400
    assert Quote.objects.count() == 0


def test_everything_wrong_is_shown_at_once_with_row_column_and_what_stands_there(loft: None, at_the_desk: Client) -> None:
    answer = at_the_desk.post("/quotes/new/", form(boats=BAD_LIST, email="no address"))
    assert answer.status_code == 400
    found = {(row.row, row.column): row.found for row in answer.context["problems"]}
    assert found[("", "Mail address")] == ""
    assert found[("2", "luff_length")] == "5,21 m"
    assert found[("3", "half_width")] == "1300"
    assert found[("3", "colour")] == "purple"
    assert found[("5", "sail_number")] == "214"
    assert found[("4", "luff_length")] == "52100"
    assert found[("4", "options")] == "windw"
    assert found[("4", "cloth")] == "DW150"
    assert found[("6", "sail_number")] == ""
    html = answer.content.decode()
    assert Page(html).faults == []
    assert f"{len(answer.context['problems'])} things are wrong: nothing was stored" in words(html)
    assert (Quote.objects.count(), Customer.objects.count()) == (0, 0)


def test_nothing_that_was_typed_is_lost(loft: None, at_the_desk: Client) -> None:
    typed = form(boats=BAD_LIST, name="Skerling <Sailors>", kind="person", buyer="private", on="2026-04-15")
    html = at_the_desk.post("/quotes/new/", typed).content.decode()
    assert 'value="Skerling &lt;Sailors&gt;"' in html
    assert '<option value="person" selected>' in html
    assert '<option value="private" selected>' in html
    assert '<option value="ASSOC-2026" selected>' in html
    assert 'value="2026-04-15"' in html
    assert "Boathouse 4\nTarn Road</textarea>" in html
    assert "Dipper,Tobias Wray,214,,1300,,,purple" in html


def test_the_text_of_a_refused_file_stands_in_the_box(loft: None, at_the_desk: Client) -> None:
    file = SimpleUploadedFile("boats.csv", BAD_LIST.encode("utf-8-sig"), "text/csv")
    html = at_the_desk.post("/quotes/new/", form(file=file, boats="")).content.decode()
    assert "Teal,Ann Ott,78,52100,,windw,DW150," in html
    assert "The text of your file now stands in the box below" in words(html)


FILES = [
    ("nothing at all", b"", "empty"),
    ("not in UTF-8", b"boat,owner,sail_number\nM\xf6we,Ann,1\n", "not in UTF-8"),
    ("a picture", b"\x89PNG\r\n\x1a\n\x00\x00", "not in UTF-8"),
    ("more than 400 boats", b"boat,owner,sail_number\n" + b"".join(b"B%d,O%d,%d\n" % (i, i, i) for i in range(401)), "at most 400"),
    ("more than a million bytes", b"boat,owner,sail_number\n" + b"x" * 1_000_001, "1,000,000"),
]


def test_files_that_are_no_list_are_refused_in_words(loft: None, at_the_desk: Client) -> None:
    for what, content, said in FILES:
        answer = at_the_desk.post("/quotes/new/", form(file=SimpleUploadedFile("boats.csv", content), boats=""))
        assert answer.status_code == 400, what
        assert said in " ".join(row.message for row in answer.context["problems"]), what
    assert Quote.objects.count() == 0


FIELDS = [
    ("customer", "", "Customer"),
    ("customer", "x", "Customer"),
    ("customer", "999999", "Customer"),
    ("name", " ", "Name of the new customer"),
    ("pattern", "NO-SUCH", "Pattern"),
    ("terms", "NO-SUCH", "Terms"),
    ("on", "tomorrow", "Prices of the day"),
    ("on", "2019-01-01", "Prices of the day"),
    ("boats", "  ", "List of boats"),
]


def test_each_field_that_is_wrong_is_named(loft: None, at_the_desk: Client) -> None:
    for field, value, label in FIELDS:
        answer = at_the_desk.post("/quotes/new/", form(**{field: value}))
        assert answer.status_code == 400, (field, value)
        assert label in [row.column for row in answer.context["problems"]], (field, value)
    assert (Quote.objects.count(), Customer.objects.count()) == (0, 0)


def test_issuing_gives_number_mail_and_link(loft: None, manager: User, at_the_desk: Client) -> None:
    revision = desk.draft(by=manager)
    page = f"/quotes/{revision.quote_id}/"
    assert "Issue to the customer" in words(at_the_desk.get(page).content.decode())
    assert at_the_desk.post(f"{page}issue/", {"revision": "1"})["Location"] == page
    shown = at_the_desk.get(page).content.decode()
    assert "Quote Q-0001" in words(shown)
    assert "waiting to be sent" in words(shown)
    revision.refresh_from_db()
    assert f"http://127.0.0.1:8000/accept/{desk.token_of(revision)}/" in shown
    jobs.run_ready(lane="mail")
    assert "to sails@skerling.example, revision 1: sent" in words(at_the_desk.get(page).content.decode())
    pdf = at_the_desk.get(f"{page}revisions/1/quote.pdf")
    assert (pdf.content, pdf["Content-Type"]) == (bytes(revision.pdf or b""), "application/pdf")


def test_a_quote_without_an_address_says_where_to_add_one(loft: None, manager: User, at_the_desk: Client) -> None:
    revision = desk.draft(customer=desk.association(email=""), by=manager)
    page = f"/quotes/{revision.quote_id}/"
    answer = at_the_desk.post(f"{page}issue/", {"revision": "1"})
    assert answer.status_code == 400
    assert "the customer has no mail address" in words(answer.content.decode())
    customer = f"/customers/{revision.quote.customer_id}/"
    fields = {"name": "Skerling", "email": "new@skerling.example", "kind": "association", "buyer": "trade", "address": "", "back": page}
    assert at_the_desk.post(customer, fields | {"email": "nobody"}).status_code == 400
    assert at_the_desk.post(customer, fields)["Location"] == page
    assert at_the_desk.post(f"{page}issue/", {"revision": "1"}).status_code == 302
    assert Revision.objects.get().state == "issued"


def test_the_way_back_from_a_customer_stays_on_our_pages(loft: None, at_the_desk: Client) -> None:
    customer = desk.association()
    fields = {"name": "Skerling", "email": "", "kind": "person", "buyer": "private", "address": "", "back": "https://elsewhere.example/"}
    assert at_the_desk.post(f"/customers/{customer.pk}/", fields)["Location"] == "/quotes/"


def test_below_the_floor_the_page_asks_for_a_reason(loft: None, manager: User, at_the_desk: Client) -> None:
    revision = desk.draft(by=manager)
    Revision.objects.filter(pk=revision.pk).update(below_floor=True)
    page = f"/quotes/{revision.quote_id}/"
    assert 'id="reason"' in at_the_desk.get(page).content.decode()
    answer = at_the_desk.post(f"{page}issue/", {"revision": "1", "reason": "  "})
    assert answer.status_code == 400
    assert "say why it is issued all the same" in words(answer.content.decode())
    assert at_the_desk.post(f"{page}issue/", {"revision": "1", "reason": "A prize for the class championship."}).status_code == 302
    assert "A prize for the class championship." in words(at_the_desk.get(page).content.decode())


def test_issuing_what_somebody_else_issued_is_a_conflict(loft: None, manager: User, at_the_desk: Client) -> None:
    revision = issue_now(manager)
    answer = at_the_desk.post(f"/quotes/{revision.quote_id}/issue/", {"revision": "1"})
    assert answer.status_code == 409
    assert "Somebody was faster" in words(answer.content.decode())
    assert "Nothing was changed" in words(answer.content.decode())


def test_revising_starts_from_the_last_list_and_kills_the_old_link(loft: None, manager: User, at_the_desk: Client, client: Client) -> None:
    revision = issue_now(manager)
    link, page = f"/accept/{desk.token_of(revision)}/", f"/quotes/{revision.quote_id}/"
    assert client.get(link).status_code == 200
    assert "Linnet,Morwenna Fell,to follow,5.21 m" in at_the_desk.get(f"{page}revise/").content.decode()
    fields = form(boats=desk.ONE_BOAT.decode())
    assert at_the_desk.post(f"{page}revise/", fields)["Location"] == page
    assert [(r.revision, r.state, r.sails) for r in Revision.objects.order_by("revision")] == [(1, "superseded", 2), (2, "draft", 1)]
    assert client.get(link).status_code == 404
    old = at_the_desk.get(f"{page}?revision=1").content.decode()
    assert "This is revision 1." in words(old)
    assert "Cancel this quote" not in words(old)
    assert at_the_desk.get(f"{page}?revision=7").status_code == 404


def test_an_accepted_quote_can_no_longer_be_revised(loft: None, manager: User, at_the_desk: Client) -> None:
    revision = issue_now(manager)
    services.accept(token=desk.token_of(revision), name="Hester Lorne", now=timezone.now())
    answer = at_the_desk.get(f"/quotes/{revision.quote_id}/revise/")
    assert answer.status_code == 409
    assert "has been accepted" in words(answer.content.decode())


def test_the_list_shows_state_total_and_margin(loft: None, manager: User, at_the_desk: Client) -> None:
    revision = issue_now(manager)
    batch = paper.thaw(revision)
    text = words(at_the_desk.get("/quotes/").content.decode())
    margin = ((batch.margin or Decimal(0)) * 100).quantize(Decimal("0.1"), ROUND_HALF_UP)
    assert f"Q-0001 {skerling.CUSTOMER} issued 2 GBP {batch.totals.gross:,.2f} {margin} %" in text
    assert "No quote is in this state" in words(at_the_desk.get("/quotes/?state=declined").content.decode())
    assert "Q-0001" in words(at_the_desk.get("/quotes/?state=issued").content.decode())


def test_a_price_can_be_followed_to_its_sources_on_the_page(loft: None, manager: User, at_the_desk: Client) -> None:
    revision = desk.draft(desk.ONE_BOAT, by=manager)
    sail = paper.thaw(revision).sails[0]
    text = words(at_the_desk.get(f"/quotes/{revision.quote_id}/").content.decode())
    assert len(sail.cost_lines) > 15
    for line in sail.cost_lines:
        assert " ".join(line.how.split()) in text
        assert " ".join(line.source.split()) in text
        assert f"{line.unit_cost:,.4f} {line.amount:,.2f}" in text


def test_each_size_on_the_page_says_where_it_comes_from(loft: None, at_the_desk: Client) -> None:
    boats = "boat,owner,sail_number,mast_band_distance\nHeron,Maud Pellow,214,5230\n"
    at_the_desk.post("/quotes/new/", form(boats=boats, terms="STANDARD"))
    page = words(at_the_desk.get(f"/quotes/{Quote.objects.get().pk}/").content.decode())
    assert "Luff length C.6.3 (a) max 5,230 5,190.0 40.0 its spars" in page
    assert "Luff length: mast band distance (P) of 5,230 mm less 40 mm that the relaxed edge stays short of it." in page
    assert "foot median" in page and "(computed from the others)" in page
    assert "How the class measures it: dry, flat, battens out" in page
    assert "by the published formula: the outline is" in page
    assert "How the computed and assumed sizes are found" in page
    assert "Luff perpendicular: shortest distance from the clew point to the luff." in page
    assert "Area by the formula, mainsail: 0.125 × luff length × (foot length + 2 × quarter width" in page


def test_a_quote_whose_time_is_over_says_so(loft: None, manager: User, at_the_desk: Client) -> None:
    revision = issue_now(manager, now=timezone.now() - timedelta(days=60))
    text = words(at_the_desk.get(f"/quotes/{revision.quote_id}/").content.decode())
    assert "expired" in text
    assert "/accept/" not in text


def test_empty_pages_say_what_to_do_first(db: None, at_the_desk: Client, on_the_floor: Client) -> None:
    board = words(at_the_desk.get("/").content.decode())
    assert "Before the first quote can be drafted" in board
    assert board.count("missing") == 5
    desk.load_catalogue()
    assert "Draft a quote" in words(at_the_desk.get("/").content.decode())
    assert "Draft the first quote" in words(at_the_desk.get("/quotes/").content.decode())
    assert "Tickets open by themselves" in words(on_the_floor.get("/tickets/").content.decode())
    assert "Draft" not in words(on_the_floor.get("/").content.decode())


def test_a_list_of_five_megabytes_gives_the_form_again_with_what_was_typed(loft: None, manager: User, client: Client) -> None:
    client.force_login(manager)
    file = SimpleUploadedFile("boats.csv", b"boat,owner,sail_number\n" + b"x" * 5_000_000)
    sent = {FIELD: "five-megabytes", "customer": "new", "name": "Hester Lorne", "boats": "boat,owner", "file": file}
    answer = client.post("/quotes/new/", sent)
    text = answer.content.decode()
    assert answer.status_code == 400
    assert "the file has 5,000,023 bytes; at most 1,000,000 are read" in text
    assert 'value="Hester Lorne"' in text and "boat,owner</textarea>" in text
