"""Things tried on a draft: kept beside it with their audit, shown side by side, and the draft stays as it is."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from costing.errors import InputError
from costing.quote.what_if import WhatIf
from loft.common.errors import NotAllowed
from loft.common.models import AuditEntry
from loft.common.services import give_role
from loft.orders import paper
from loft.orders.models import Revision, WhatIfRun
from loft.orders.services.trying_out import try_out
from tests import desk


def test_it_is_kept_and_the_draft_is_not_touched(loft: None, manager: User) -> None:
    draft = desk.draft(by=manager)
    before = bytes(Revision.objects.get(pk=draft.pk).snapshot)
    run = try_out(revision=draft, what=WhatIf(cloth_rise=Decimal("0.08"), labour_rate=Decimal("31")), now=desk.NOW, by=manager)
    stored = WhatIfRun.objects.get(pk=run.pk)
    assert stored.asked == {"cloth_rise": "0.08", "cloth": "", "foreign_rise": "0", "labour_rate": "31"}
    assert Decimal(stored.figures["cost"]) > paper.thaw(draft).cost
    assert bytes(Revision.objects.get(pk=draft.pk).snapshot) == before
    assert AuditEntry.objects.filter(action="try_out").count() == 1


def test_what_cannot_be_priced_is_not_kept(loft: None, manager: User) -> None:
    draft = desk.draft(by=manager)
    with pytest.raises(InputError):
        try_out(revision=draft, what=WhatIf(cloth="DW150"), now=desk.NOW, by=manager)
    reader = User.objects.create_user("reader")
    give_role(user=reader, role="reader")
    with pytest.raises(NotAllowed):
        try_out(revision=draft, what=WhatIf(cloth_rise=Decimal("0.1")), now=desk.NOW, by=reader)
    assert WhatIfRun.objects.count() == 0


def test_the_page_shows_it_side_by_side(loft: None, manager: User, client: Client) -> None:
    draft = desk.draft(by=manager)
    client.force_login(manager)
    address = f"/quotes/{draft.quote_id}/what-if/"
    form = {"cloth_rise": "8", "cloth": "", "foreign_rise": "", "labour_rate": "31.50", "idempotency_key": "k" * 20}
    for _ in range(2):  # the second is the same request sent again
        assert client.post(f"{address}try/", form).status_code == 302
    assert WhatIfRun.objects.count() == 1
    page = client.get(address).content.decode()
    assert "as it stands" in page and "cloth +8 %, labour at 31.50 an hour" in page


@pytest.mark.parametrize(
    ("field", "text"), [("cloth_rise", "8,5"), ("labour_rate", "NaN"), ("foreign_rise", "1e9"), ("cloth", "XX"), ("", "")]
)
def test_nonsense_is_refused_and_nothing_kept(loft: None, manager: User, client: Client, field: str, text: str) -> None:
    draft = desk.draft(by=manager)
    client.force_login(manager)
    answer = client.post(f"/quotes/{draft.quote_id}/what-if/try/", {field: text, "idempotency_key": "k" * 20})
    assert answer.status_code == 400
    assert WhatIfRun.objects.count() == 0


def test_the_ladder_names_the_cloths_that_reach_a_price(loft: None, manager: User, client: Client) -> None:
    draft = desk.draft(by=manager)
    client.force_login(manager)
    page = client.get(f"/quotes/{draft.quote_id}/ladder/?price=2000").content.decode()
    rows = re.findall(r'<tr><th scope="row">(\w+)<br>.*?</tr>', page)
    assert rows == ["DW170"]  # DW185 is described and not sold, the others are not permitted
