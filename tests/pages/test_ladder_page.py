"""The price ladder's page: chart and table say the same, and the search answers with a number of sails."""

from __future__ import annotations

import re

import pytest
from django.contrib.auth.models import User
from django.test import Client

from loft.orders.models import Revision
from tests import desk, skerling


@pytest.fixture
def draft(loft: None, manager: User) -> Revision:
    """Two boats under the association's terms."""
    return desk.draft(terms=skerling.TERMS, by=manager)


def test_the_chart_and_its_table_twin_have_sixty_points_and_no_inline_style(draft: Revision, at_the_desk: Client) -> None:
    page = at_the_desk.get(f"/quotes/{draft.quote_id}/ladder/")
    text = page.content.decode()
    lines = re.findall(r'<polyline points="([^"]+)"', text)
    assert [len(points.split()) for points in lines] == [60, 60, 60]
    assert text.count('<th scope="row" class="number">') == 60
    assert " style=" not in text and "<style" not in text
    assert "discount 5 % instead of 0 %" in text
    assert f'href="/quotes/{draft.quote_id}/ladder/"' in at_the_desk.get(f"/quotes/{draft.quote_id}/").content.decode()


def test_a_price_is_answered_with_the_number_of_sails(draft: Revision, at_the_desk: Client) -> None:
    rungs = at_the_desk.get(f"/quotes/{draft.quote_id}/ladder/").context["rungs"]
    page = at_the_desk.get(f"/quotes/{draft.quote_id}/ladder/?price={rungs[9].net}")
    assert page.context["reached"].sails == 10
    assert "from <b>10 sails</b>" in page.content.decode()


def test_a_price_that_is_none_is_named(draft: Revision, at_the_desk: Client) -> None:
    for asked in ("cheap", "NaN", "-5", "1e99"):
        page = at_the_desk.get(f"/quotes/{draft.quote_id}/ladder/", {"price": asked})
        assert page.status_code == 200
        assert "is not a price" in page.content.decode()


def test_the_floor_does_not_see_it(draft: Revision, on_the_floor: Client) -> None:
    assert on_the_floor.get(f"/quotes/{draft.quote_id}/ladder/").status_code == 403
