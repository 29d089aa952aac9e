"""Signing in and out, and the pages that say no."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.test import Client, RequestFactory
from django.views import defaults

from loft.catalogue import selectors
from loft.customers import boats_csv
from loft.orders.pages import help
from tests.pages.markup import Page, words


def test_signing_in_goes_on_to_the_page_that_was_asked_for(loft: None, manager: User, client: Client) -> None:
    wanted = client.get("/tickets/")
    form = words(client.get(wanted["Location"]).content.decode())
    assert "Sign in to see that page." in form
    sent = {"username": "manager", "password": "a-long-password", "next": "/tickets/"}
    assert client.post("/login/", sent)["Location"] == "/tickets/"
    assert client.get("/login/")["Location"] == "/"
    assert client.post("/logout/")["Location"] == "/login/"
    assert client.get("/tickets/").status_code == 302


def test_a_wrong_password_keeps_the_name_and_says_no_more(manager: User, client: Client) -> None:
    known = client.post("/login/", {"username": "manager", "password": "wrong"})
    unknown = client.post("/login/", {"username": "nobody", "password": "wrong"})
    assert "Name and password do not belong together." in words(known.content.decode())
    assert words(known.content.decode()) == words(unknown.content.decode())
    assert 'value="manager"' in known.content.decode()


def test_signing_in_never_leads_elsewhere(manager: User, client: Client) -> None:
    sent = {"username": "manager", "password": "a-long-password", "next": "https://elsewhere.example/"}
    assert client.post("/login/", sent)["Location"] == "/"


def test_signing_out_needs_a_post(manager: User, client: Client) -> None:
    client.force_login(manager)
    assert client.get("/logout/").status_code == 405
    assert client.get("/").status_code == 200


def test_a_form_from_elsewhere_or_too_old_changes_nothing(loft: None, manager: User) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(manager)
    answer = strict.post("/quotes/new/", {"customer": "new"})
    assert answer.status_code == 403
    assert "This form was too old" in words(answer.content.decode())


def test_pages_for_errors_are_whole_pages(db: None, client: Client, rf: RequestFactory) -> None:
    missing = client.get("/no-such-page/")
    broken = defaults.server_error(rf.get("/"))
    unreadable = defaults.bad_request(rf.get("/"), ValueError())
    for response, status, said in (
        (missing, 404, "There is no such page"),
        (broken, 500, "Something broke on our side"),
        (unreadable, 400, "The request could not be read"),
    ):
        html = response.content.decode()
        assert (response.status_code, said in words(html), Page(html).faults) == (status, True, [])


def test_somebody_without_the_right_is_told_whom_to_ask(loft: None, cutter: User, client: Client) -> None:
    client.force_login(cutter)
    text = words(client.get("/quotes/").content.decode())
    assert "This needs the role manager" in text
    assert "You are signed in as cutter. Ask a manager" in text


def test_help_describes_every_column_that_is_read_and_its_example_can_be_read(loft: None, cutter: User, client: Client) -> None:
    client.force_login(cutter)
    html = client.get("/help/").content.decode()
    for column in boats_csv.COLUMNS:
        assert f"<code>{column}</code>" in html, column
    assert set(help.WORDS) == set(boats_csv.REQUIRED) | set(boats_csv.WORDS)
    download = client.get("/help/boats-example.csv")
    sails = boats_csv.read_boats(download.content, pattern=selectors.pattern("SK13-MAIN"))
    assert [(s.boat, s.sail_number) for s in sails] == [("Heron", "214"), ("Wagtail", "240"), ("Linnet", None)]
    assert "attachment" in download["Content-Disposition"]
