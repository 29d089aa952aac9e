"""Sails at the loft's list price, worked out by hand: options, offers, tax in the price or not; and what a quote says of it."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from costing.errors import InputError
from costing.prices.retail import OptionPrice
from loft.catalogue import formats, retail, selectors
from loft.catalogue import services as catalogue
from loft.catalogue.models import RetailVersion
from loft.common.models import AuditEntry
from loft.orders import paper, services
from loft.orders import retail as retail_reads
from loft.orders.models import Revision
from tests import desk, skerling

BOATS = (
    b"boat,owner,sail_number,luff_length,options\n"
    b"Heron,Maud Pellow,214,,window\n"
    b"Dipper,Tobias Wray,187,,no cunningham\n"
    b"Lapwing,Petra Hollin,171,5.20 m,\n"
)


def text() -> str:
    return skerling.text("skerling_retail_2026.toml")


@pytest.fixture
def listed(loft: None) -> None:
    retail.load_retail(text=text())


def drafted(by: User, *, buyer: str = "private", on: date = desk.TODAY, boats: bytes = BOATS, terms: str = "") -> Revision:
    customer = desk.association(name=f"Buyer {on} {buyer} {terms}", buyer=buyer)
    now = desk.NOW + timedelta(days=(on - desk.TODAY).days)
    return services.draft_batch(customer=customer, pattern=desk.PATTERN, boats=boats, terms=terms, on=on, now=now, by=by, at_list=True)


def items(revision: Revision) -> list[tuple[Decimal, Decimal, Decimal, Decimal]]:
    """(shown, net before, discount, net) of what the loft makes."""
    found = [next(i for i in sail.items if not i.pass_through) for sail in paper.thaw(revision).sails]
    return [(i.shown_unit_price, i.unit_price, i.discount, i.net) for i in found]


def test_list_prices_with_tax_are_worked_out_by_hand(listed: None, manager: User) -> None:
    """1,135.00 with 20 % VAT; + 15 cunningham, which a sail has by default; + 35 window; + 60 for the boat's own measurements.

    Heron: 1135 + 35 + 15 = 1185.00 with tax; / 1.2 = 987.50 net.
    Dipper without cunningham: 1135.00; / 1.2 = 945.8333 -> 945.83.
    Lapwing, a variant: 1135 + 60 + 15 = 1210.00; / 1.2 = 1008.3333 -> 1008.33.
    """
    row = drafted(manager)
    assert items(row) == [
        (Decimal("1185"), Decimal("987.50"), Decimal(0), Decimal("987.50")),
        (Decimal("1135"), Decimal("945.83"), Decimal(0), Decimal("945.83")),
        (Decimal("1210"), Decimal("1008.33"), Decimal(0), Decimal("1008.33")),
    ]
    batch = paper.thaw(row)
    assert (row.at_list, batch.price_basis) == (True, "list 2026, version 1")
    assert batch.sails[0].price_how == (
        "list 2026, version 1: 1135 Mainsail, cross-cut, 170 g/m2 + 35 window + 15 cunningham = 1185 with tax; net 987.50"
    )
    assert all(sail.cost > 0 and sail.margin is not None for sail in batch.sails)  # the cost stands beside it


def test_a_trade_buyer_sees_the_net_of_the_same_price(listed: None, manager: User) -> None:
    assert items(drafted(manager, buyer="trade"))[0][:2] == (Decimal("987.50"), Decimal("987.50"))


def test_an_offer_comes_off_on_its_days_alone(listed: None, manager: User) -> None:
    """Spring show, 6 to 8 March: 1,045 instead of 1,135. 1185 - 90 = 1095; 1095 / 1.2 = 912.50; 987.50 - 912.50 = 75.00 off."""
    one = BOATS.splitlines(keepends=True)
    boats = b"".join(one[:2])
    on_show = drafted(manager, on=date(2026, 3, 8), boats=boats)
    assert items(on_show) == [(Decimal("1185"), Decimal("987.50"), Decimal("75.00"), Decimal("912.50"))]
    assert paper.thaw(on_show).price_basis == "list 2026, version 1; Spring show until 8 Mar 2026"
    assert items(drafted(manager, on=date(2026, 3, 9), boats=boats))[0][2] == 0


def test_a_batch_discount_and_an_offer_are_not_added(listed: None, manager: User) -> None:
    """Five sails under the association's terms: 5 % of 945.83 is 47.29, the show takes 75.00 off: the better one holds."""
    rows = b"boat,owner,sail_number,options\n" + b"".join(b"B%d,O%d,%d,no cunningham\n" % (n, n, n) for n in range(301, 306))
    shown = drafted(manager, on=date(2026, 3, 7), boats=rows, terms="ASSOC-2026")
    assert {item[2] for item in items(shown)} == {Decimal("75.00")}
    others = rows.replace(b"B3", b"C3").replace(b"O3", b"P3").replace(b",3", b",4")
    later = drafted(manager, on=date(2026, 3, 9), boats=others, terms="ASSOC-2026")
    assert {item[2] for item in items(later)} == {Decimal("47.29")}


def test_a_list_without_tax_gives_the_private_buyers_price_rounded_once(loft: None, manager: User) -> None:
    """945.83 net x 1.2 = 1134.996 -> 1135.00 shown."""
    net = text().replace("with_tax = true", "with_tax = false").replace("price = 1135", "price = 945.83")
    retail.load_retail(text=net.partition("[[entries.offers]]")[0])
    row = drafted(manager, boats=b"".join(BOATS.splitlines(keepends=True)[i] for i in (0, 2)))
    assert items(row) == [(Decimal("1135.00"), Decimal("945.83"), Decimal(0), Decimal("945.83"))]


def test_what_the_list_does_not_have_is_refused_under_each_sail(listed: None, manager: User) -> None:
    boats = b"boat,owner,sail_number,cloth\nHeron,Maud Pellow,214,\nDipper,Tobias Wray,187,DW185\n"
    tarnside = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "b"').replace("2026-01-05", "2026-03-01")
    row = '[[rows]]\nrow = 13\nmaterial = "DW185"\ntheir_code = "x"\nunit = "m"\nbreaks = [{ from = 0, cost = 18.90 }]\n'
    catalogue.load_prices(text=tarnside + row)
    with pytest.raises(InputError) as caught:
        drafted(manager, boats=boats)
    assert [(p.path, p.code) for p in caught.value.problems] == [("row 3.cloth", "no_list_price")]
    assert Revision.objects.count() == 0


@pytest.mark.parametrize("on", [date(2026, 1, 11), date(2027, 1, 1)])
def test_a_day_without_a_list_is_refused(listed: None, manager: User, on: date) -> None:
    with pytest.raises(InputError) as caught:
        drafted(manager, on=on)
    assert [(p.path, p.code) for p in caught.value.problems] == [("at_list", "no_list")]


def test_a_new_revision_stays_at_list_price_until_it_is_told_otherwise(listed: None, manager: User) -> None:
    row = drafted(manager)
    again = services.revise(quote=row.quote, on=desk.TODAY, now=desk.NOW, by=manager)
    assert (again.at_list, again.net_minor) == (True, row.net_minor)
    costed = services.revise(quote=row.quote, on=desk.TODAY, now=desk.NOW, by=manager, at_list=False)
    assert (costed.at_list, paper.thaw(costed).price_basis) == (False, "")
    assert costed.net_minor != row.net_minor


# -- the list itself


def test_a_version_is_stored_once_with_its_audit_and_never_edited(loft: None, manager: User) -> None:
    assert retail.load_retail(text=text(), by=manager).outcome == "new"
    assert retail.load_retail(text=text(), by=manager).outcome == "unchanged"
    with pytest.raises(InputError) as caught:
        retail.load_retail(text=text().replace("price = 1135", "price = 1140"), by=manager)
    assert [(p.path, p.code) for p in caught.value.problems] == [("retail.version", "other_content")]
    with pytest.raises(InputError) as caught:
        retail.load_retail(text=text().replace("version = 1", "version = 2"), by=manager)
    assert [p.code for p in caught.value.problems] == ["overlap"]
    assert RetailVersion.objects.count() == 1
    assert AuditEntry.objects.filter(action="load", subject_kind__icontains="retailversion").count() == 1


def test_a_later_version_holds_from_its_first_day(listed: None) -> None:
    later = text().replace("version = 1", "version = 2").replace("valid_from = 2026-01-12\nvalid_to", "valid_from = 2026-04-01\nvalid_to")
    retail.load_retail(text=later.replace("price = 1135", "price = 1160"))
    on = {day: selectors.retail_list(class_code="SK13", on=day) for day in (date(2026, 3, 31), date(2026, 4, 1), date(2027, 1, 1))}
    assert [found and (found.version, found.entries[0].price) for found in on.values()] == [
        (1, Decimal(1135)), (2, Decimal(1160)), None,
    ]  # fmt: skip


@pytest.mark.parametrize(("label", "old", "new", "path", "code"), [
    ("zero price", "price = 1135", "price = 0", "entries[0].price", "zero"),
    ("negative price", "price = 1135", "price = -1", "entries[0].price", "out_of_range"),
    ("more than a cent", "price = 1135", "price = 1135.005", "entries[0]", "too_fine"),
    ("an offer that is none", "price = 1045", "price = 1135", "entries[0].offers[1].price", "no_offer"),
    ("an offer that ends before it begins", "until = 2026-03-08", "until = 2026-03-05", "entries[0].offers[1].until", "ends_before_start"),
    ("a list that ends before it begins", "valid_to = 2026-12-31", "valid_to = 2026-01-01", "retail.valid_to", "ends_before_start"),
    ("an option twice", 'option = "window"', 'option = "cunningham"', "entries[0].options[1].option", "twice"),
    ("an unknown currency", '"GBP"', '"GBX"', "retail.currency", "unknown_currency"),
    ("an unknown pattern", "SK13-MAIN", "SK13-JIB", "entries[0].pattern", "unknown_pattern"),
    ("a cloth that the pattern does not have", "DW170", "DW150", "entries[0].cloth", "unknown_cloth"),
    ("an option that it does not have", 'option = "window"', 'option = "windo"', "entries[0].options[0].option", "unknown_option"),
    ("a date as text", "until = 2026-03-08", 'until = "8 March"', "entries[0].offers[1].until", "wrong_value"),
])  # fmt: skip
def test_a_wrong_list_is_refused_whole(loft: None, label: str, old: str, new: str, path: str, code: str) -> None:
    with pytest.raises(InputError) as caught:
        retail.load_retail(text=text().replace(old, new))
    assert (path, code) in [(p.path, p.code) for p in caught.value.problems], label
    assert RetailVersion.objects.count() == 0


def test_an_entry_shows_the_cost_of_the_day_and_the_row_that_moved_it(listed: None) -> None:
    """DW170 from 16.40 to 18.00 a metre on 9 March; the mainsail takes a few metres of it below every break."""
    found = selectors.retail_list(class_code="SK13", on=desk.TODAY)
    assert found is not None
    (before,) = retail_reads.entries_now(found, on=desk.TODAY)
    assert (before.moves, before.cost) == ((), before.cost_then)
    rise = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "b"').replace("2026-01-05", "2026-03-09")
    catalogue.load_prices(text=rise.replace("cost = 16.40", "cost = 18.00"))
    (after,) = retail_reads.entries_now(found, on=date(2026, 3, 9))
    assert after.cost is not None and before.cost is not None and after.cost > before.cost == after.cost_then
    (move,) = after.moves
    assert (move.material, move.was, move.now) == ("DW170", Decimal("16.4000"), Decimal("18.0000"))
    assert move.source.startswith("Tarnside Sailcloth b, row 12 (TS 170 F), from 0 m")
    assert [p.name for p in before.prices] == ["list price", "Spring show"]  # the early price is over
    # 1135 + 15 for the cunningham that it has by default = 1150 with tax; 1150 / 1.2 = 958.33 net
    price = after.prices[0]
    assert (price.price, price.net) == (Decimal(1150), Decimal("958.33"))
    assert price.margin == ((price.net - after.cost) / price.net).quantize(Decimal("0.0001"))


# -- pages


def test_the_page_the_show_sheet_and_the_form(listed: None, manager: User, client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("django.utils.timezone.now", lambda: desk.NOW)
    client.force_login(manager)
    page = client.get("/retail/").content.decode()
    assert "Mainsail, cross-cut, 170 g/m2" in page and "Spring show" in page and "Early order" not in page
    sheet = client.get("/retail/SK13/show-sheet.pdf")
    assert sheet.status_code == 200 and sheet.content.startswith(b"%PDF-")
    assert client.get("/retail/NONE/show-sheet.pdf").status_code == 404
    form = {
        "customer": "new", "name": "A. Buyer", "kind": "person", "email": "a@b.example", "buyer": "private", "pattern": "SK13-MAIN",
        "terms": "STANDARD", "on": "2026-03-02", "boats": desk.ONE_BOAT.decode(), "at_list": "on", "idempotency_key": "k" * 20,
    }  # fmt: skip
    answer = client.post("/quotes/new/", form)
    assert answer.status_code == 302, answer.content.decode()
    assert "at list price: list 2026, version 1" in client.get(answer["Location"]).content.decode()


def test_a_file_is_checked_or_stored_through_the_page(loft: None, manager: User, client: Client) -> None:
    client.force_login(manager)

    def send(content: str, what: str) -> int:
        return client.post("/retail/load/", {"file": SimpleUploadedFile("r.toml", content.encode()), "what": what}).status_code

    assert (send(text(), "check"), RetailVersion.objects.count()) == (302, 0)
    assert (send(text().replace("1135", "0"), "store"), RetailVersion.objects.count()) == (400, 0)
    assert (send(text(), "store"), RetailVersion.objects.count()) == (302, 1)


def test_the_list_is_read_back_as_it_was_written() -> None:
    found = formats.read_retail(text())
    assert (found.class_code, found.season, found.with_tax, found.valid_to) == ("SK13", "2026", True, date(2026, 12, 31))
    assert found.entries[0].options == (OptionPrice("window", Decimal(35)), OptionPrice("cunningham", Decimal(15)))
