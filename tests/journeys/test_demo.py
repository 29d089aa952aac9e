"""The demo runs, runs again, leaves a database in use alone, and its checks see what is wrong."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.utils import timezone

from loft.customers.models import Customer
from loft.orders.demo import checks, rise_checks, scenario
from loft.orders.models import Order, Quote
from loft.workshop.models import Ticket
from tests import desk


def _demo() -> str:
    printed = StringIO()
    call_command("demo", stdout=printed)
    return printed.getvalue()


@pytest.mark.usefixtures("transactional_db")
def test_the_demo_runs_twice_and_starts_afresh_each_time() -> None:
    for _ in range(2):
        printed = _demo()
        assert printed.count("  right  ") == 10 and "  wrong  " not in printed, printed
        assert [q.reference for q in Quote.objects.order_by("pk")] == ["Q-0001", "Q-0002", "", ""]
        assert "net GBP 10104.63" in printed
        assert (Order.objects.get().reference, Ticket.objects.count()) == ("O-0001", 12)
    passwords = dict(re.findall(r"sign in as (\w+), password (\S+)", printed))
    assert set(passwords) == {"manager", "cutter"}
    assert all(User.objects.get(username=name).check_password(word) for name, word in passwords.items())
    out = Path(settings.LOFT_VAR) / "demo"
    assert {"quote.pdf", "cost-sheet.pdf", "work-sheets.pdf", "batch.json"} <= {p.name for p in out.iterdir()}


def test_a_database_in_use_is_left_alone(loft: None) -> None:
    Customer.objects.create(kind="person", name="A Real Customer", buyer="private")
    with pytest.raises(CommandError, match="A Real Customer"):
        _demo()
    assert Customer.objects.get().name == "A Real Customer"
    assert Quote.objects.count() == 0


@pytest.fixture
def done(transactional_db: None, tmp_path: Path, settings: Any) -> scenario.Demo:
    """A demo that has been run, with nothing wrong yet."""
    settings.EMAIL_BACKEND = "loft.jobs.mail_files.EmailBackend"
    settings.LOFT_VAR = tmp_path
    demo = scenario.run(tmp_path / "demo", now=timezone.now())
    assert not any(check.wrong for check in checks.run(demo))
    return demo


def _wrong(demo: scenario.Demo) -> str:
    return "; ".join(f"{check.what}: {fault}" for check in checks.run(demo) for fault in check.wrong)


def test_the_checks_see_what_is_wrong(done: scenario.Demo) -> None:
    """Each fault is put in by itself, and taken out again."""
    path = done.out / "batch.json"
    whole = path.read_bytes()
    plain = json.loads(whole)
    plain["sails"][0]["price"][0]["unit_price"] = "1.00"
    path.write_text(json.dumps(plain))
    assert "net: " in _wrong(done)
    path.write_bytes(whole)

    path = done.out / "suit-batch.json"
    whole = path.read_bytes()
    plain = json.loads(whole)
    plain["sails"][1]["price"][0]["unit_price"] = "1.00"
    plain["sails"][0]["pattern"] = plain["sails"][1]["pattern"]
    path.write_text(json.dumps(plain))
    told = _wrong(done)
    assert "the suit's net: " in told and "the suit has " in told and "mm over the maximum" in told  # a main held against the jib's limits
    path.write_bytes(whole)

    pdf = done.out / "quote.pdf"
    sent = pdf.read_bytes()
    pdf.write_bytes(sent + b" ")
    assert "not the PDF that was issued" in _wrong(done)
    pdf.write_bytes(sent)

    Quote.objects.filter(number=2).update(number=3)
    assert "quotes are numbered [1, 3]" in _wrong(done)
    Quote.objects.filter(number=3).update(number=2)

    Ticket.objects.filter(number="O-0001-02").update(state="held", released_at=None)
    assert "O-0001-02 is held" in _wrong(done)
    Ticket.objects.filter(number="O-0001-02").update(state="released", released_at=desk.NOW)

    stray = Path(settings.LOFT_VAR) / "mail" / "again.eml"
    stray.write_bytes(b"Subject: again\r\n\r\n")
    assert "5 new letters, 4 were expected" in _wrong(done)
    stray.unlink()

    assert _wrong(done) == ""


def test_the_checks_see_a_rise_that_is_wrongly_added(done: scenario.Demo) -> None:
    rise = done.rise
    (first,) = rise.after.quotes
    figures = replace(first.figures, new_cost=first.figures.new_cost + 1)
    wrongly = replace(rise, after=replace(rise.after, quotes=(replace(first, figures=figures),)), refused=())
    assert [bool(list(found)) for found in (rise_checks.exposed(wrongly), rise_checks.replaced(wrongly))] == [True, True]
    assert not list(rise_checks.exposed(rise)) and not list(rise_checks.replaced(rise))
