"""The exposure page: reached from the list of quotes, for those who see costs, on any day."""

from __future__ import annotations

from datetime import timedelta

from django.test import Client
from django.utils import timezone

from loft.catalogue import services as catalogue
from loft.orders.models import Revision
from tests import skerling


def test_the_page_shows_what_a_list_that_is_not_in_force_yet_will_do(issued: Revision, at_the_desk: Client) -> None:
    day = timezone.now().date() + timedelta(days=5)
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "next"').replace("2026-01-05", day.isoformat())
    catalogue.load_prices(text=text.replace("cost = 16.40", "cost = 26.40"))
    today = at_the_desk.get("/quotes/exposure/").content.decode()
    assert f"?on={day}" in today
    assert '<p class="big-number">0.00</p>' in today
    then = at_the_desk.get(f"/quotes/exposure/?on={day}")
    (row,) = then.context["report"].quotes
    assert row.figures.lost > 10_000  # two sails of about 7.5 m, 10.00 a metre dearer, and 3 % for roll ends
    assert then.context["report"].lost_minor == row.figures.lost
    assert f"{row.figures.lost / 100:,.2f}" in then.content.decode()


def test_a_day_that_is_none_is_named_and_today_is_shown(issued: Revision, at_the_desk: Client) -> None:
    page = at_the_desk.get("/quotes/exposure/?on=31.3.2026").content.decode()
    assert "is not a day: write it like 2026-03-31" in page


def test_the_list_of_quotes_leads_to_it(issued: Revision, at_the_desk: Client) -> None:
    assert 'href="/quotes/exposure/"' in at_the_desk.get("/quotes/").content.decode()


def test_a_cutter_does_not_see_it(issued: Revision, on_the_floor: Client) -> None:
    assert on_the_floor.get("/quotes/exposure/").status_code == 403
