"""The manager's page of background work: what waits, what was given up and why, to whom a letter went and about which revision."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone
from rest_framework.test import APIClient

from loft.common.models import AuditEntry
from loft.customers.models import Customer
from loft.jobs import services
from loft.jobs.models import Job
from loft.jobs.running import MAX_ATTEMPTS
from loft.orders.models import Revision
from tests.pages import markup


def words(response: HttpResponse) -> str:
    """What a page says."""
    return markup.words(response.content.decode())


def _letter(revision: Revision) -> Job:
    return Job.objects.get(key=f"quote_issued:{revision.pk}")


@pytest.fixture
def given_up(issued: Revision, monkeypatch: pytest.MonkeyPatch) -> Job:
    """A letter whose mail server refuses for ever: tried as often as a job is, then given up."""

    def refuse(self: Any, fail_silently: bool = False) -> int:
        raise ConnectionRefusedError("550 no such mailbox")

    with monkeypatch.context() as patched:
        patched.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)
        for hours in range(MAX_ATTEMPTS + 3):
            services.run_ready(lane="mail", now=timezone.now() + timedelta(hours=2 * hours))
    return _letter(issued)


def test_a_letter_shows_to_whom_when_and_which_revision(issued: Revision, at_the_desk: Client) -> None:
    page = words(at_the_desk.get("/jobs/?lane=mail"))
    assert "letter quote_issued" in page
    assert "sails@skerling.example" in page
    assert f"{issued.quote.reference} revision 1" in page
    services.run_ready(lane="mail")
    Customer.objects.update(email="new@skerling.example")
    sent = _letter(issued)
    assert (sent.sent_to, sent.state, sent.progress) == ("sails@skerling.example", "done", 100)
    after = words(at_the_desk.get("/jobs/?lane=mail"))
    assert ("sails@skerling.example" in after, "new@skerling.example" in after) == (True, False)


def test_an_address_that_bounces_for_ever_ends_on_the_dead_list(given_up: Job, at_the_desk: Client) -> None:
    assert (given_up.state, given_up.attempts, given_up.sent_to) == ("dead", MAX_ATTEMPTS, "")
    page = words(at_the_desk.get("/jobs/"))
    assert "Given up: look at these" in page
    assert "550 no such mailbox" in page
    done = at_the_desk.post(f"/jobs/{given_up.pk}/run-again/", follow=True)
    assert "It will be run again." in words(done)
    given_up.refresh_from_db()
    assert (given_up.state, given_up.attempts) == ("ready", 0)
    services.run_ready(lane="mail")
    given_up.refresh_from_db()
    assert (given_up.state, given_up.sent_to) == ("done", "sails@skerling.example")
    assert AuditEntry.objects.filter(action="run_again", who="manager").count() == 1
    assert at_the_desk.post(f"/jobs/{given_up.pk}/run-again/").status_code == 409


def test_a_waiting_job_is_cancelled_and_a_running_one_told_to_stop(issued: Revision, at_the_desk: Client) -> None:
    letter = _letter(issued)
    sweep = Job.objects.exclude(pk=letter.pk)[0]
    assert "Cancelled." in words(at_the_desk.post(f"/jobs/{letter.pk}/cancel/", follow=True))
    Job.objects.filter(pk=sweep.pk).update(state="running", lease_until=timezone.now() + timedelta(minutes=1), holder="x")
    assert "stops at its next step" in words(at_the_desk.post(f"/jobs/{sweep.pk}/cancel/", follow=True))
    letter.refresh_from_db()
    sweep.refresh_from_db()
    assert (letter.state, sweep.state, sweep.cancel_requested) == ("cancelled", "running", True)
    assert services.run_ready(lane="mail") == 0
    assert at_the_desk.post(f"/jobs/{letter.pk}/cancel/").status_code == 409


def test_the_same_over_http(given_up: Job, manager: User) -> None:
    api = APIClient()
    api.force_login(manager)
    (row,) = api.get("/api/jobs/?state=dead").json()["results"]
    assert (row["lane"], row["attempts"], row["about"]["to"]) == ("mail", MAX_ATTEMPTS, "sails@skerling.example")
    assert row["about"]["subject"].endswith("revision 1")
    assert api.get("/api/jobs/?state=asleep").status_code == 400
    assert api.post(f"/api/jobs/{row['id']}/cancel/").status_code == 409
    assert api.post(f"/api/jobs/{row['id']}/run-again/").json()["state"] == "ready"
    assert api.post(f"/api/jobs/{row['id']}/cancel/").json()["state"] == "cancelled"
    assert api.get("/api/jobs/987654/").status_code == 404
