"""What a finished sail measured: kept exactly, doubted where it must be, compared with the edition of the day, shown beside the design."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client
from rest_framework.test import APIClient

from costing.errors import InputError
from costing.measurements import Corner
from loft.common import selectors as common
from loft.common.errors import Conflict, NotAllowed, Stale
from loft.documents import finished_sizes, finisher_sheet_pdf
from loft.orders import order_papers
from loft.orders import selectors as desk_reads
from loft.orders.models import Order
from loft.workshop import finished, paper, selectors
from loft.workshop import services as floor
from loft.workshop.models import FinishedSet, FinishedValue, Requirement, Step, Ticket
from loft.workshop.states import Need, TicketState
from tests import desk
from tests.documents import reading

#: As designed, to the mm or the inch; the half width's limit is 1,380 to 1,475 mm, its target 1,470 mm (C.6.3 (f)).
RIGHT = {"luff_length": ("17' 1 1/2\"",), "half_width": ("1471", "1.47 m", "1472 mm"), "primary_reinforcement_size:head": ("324",)}
TAKEN = finished.Taken(desk.TODAY, "steel tape, flat on the floor", "Sewer One")


@pytest.fixture
def order(manager: User) -> Order:
    desk.load_catalogue()
    return desk.accepted(manager, desk.ONE_BOAT)


@pytest.fixture
def ticket(order: Order, manager: User) -> Ticket:
    """The sail in work, all its steps done but the last one, which is started."""
    ticket = Ticket.objects.get()
    for need in (Need.DEPOSIT, Need.FIT, Need.CLOTH):
        floor.meet([ticket], need, by="manager", now=desk.NOW)
    floor.record_label(ticket=ticket, label_number="L 1", by=manager, now=desk.NOW)
    for step in Step.objects.filter(ticket=ticket).order_by("position"):
        floor.start_step(step=step, by=manager, now=desk.NOW)
        if step.operation != "inspect_and_pack":
            floor.finish_step(step=step, by=manager, now=desk.NOW)
    return Ticket.objects.get()


def last_step(ticket: Ticket) -> Step:
    return Step.objects.get(ticket=ticket, finished_at=None)


def keep(ticket: Ticket, by: User, sizes: dict[str, tuple[str, ...]], occasion: str = "first", **more: object) -> FinishedSet:
    taken = finished.Taken(TAKEN.on, TAKEN.how, TAKEN.by, occasion)
    return finished.record(ticket=ticket, readings=sizes, taken=taken, by=by, now=desk.NOW, **more)  # type: ignore[arg-type]


def refused(ticket: Ticket, by: User, sizes: dict[str, tuple[str, ...]], **more: object) -> list[tuple[str, str]]:
    """Path and code of everything that is wrong; nothing may be stored."""
    with pytest.raises(InputError) as error:
        keep(ticket, by, sizes, **more)
    assert not FinishedValue.objects.exists()
    return [(p.path, p.code) for p in error.value.problems]


def test_readings_in_any_unit_are_kept_as_written_and_exactly(ticket: Ticket, manager: User) -> None:
    keep(ticket, manager, RIGHT)
    assert selectors.finished_sizes(ticket) == {
        ("luff_length", None): (Decimal("5219.7"),),  # 17 x 304.8 + 1.5 x 25.4
        ("half_width", None): (Decimal(1471),),  # the middle one of three
        ("primary_reinforcement_size", Corner.HEAD): (Decimal(324),),
    }
    luff, half = (FinishedValue.objects.get(measurement=name) for name in ("luff_length", "half_width"))
    assert (luff.printed, luff.readings) == ("17' 1 1/2\"", [])
    assert (half.printed, half.readings) == ("1471", ["1471", "1.47 m", "1472 mm"])
    by_path = {t.path: t for t in finished_sizes.texts(finished.of_ticket(ticket, now=desk.NOW).rows)}
    assert (by_path["luff_length"].target, by_path["luff_length"].deviation) == ("5,220.0", "−0.3")
    row = by_path["half_width"]
    assert (row.rule, row.limit, row.target, row.tolerance) == ("C.6.3 (f)", "1,380 to 1,475", "1,470.0", "−90.0 / +5.0")
    assert (row.measured, row.deviation, row.verdict) == ("1,471", "+1.0", "inside")
    floor.finish_step(step=last_step(ticket), by=manager, now=desk.NOW)
    assert Ticket.objects.get().state == TicketState.READY


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ({"luff_length": ("522 m",)}, [("luff_length", "looks_like_a_slip")]),  # 100 times
        ({"luff_length": ("52200",)}, [("luff_length", "looks_like_a_slip")]),
        ({"luff_length": ("205.5",), "half_width": ("57.9",)}, [("luff_length", "looks_like_a_slip"), ("half_width", "looks_like_a_slip")]),
        ({"leech_length": ("5440",)}, [("leech_length", "off_the_design"), ("confirmed_by", "not_confirmed")]),
        ({"half_width": ("1465", "1475")}, [("half_width", "repeats_differ"), ("confirmed_by", "not_confirmed")]),
        ({"batten_pocket_count": ("2",)}, [("batten_pocket_count", "off_the_design"), ("confirmed_by", "not_confirmed")]),
        (
            {"luff_length": ("5,22 m",), "middle_width": ("1471",)},
            [("luff_length", "not_a_measure"), ("middle_width", "unknown_measurement")],
        ),
        ({"luff_length": (" ",)}, [("readings", "empty")]),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_or_believed(ticket: Ticket, manager: User, readings: dict[str, tuple[str, ...]], said: object) -> None:
    assert refused(ticket, manager, readings) == said


def test_who_how_when_and_which_measuring_must_be_said(ticket: Ticket, manager: User) -> None:
    with pytest.raises(InputError) as error:
        taken = finished.Taken(date(2026, 3, 3), "", " ", "recut")
        finished.record(ticket=ticket, readings={"luff_length": ("5220",)}, taken=taken, by=manager, now=desk.NOW)
    assert [(p.path, p.code) for p in error.value.problems] == [
        ("how", "missing"), ("taken_by", "missing"), ("taken_on", "not_yet"), ("occasion", "not_the_occasion"),
    ]  # fmt: skip


def test_a_doubt_is_kept_with_the_name_of_who_stands_by_it(ticket: Ticket, manager: User) -> None:
    kept = keep(ticket, manager, {"quarter_width": ("2250",)}, confirmed_by="Ada Thwaite")
    assert kept.confirmed_by == "Ada Thwaite" and "off: measure it again" in kept.doubts[0]


def test_a_breach_holds_the_sail_until_it_is_recut_and_measured_again(ticket: Ticket, manager: User) -> None:
    keep(ticket, manager, {**RIGHT, "half_width": ("1477.5",)})
    need = Requirement.objects.get(kind=Need.RULES)
    over = "measured half width 1,477.5 mm is 2.5 mm over the maximum of 1,475 mm (C.6.3 (f))"
    assert need.wording == f"edition 2025, in force on 2026-04-13: {over}"
    with pytest.raises(Conflict, match=r"cannot be ready.*2.5 mm over.*recut it, measure it again, or .* NON-CLASS"):
        floor.finish_step(step=last_step(ticket), by=manager, now=desk.NOW)
    ticket.refresh_from_db()
    assert ticket.state == TicketState.IN_WORK and last_step(ticket)
    keep(ticket, manager, {"half_width": ("1474",)}, "recut")
    need.refresh_from_db()
    assert need.met_by == "inside the class rules"
    assert selectors.finished_sizes(ticket)["luff_length", None] == (Decimal("5219.7"),)  # what was not measured again stands
    floor.finish_step(step=last_step(ticket), by=manager, now=desk.NOW)
    assert [(s.number, s.occasion) for s in selectors.finished_sets(ticket)] == [(2, "recut"), (1, "first")]
    with pytest.raises(Conflict, match="is ready"):
        keep(Ticket.objects.get(), manager, {"half_width": ("1474",)}, "again")


def test_who_may_measure_and_against_which_version(ticket: Ticket, manager: User, cutter: User) -> None:
    with pytest.raises(NotAllowed):
        keep(ticket, cutter, RIGHT)
    with pytest.raises(Stale):
        keep(ticket, manager, RIGHT, version=ticket.version - 1)
    assert not FinishedSet.objects.exists()


def test_the_paper_has_a_box_for_each_size_with_limit_target_and_tolerance(ticket: Ticket, manager: User) -> None:
    profile = common.loft_profile()
    blank = reading.text(finisher_sheet_pdf(paper.ticket_document(selectors.ticket(ticket.pk), profile, now=desk.NOW)))
    assert "C.6.3 (f) Half width 1,380 to 1,475 1,470.0 −90.0 / +5.0" in blank
    assert "The loft's own check" in blank and "certificate" not in blank.lower()
    keep(ticket, manager, RIGHT)
    filled = reading.text(finisher_sheet_pdf(paper.ticket_document(selectors.ticket(ticket.pk), profile, now=desk.NOW)))
    assert "Half width 1,380 to 1,475 1,470.0 −90.0 / +5.0 1,471" in filled


def test_the_delivery_note_shows_measured_beside_designed(ticket: Ticket, order: Order, manager: User) -> None:
    keep(ticket, manager, RIGHT)
    floor.finish_step(step=last_step(ticket), by=manager, now=desk.NOW)
    note = reading.text(order_papers.delivery_note_pdf(desk_reads.order(order.pk), common.loft_profile()))
    assert "Heron 214: designed and measured, limits of edition 2025" in note
    assert "Half width C.6.3 (f) 1,380 to 1,475 1,470.0 1,471 +1.0 inside" in note
    assert "Leech length" not in note  # nobody measured it


def test_page_and_api_record_it(ticket: Ticket, manager: User) -> None:
    client, place = Client(), f"/tickets/{ticket.pk}/measured/"
    client.force_login(manager)
    page = client.get(place).content.decode()
    assert 'name="half_width"' in page and "1,380 to 1,475" in page
    form = {"idempotency_key": "measured-0001", "version": ticket.version, "taken_on": "2026-03-02", "how": "tape", "taken_by": "Sewer One"}
    doubted = client.post(place, {**form, "leech_length": "5440"})
    assert doubted.status_code == 400 and "stand by these sizes" in doubted.content.decode() and "5440" in doubted.content.decode()
    done = client.post(place, {**form, "half_width": "1476", "idempotency_key": "measured-0002"}, follow=True).content.decode()
    assert "1 mm over the maximum" in done and "OUTSIDE by 1" in done and "The sail goes no further" in done

    api, address = APIClient(), f"/api/tickets/{ticket.pk}/measured/"
    api.force_login(manager)
    seen = api.get(address)
    assert seen.json()["outside"] is True
    half = next(row for row in seen.json()["rows"] if row["path"] == "half_width")
    assert (half["measured"], half["room"], half["target"]) == (["1476.00000000"], "-1.00000000", ["1470.00000000"])
    body = {
        "values": [{"path": "half_width", "readings": ["1.474 m"]}], "occasion": "again", "taken_on": "2026-03-02", "how": "tape",
        "taken_by": "Sewer One",
    }  # fmt: skip
    headers = {"If-Match": seen["ETag"], "Idempotency-Key": "measured-0003"}
    kept = api.post(address, body, format="json", headers=headers)
    assert (kept.status_code, kept.json()["outside"], len(kept.json()["sets"])) == (201, False, 2)
    assert api.post(address, body, format="json", headers=headers).json() == kept.json()  # the same key: kept once
    assert FinishedSet.objects.count() == 2
    again = api.post(address, body, format="json", headers={"If-Match": seen["ETag"], "Idempotency-Key": "measured-0004"})
    assert again.status_code == 412


@pytest.mark.parametrize(
    ("label", "taken", "confirmed_by", "paths"),
    [
        ("an occasion that there is none of", finished.Taken(desk.TODAY, "tape", "Sewer One", "bogus"), "", ["occasion"]),
        ("a name too long for its column", TAKEN, "n" * 201, ["confirmed_by"]),
        ("line breaks", finished.Taken(desk.TODAY, "ta\npe", "Sewer\tOne"), "Anna\nB", ["how", "taken_by", "confirmed_by"]),
    ],
)
def test_what_no_column_keeps_is_refused(
    ticket: Ticket, manager: User, label: str, taken: finished.Taken, confirmed_by: str, paths: list[str]
) -> None:
    with pytest.raises(InputError) as error:
        finished.record(ticket=ticket, readings=RIGHT, taken=taken, confirmed_by=confirmed_by, by=manager, now=desk.NOW)
    assert [p.path for p in error.value.problems] == paths, label
    assert not FinishedSet.objects.exists()


def test_a_form_with_another_occasion_is_shown_again(ticket: Ticket, manager: User) -> None:
    client = Client()
    client.force_login(manager)
    form = {"idempotency_key": "measured-0009", "version": ticket.version, "taken_on": "2026-03-02", "how": "tape", "taken_by": "Sewer One"}
    page = client.post(f"/tickets/{ticket.pk}/measured/", {**form, "half_width": "1471", "occasion": "bogus", "confirmed_by": "n" * 250})
    assert page.status_code == 400 and not FinishedSet.objects.exists()


def test_a_path_that_stands_twice_loses_no_reading(ticket: Ticket, manager: User) -> None:
    api = APIClient(headers={"If-Match": "*", "Idempotency-Key": "measured-0010"})
    api.force_login(manager)
    values = [{"path": "half_width", "readings": ["1471"]}, {"path": "half_width", "readings": ["1476"]}]
    body = {"values": values, "taken_on": "2026-03-02", "how": "tape", "taken_by": "Sewer One"}
    refused = api.post(f"/api/tickets/{ticket.pk}/measured/", body, format="json")
    assert [(d["path"], d["code"]) for d in refused.json()["details"]] == [("values[1].path", "twice")]
    assert not FinishedSet.objects.exists()
