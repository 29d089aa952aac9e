"""The owner's wording of letters: fixed placeholders, unknown ones refused, versions, a preview that keeps nothing."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client
from rest_framework.test import APIClient

from costing.errors import InputError
from loft.common.errors import NotAllowed, Stale
from loft.orders import services, wording
from loft.orders.models import LetterWording
from tests import desk

BODY = "Good day {customer},\n\nhere is {quote}:\n{link}\n\nSee you on the water."


def _word(by: User, *, subject: str = "{quote}", body: str = BODY, version: int | None = None) -> wording.Wording:
    return services.word_letter(name="quote_issued", subject=subject, body=body, by=by, now=desk.NOW, version=version)


@pytest.mark.parametrize(
    ("label", "subject", "body", "code"),
    [
        ("unknown in the body", "{quote}", BODY + " {discount}", "unknown_placeholder"),
        ("unknown in the subject", "{quote} {Customer}", BODY, "unknown_placeholder"),
        ("an attribute of a placeholder", "{quote.__class__}", BODY, "unknown_placeholder"),
        ("a conversion", "{quote!r}", BODY, "unknown_placeholder"),
        ("nothing in the braces", "{}", BODY, "unknown_placeholder"),
        ("a brace alone", "{quote} }", BODY, "stray_brace"),
        ("braces in braces", "{{quote}}", BODY, "stray_brace"),
        ("without the link", "{quote}", "Dear {customer}", "needed_placeholder"),
        ("the link in the subject", "{link}", BODY, "link_in_subject"),
        ("an empty subject", " ", BODY, "missing"),
        ("a header in the subject", "Quote\nBcc: all@example.org", BODY, "control_character"),
        ("a bell in the text", "{quote}", BODY + "\a", "control_character"),
        ("a long text", "{quote}", BODY + "x" * 4000, "too_long"),
    ],
)
def test_what_is_refused(loft: None, manager: User, label: str, subject: str, body: str, code: str) -> None:
    with pytest.raises(InputError) as refused:
        _word(manager, subject=subject, body=body)
    assert code in {p.code for p in refused.value.problems}
    if code == "unknown_placeholder":
        assert "there are {customer}, {quote}, {sails}, {total}, {valid_until}, {link}, {loft}" in refused.value.problems[0].message
    assert not LetterWording.objects.exists()


def test_letters_say_it_from_then_on_and_versions_are_kept(loft: None, manager: User) -> None:
    assert (_word(manager).version, _word(manager, subject="Your sails: {quote}").version) == (1, 2)
    row = desk.issued(manager)
    letter = desk.sent(f"quote_issued:{row.pk}")
    assert letter["Subject"] == "Your sails: Q-0001"
    text, html = letter.get_body(("plain",)), letter.get_body(("html",))
    assert text is not None and html is not None
    assert text.get_content().startswith("Good day Skerling Class Association of the Northern Tarns,\n\nhere is Q-0001:\nhttp")
    assert f'<a href="{desk.link_in(letter)}">' in html.get_content()
    assert list(LetterWording.objects.values_list("version", flat=True).order_by("version")) == [1, 2]


def test_a_name_that_looks_like_a_placeholder_or_markup_is_only_a_name(loft: None, manager: User) -> None:
    _word(manager, subject="{quote} for {customer}", body=BODY.replace("Good day", "<b>Good</b> day"))
    customer = desk.association(name="{link} <script>x</script>")
    row = services.issue(revision=desk.draft(desk.ONE_BOAT, customer=customer), by=manager, now=desk.NOW)
    letter = desk.sent(f"quote_issued:{row.pk}")
    assert letter["Subject"] == "Q-0001 for {link} <script>x</script>"
    html = letter.get_body(("html",))
    assert html is not None
    assert ("<script>" in html.get_content(), "<b>" in html.get_content()) == (False, False)
    assert html.get_content().count("<a href=") == 1


def test_two_owners_at_once_lose_nothing(loft: None, manager: User, cutter: User) -> None:
    _word(manager, version=0)
    with pytest.raises(Stale) as late:
        _word(manager, subject="mine", version=0)
    assert (late.value.version, late.value.stored["subject"]) == ("1", "{quote}")
    with pytest.raises(NotAllowed):
        _word(cutter)


def test_every_letter_as_it_comes_keeps_its_own_rules(loft: None) -> None:
    for name, kind in wording.KINDS.items():
        wording.check(name, subject=kind.subject, body=kind.body)
        assert set(kind.known) >= {"customer", "loft"}


def test_the_page_previews_without_keeping(loft: None, manager: User) -> None:
    client = Client()
    client.force_login(manager)
    assert "as it came" in client.get("/letters/").content.decode()
    typed = {"subject": "New {quote}", "body": BODY, "version": "0"}
    shown = client.post("/letters/quote_issued/", {**typed, "preview": "1"}).content.decode()
    assert "New Q-0042" in shown
    assert "Good day Maud Pellow," in shown
    assert not LetterWording.objects.exists()
    wrong = client.post("/letters/quote_issued/", {**typed, "body": BODY + " {price}", "preview": "1"})
    assert (wrong.status_code, "{price} is no placeholder" in wrong.content.decode()) == (400, True)
    assert client.post("/letters/quote_issued/", typed).status_code == 302
    assert "Your wording, version 1." in client.get("/letters/quote_issued/").content.decode()
    assert client.post("/letters/quote_issued/", typed).status_code in (409, 412)
    assert client.get("/letters/birthday/").status_code == 404


def test_over_http_with_the_version_that_was_read(loft: None, manager: User) -> None:
    api = APIClient()
    api.force_login(manager)
    read = api.get("/api/letters/order_accepted/")
    assert (read["ETag"], read.json()["placeholders"][0]) == ('"0"', "customer")
    body = {"subject": "{order}", "body": "Dear {customer}"}
    assert api.put("/api/letters/order_accepted/", body, format="json").status_code == 428
    kept = api.put("/api/letters/order_accepted/", body, format="json", headers={"If-Match": read["ETag"]})
    assert (kept.status_code, kept["ETag"], kept.json()["version"]) == (200, '"1"', 1)
    assert api.put("/api/letters/order_accepted/", body, format="json", headers={"If-Match": read["ETag"]}).status_code == 412
    refused = api.put("/api/letters/order_accepted/", body | {"body": "{nobody}"}, format="json", headers={"If-Match": "*"})
    assert (refused.status_code, refused.json()["details"][0]["code"]) == (400, "unknown_placeholder")
    names = [row["name"] for row in api.get("/api/letters/").json()]
    assert sorted(names) == [
        "change_accepted", "change_issued", "member_details", "member_reminder", "order_accepted", "payment_received", "quote_issued",
        "refund_paid",
    ]  # fmt: skip
