"""A tax rate that changed between draft and issue: the draft is not issued with the old one, and a revision has the new one."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from costing.errors import InputError
from loft.catalogue import services as catalogue
from loft.orders import paper, services
from tests import desk, skerling


def new_rates(old: str, new: str) -> None:
    """A house file of the next day with another line in its tax table."""
    text = skerling.text("larkfield_2026.toml").replace('version = "2026"', 'version = "2026b"')
    catalogue.load_house(text=text.replace("valid_from = 2026-01-01", "valid_from = 2026-03-03").replace(old, new))


def test_the_day_before_it_is_issued_with_the_old_rate_and_after_it_not_at_all(loft: None, manager: User) -> None:
    first, second = desk.draft(by=manager), desk.draft(desk.ONE_BOAT, customer=desk.association(name="B"), by=manager)
    new_rates('label = "VAT", fraction = 0.20', 'label = "VAT", fraction = 0.22')
    assert services.issue(revision=first, by=manager, now=desk.NOW).state == "issued"
    tomorrow = desk.NOW + timedelta(days=1)
    with pytest.raises(InputError) as caught:
        services.issue(revision=second, by=manager, now=tomorrow)
    told = "VAT was 20 % when it was priced and is 22 % today: revise it, so that it is priced with today's"
    assert [(p.path, p.code, p.message) for p in caught.value.problems] == [("taxes", "tax_changed", told)]
    second.refresh_from_db()
    assert (second.state, second.quote.number) == ("draft", None)
    again = services.revise(quote=second.quote, on=tomorrow.date(), now=tomorrow, by=manager)
    assert [t.fraction for t in paper.thaw(again).totals.taxes] == [Decimal("0.22")]
    assert services.issue(revision=again, by=manager, now=tomorrow).state == "issued"


def test_a_rate_that_is_gone_is_named(loft: None, manager: User) -> None:
    draft = desk.draft(by=manager)
    text = skerling.text("larkfield_2026.toml").replace('version = "2026"', 'version = "2026b"')
    text = text.replace("valid_from = 2026-01-01", "valid_from = 2026-03-03").replace('code = "S"', 'code = "T"')
    catalogue.load_house(text=text.replace('sails = "S"', 'sails = "T"').replace('tax = "S"', 'tax = "T"'))
    with pytest.raises(InputError) as caught:
        services.issue(revision=draft, by=manager, now=desk.NOW + timedelta(days=1))
    assert [p.code for p in caught.value.problems] == ["tax_changed"]
