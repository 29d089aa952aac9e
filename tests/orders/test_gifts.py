"""Sails given away: nothing charged, the cost kept, a manager's reason, and the ledger of twelve months."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from costing.errors import InputError
from costing.quote.exposure import at_lists
from costing.quote.gifts import Gift, ledger
from loft.catalogue import selectors as catalogue
from loft.catalogue import services as catalogue_writes
from loft.common import selectors as common
from loft.common.errors import NotAllowed
from loft.common.services import give_role
from loft.orders import gifts, paper, services
from tests import desk, skerling

BOATS = b"boat,owner,sail_number,options,given_as\nHeron,Maud Pellow,214,window,\nDipper,Tobias Wray,187,window,prize: Tarn Cup\n"


def given(cost: str, on: date, recipient: str = "Tobias Wray") -> Gift:
    return Gift(recipient, "prize", "Dipper 187", f"O-{on}", on, Decimal(cost))


def test_nothing_is_charged_and_the_cost_is_kept(loft: None, manager: User) -> None:
    batch = paper.thaw(desk.draft(BOATS, by=manager))
    sold, gift = batch.sails
    (item,) = gift.items
    assert item.label.endswith("given as prize: Tarn Cup")
    assert (item.discount, item.net) == (item.unit_price, 0)
    assert item.unit_price == sold.items[0].unit_price  # what it would have cost is shown
    assert (gift.net, gift.pass_through, gift.margin) == (0, 0, None)
    # the class label and the measuring fee are the loft's to pay: 18.00 + 12.50
    bought = sum((line.amount for line in gift.cost_lines if line.group == "bought in"), Decimal(0))
    assert bought == Decimal("30.50")
    assert abs(gift.cost - sold.cost - bought) <= Decimal("0.03")  # each shared set-up has one cent that only one of them bears
    assert (batch.cost, batch.given_cost) == (sold.cost + gift.cost, gift.cost)
    assert batch.margin == sold.margin  # the gift is in no margin
    assert batch.totals.net == sold.net
    house = catalogue.house(pattern=desk.PATTERN, on=desk.TODAY)
    assert at_lists(batch, house.lists, on=desk.TODAY).lost == 0


def test_a_manager_issues_it_with_a_reason(loft: None, manager: User) -> None:
    office = User.objects.create_user("office")
    give_role(user=office, role="office")
    draft = desk.draft(BOATS, by=manager)
    with pytest.raises(NotAllowed):
        services.issue(revision=draft, by=office, now=desk.NOW, reason="a prize")
    with pytest.raises(InputError) as caught:
        services.issue(revision=draft, by=manager, now=desk.NOW)
    assert [p.code for p in caught.value.problems] == ["below_floor"]
    assert services.issue(revision=draft, by=manager, now=desk.NOW, reason="the class's prize").state == "issued"


def test_a_batch_of_gifts_alone_divides_by_no_price(loft: None, manager: User) -> None:
    batch = paper.thaw(desk.draft(b"boat,owner,sail_number,given_as\nHeron,Maud Pellow,214,demo sail\n", by=manager))
    assert (batch.totals.gross, batch.margin) == (0, None)
    other = desk.draft(b"boat,owner,sail_number,given_as\nTeal,Ann Fell,215,demo\n", customer=desk.association(name="B"))
    assert paper.quote_pdf(other, common.loft_profile()).startswith(b"%PDF")


def test_the_ledger_counts_twelve_months_by_hand() -> None:
    """40 on 1 March 2025, 30 on 28 February 2026, 25 on 1 March 2026: 40, then 70, then 55 (the first is a year old that day)."""
    rows = ledger([given("40", date(2025, 3, 1)), given("30", date(2026, 2, 28)), given("25", date(2026, 3, 1), "tobias  WRAY"),
                   given("60", date(2026, 2, 1), "Ada Fenwick")], Decimal(50))  # fmt: skip
    assert [(r.gift.on, r.in_twelve_months, r.flagged) for r in rows] == [
        (date(2026, 3, 1), Decimal(55), True), (date(2026, 2, 28), Decimal(70), True), (date(2026, 2, 1), Decimal(60), True),
        (date(2025, 3, 1), Decimal(40), False),
    ]  # fmt: skip
    assert not any(r.flagged for r in ledger([given("4000", date(2026, 1, 1))], None))
    assert ledger([given("50", date(2024, 2, 29))], Decimal(50))[0].flagged is False  # above, not at


def test_what_was_accepted_stands_in_the_ledger(loft: None, manager: User, client: Client) -> None:
    text = skerling.text("larkfield_2026.toml").replace('version = "2026"', 'version = "b"').replace("2026-01-01", "2026-02-01", 1)
    catalogue_writes.load_house(text=text if "[gifts]" in text else text.replace("[margins]", "[gifts]\nflag_above = 50\n[margins]", 1))
    draft = desk.draft(BOATS, by=manager)
    assert any("more than the 50 in twelve months" in told for told in paper.thaw(draft).warnings)
    issued = services.issue(revision=draft, by=manager, now=desk.NOW, reason="a prize")
    assert gifts.gift_ledger(on=desk.TODAY) == ()
    services.accept(token=desk.token_of(issued), name="Hester Lorne", now=desk.NOW)
    (row,) = gifts.gift_ledger(on=desk.TODAY)
    assert (row.gift.recipient, row.gift.given_as, row.gift.reference) == ("Tobias Wray", "prize: Tarn Cup", "O-0001")
    assert row.flagged and row.in_twelve_months == paper.thaw(issued).sails[1].cost
    client.force_login(manager)
    page = client.get("/gifts/").content.decode()
    assert "prize: Tarn Cup" in page and "look at it" in page
