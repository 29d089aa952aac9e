"""Letters to the members of an association: one each, once, with the link to all the sails of his boat."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core import mail as outbox
from django.test import Client

from costing.errors import InputError
from loft.catalogue import services as catalogue
from loft.common.errors import Conflict, NotAllowed, NotFound
from loft.common.models import AuditEntry
from loft.customers import services as customers
from loft.customers.models import Boat
from loft.jobs import services as jobs
from loft.jobs.models import Job
from loft.orders import members, services
from loft.orders.models import MemberLetter, Order, OrderLine
from loft.workshop import services as workshop
from tests import desk, skerling
from tests.pages.markup import words

#: Heron's suit with the owner's address in its second row, Dipper's main, and Linnet's, whose owner has no address.
FLEET = (
    b"boat,owner,sail_number,pattern,email\n"
    b"Heron,Maud Pellow,214,,\n"
    b"Heron,Maud Pellow,214,SK13-JIB,maud@skerling.example\n"
    b"Dipper,Tobias Wray,187,,tobias@skerling.example\n"
    b"Linnet,Morwenna Fell,to follow,,\n"
)
REMINDER = MemberLetter.Kind.REMINDER


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    catalogue.load_pattern(text=skerling.text("sk13_jib_v1.toml"))
    return desk.accepted(manager, FLEET)


def write(order: Order, by: User | None, **more: Any) -> tuple[list[str], list[str], list[str]]:
    """Whom it was written to, who has no address, who was passed over."""
    done = services.write_to_members(order=order, by=by, now=desk.NOW, **more)
    groups = (done.written, done.without_address, done.passed_over)
    return tuple([m.owner for m in group] for group in groups)  # type: ignore[return-value]


def keys() -> list[str]:
    return list(MemberLetter.objects.order_by("pk").values_list("job__key", flat=True))


def member(order: Order, owner: str) -> members.Member:
    return next(m for m in members.of_order(order, base_url="http://loft") if m.owner == owner)


def confirm(order: Order, owner: str) -> None:
    token = member(order, owner).address.rstrip("/").rpartition("/")[2]
    services.confirm_details(token=token, name=owner, now=desk.NOW)


def line(order: Order, position: int) -> OrderLine:
    return OrderLine.objects.get(order=order, position=position)


def test_each_member_is_written_to_once_and_again_only_when_that_is_asked(order: Order, manager: User) -> None:
    heron, dipper = line(order, 1).pk, line(order, 3).pk
    assert write(order, manager) == (["Maud Pellow", "Tobias Wray"], ["Morwenna Fell"], [])
    assert write(order, manager) == ([], ["Morwenna Fell"], ["Maud Pellow", "Tobias Wray"])
    assert keys() == [f"member_details:{heron}", f"member_details:{dipper}"]
    assert write(order, manager, again=True, only=[2])[0] == ["Maud Pellow"]  # by any of his sails
    assert keys()[2:] == [f"member_details:{heron}:2"]
    boat = Boat.objects.get(name="Linnet")
    customers.save_boat(pk=boat.pk, name="Linnet", owner="Morwenna Fell", sail_number="", email="fell@skerling.example", by=manager)
    assert write(order, manager)[:2] == (["Morwenna Fell"], [])
    jobs.run_ready(lane="mail")
    assert sorted(m.to[0] for m in outbox.outbox if "please look" in m.subject) == [
        "fell@skerling.example", "maud@skerling.example", "maud@skerling.example", "tobias@skerling.example",
    ]  # fmt: skip
    written = AuditEntry.objects.filter(action="write_to_members").order_by("pk")
    assert [(e.who, e.subject, e.after["lines"]) for e in written] == [
        ("manager", "O-0001", [1, 3]), ("manager", "O-0001", [1]), ("manager", "O-0001", [4]),
    ]  # fmt: skip


def test_the_letter_says_what_is_ordered_and_leads_to_all_sails_of_the_boat(order: Order, manager: User, client: Client) -> None:
    write(order, manager)
    letter = desk.sent(f"member_details:{line(order, 1).pk}")
    assert (letter["To"], letter["Reply-To"]) == ("maud@skerling.example", "loft@larkfield.example")
    assert letter["Subject"] == "Heron: please look at what we make for you"
    text, html = letter.get_body(("plain",)), letter.get_body(("html",))
    assert text is not None and html is not None
    said = text.get_content()
    ordered = "Skerling 13 mainsail, cross-cut\nSkerling 13 headsail, cross-cut"
    for part in ("Dear Maud Pellow", skerling.CUSTOMER, ordered, "confirms nothing"):
        assert part in said, part
    address = member(order, "Maud Pellow").address.replace("http://loft", "http://127.0.0.1:8000")
    assert address in said and f'<a href="{address}">' in html.get_content()
    assert list(letter.iter_attachments()) == []
    shown = words(client.get(address.removeprefix("http://127.0.0.1:8000")).content.decode())
    assert "Your 2 sails for Heron" in shown and "Dipper" not in shown


def test_a_reminder_goes_to_those_who_were_asked_and_have_not_confirmed(order: Order, manager: User) -> None:
    assert write(order, manager, kind=REMINDER) == ([], [], ["Maud Pellow", "Tobias Wray", "Morwenna Fell"])
    write(order, manager)
    jobs.run_ready(lane="mail")
    confirm(order, "Maud Pellow")
    assert write(order, manager, kind=REMINDER)[0] == ["Tobias Wray"]
    assert write(order, manager, kind=REMINDER)[0] == []
    letter = desk.sent(f"member_reminder:{line(order, 3).pk}")
    body = letter.get_body(("plain",))
    assert body is not None and "on 02 Mar 2026 we asked you" in body.get_content()
    assert write(order, manager, again=True)[0] == ["Tobias Wray"]  # who has confirmed is left alone, asked again or not


def test_a_reminder_that_is_no_longer_needed_is_not_sent(order: Order, manager: User) -> None:
    write(order, manager)
    write(order, manager, kind=REMINDER, only=[3])
    confirm(order, "Tobias Wray")
    jobs.run_ready(lane="mail")
    assert Job.objects.get(key=f"member_reminder:{line(order, 3).pk}").state == "cancelled"
    assert [m.subject for m in outbox.outbox if m.subject.startswith("Reminder")] == []


def test_a_letter_that_was_given_up_is_written_anew(order: Order, manager: User) -> None:
    write(order, manager)
    boat = Boat.objects.get(name="Heron")
    Boat.objects.filter(pk=boat.pk).update(email="")
    jobs.run_ready(lane="mail")
    job = Job.objects.get(key=f"member_details:{line(order, 1).pk}")
    assert (job.state, "enter it on the page of the boat" in job.last_error, "Maud" in job.last_error) == ("dead", True, False)
    Boat.objects.filter(pk=boat.pk).update(email="new@skerling.example")
    assert write(order, manager)[0] == ["Maud Pellow"]
    assert desk.sent(f"member_details:{line(order, 1).pk}:2")["To"] == "new@skerling.example"


def test_nothing_is_written_by_the_wrong_person_to_a_closed_order_or_to_one_without_members(
    order: Order, manager: User, cutter: User
) -> None:
    with pytest.raises(NotAllowed):
        write(order, cutter)
    with pytest.raises(InputError, match="no line 9"):
        write(order, manager, only=[1, 9])
    services.cancel_order(order=order, reason="the fleet was sold", now=desk.NOW, by=manager)
    with pytest.raises(Conflict, match="nothing to confirm"):
        write(order, manager)
    person = desk.association(kind="person", name="Ines Tarn", email="ines@example.org")
    row = services.issue(revision=desk.draft(desk.ONE_BOAT, customer=person, by=manager), by=manager, now=desk.NOW)
    private = services.accept(token=desk.token_of(row), name="Ines", now=desk.NOW)
    with pytest.raises(NotFound, match="not an association"):
        write(private, manager)
    assert keys() == []


def test_a_name_with_markup_or_a_line_break_stays_in_its_place(order: Order, manager: User) -> None:
    """A list refuses a line break; a row of an earlier release may hold one."""
    nasty = 'Heron\r\nBcc: all@skerling.example <img src="x">'
    OrderLine.objects.filter(order=order, boat="Heron").update(boat=nasty)
    Boat.objects.filter(name="Heron").update(name=nasty)
    write(order, manager)
    letter = desk.sent(f"member_details:{line(order, 1).pk}")
    assert (letter["Bcc"], letter["To"]) == (None, "maud@skerling.example")
    assert letter["Subject"].startswith('Heron Bcc: all@skerling.example <img src="x">: please')
    html = letter.get_body(("html",))
    assert html is not None and "<img" not in html.get_content()


def test_the_owners_wording_counts_and_the_list_of_jobs_says_what_went_where(order: Order, manager: User) -> None:
    services.word_letter(name="member_details", subject="{boat} ({order})", body="{member}, {link}", by=manager, now=desk.NOW)
    with pytest.raises(InputError, match="link"):
        services.word_letter(name="member_reminder", subject="{boat}", body="no way in", by=manager, now=desk.NOW)
    write(order, manager, only=[1])
    assert desk.sent(f"member_details:{line(order, 1).pk}")["Subject"] == "Heron (O-0001)"
    client = Client()
    client.force_login(manager)
    listed = words(client.get("/jobs/?lane=mail").content.decode())
    assert "letter member_details" in listed and "maud@skerling.example O-0001 line 1, Q-0001 revision 1" in listed


def give_up(order: Order, by: User, *positions: int) -> None:
    for position in positions:
        workshop.scrap(ticket=line(order, position).ticket, reason="dropped out", now=desk.NOW, by=by)


def test_a_member_who_dropped_out_is_not_written_to(order: Order, manager: User, client: Client) -> None:
    """Neither by a button nor by a letter that is on its way already; his page says so and takes no confirmation."""
    write(order, manager, only=[3])
    give_up(order, manager, 3)
    assert write(order, manager, again=True)[0] == ["Maud Pellow"]
    assert write(order, manager, kind=REMINDER)[0] == ["Maud Pellow"]
    jobs.run_ready(lane="mail")
    assert not [m for m in outbox.outbox if m.to == ["tobias@skerling.example"]]
    assert Job.objects.get(key=f"member_details:{line(order, 3).pk}").state == "cancelled"
    with pytest.raises(Conflict, match="no sail of Dipper is made: there is nothing to confirm"):
        confirm(order, "Tobias Wray")
    assert line(order, 3).confirmed_at is None
    page = client.get(member(order, "Tobias Wray").address.removeprefix("http://loft")).content.decode()
    assert "This sail is not made: there is nothing to confirm." in words(page) and "<form" not in page
    client.force_login(manager)
    shown = words(client.get(f"/orders/{order.pk}/members/").content.decode())
    assert "0 confirmed · 1 with no sail that is made" in shown
    assert "Dipper 187, mainsail, given up" in shown


def test_of_a_suit_what_is_left_is_asked_about_and_confirmed(order: Order, manager: User) -> None:
    write(order, manager, only=[1])
    give_up(order, manager, 1)
    letter = desk.sent(f"member_details:{line(order, 1).pk}").get_body(("plain",))
    assert letter is not None
    assert "Skerling 13 headsail, cross-cut" in letter.get_content() and "mainsail" not in letter.get_content()
    confirm(order, "Maud Pellow")
    assert [line(order, position).confirmed_at for position in (1, 2)] == [None, desk.NOW]
    assert member(order, "Maud Pellow").confirmed_at == desk.NOW
    assert write(order, manager, kind=REMINDER)[0] == []
