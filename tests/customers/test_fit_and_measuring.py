"""Fit sheets and typed measurements: how, by whom and when each was taken, and doubts that somebody settles by name."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from costing.errors import InputError
from costing.measurements import SailKind
from loft.common.errors import NotAllowed, NotFound
from loft.common.idempotency import FIELD
from loft.common.models import AuditEntry
from loft.customers import fit, fit_items, measuring
from loft.customers.models import Boat, FitSheet, MeasuredValue, MeasurementSet
from tests import desk
from tests.documents import reading

pytestmark = pytest.mark.django_db
D = Decimal
DAY = date(2026, 3, 2)
TAKEN = measuring.Taken(DAY, "steel tape, sail flat on the floor", "Maud Pellow")
GROOVE = fit.Row("9.5 mm", "calliper at three heights", "Maud Pellow", DAY)


@pytest.fixture
def boat() -> Boat:
    desk.load_catalogue()
    return Boat.objects.create(class_code="SK13", sail_number="214", name="Heron", owner="Maud Pellow")


def keep(boat: Boat, by: User | None = None, *, confirmed_by: str = "", **readings: str) -> MeasurementSet:
    given = {name: text.split(";") for name, text in readings.items()}
    return measuring.keep(boat=boat, kind=SailKind.MAINSAIL, readings=given, taken=TAKEN, confirmed_by=confirmed_by, by=by)


def refused(boat: Boat, **readings: str) -> list[tuple[str, str]]:
    with pytest.raises(InputError) as raised:
        keep(boat, **readings)
    assert not MeasurementSet.objects.exists()
    return [(p.path, p.code) for p in raised.value.problems]


# -- the fit sheet


def test_a_sheet_keeps_each_value_as_written_with_its_millimetres_and_who_took_it(boat: Boat) -> None:
    sheet = fit.keep(boat=boat, rows={"luff_groove": GROOVE, "slides": fit.Row("none", "seen", "Ada", DAY)}, by=None, now=desk.NOW)
    kept = {d.item: (d.value, d.mm, d.how, d.taken_by, d.taken_on) for d in sheet.details.all()}
    assert kept == {
        "luff_groove": ("9.5 mm", D("9.5"), "calliper at three heights", "Maud Pellow", DAY), "slides": ("none", None, "seen", "Ada", DAY),
    }  # fmt: skip


def test_a_new_sheet_leaves_the_old_one(boat: Boat) -> None:
    fit.keep(boat=boat, rows={"luff_groove": GROOVE}, by=None, now=desk.NOW)
    second = fit.keep(boat=boat, rows={"luff_groove": fit.Row("10 mm", "calliper", "Ada", DAY)}, by=None, now=desk.NOW)
    assert fit.latest(boat) == second and FitSheet.objects.count() == 2


def test_every_row_that_is_wrong_is_named_at_once_and_nothing_stored(boat: Boat) -> None:
    rows = {"luff_groove": fit.Row("9,5", "", "Ada", DAY), "slides": fit.Row("", "seen", "", None), "mast_color": GROOVE}
    with pytest.raises(InputError) as raised:
        fit.keep(boat=boat, rows=rows, by=None, now=desk.NOW)
    assert {(p.path, p.code) for p in raised.value.problems} == {
        ("luff_groove.how", "missing"), ("luff_groove.value", "not_a_length"), ("slides.value", "missing"), ("slides.taken_by", "missing"),
        ("slides.taken_on", "missing"), ("mast_color", "unknown_item"),
    }  # fmt: skip
    assert not FitSheet.objects.exists()


def test_an_empty_sheet_is_none(boat: Boat) -> None:
    with pytest.raises(InputError, match="nothing is filled in"):
        fit.keep(boat=boat, rows={"slides": fit.Row()}, by=None, now=desk.NOW)


def test_paper_lines_name_what_nobody_took(boat: Boat) -> None:
    sheet = fit.keep(boat=boat, rows={"luff_groove": GROOVE}, by=None, now=desk.NOW)
    lines = {line[0]: line[1:] for line in fit.lines(sheet, SailKind.MAINSAIL)}
    assert len(lines) == 11
    assert lines["Luff groove, inside"] == ("9.5 mm", "calliper at three heights", "Maud Pellow", "2026-03-02")
    assert lines["Mast make"] == ("", "not taken", "nobody", "no day")


# What each kind of sail must fit, by the first and the last of its rows; no row of a sail's sheet is another kind's alone.
@pytest.mark.parametrize(
    ("kind", "asked", "foreign"),
    [
        (SailKind.MAINSAIL, ("Mast make", "Boom bands"), "Stay"),
        (SailKind.HEADSAIL, ("Stay", "Sheets"), "Boom bands"),
        (SailKind.STORM_JIB, ("Stay", "Sheets"), "Spinnaker pole"),
        (SailKind.SYMMETRIC_SPINNAKER, ("Spinnaker pole", "Launching and stowing"), "Bowsprit or tack point"),
        (SailKind.ASYMMETRIC_SPINNAKER, ("Bowsprit or tack point", "Launching and stowing"), "Spinnaker pole"),
        (SailKind.TRYSAIL, ("Mast make and section", "Halyard"), "Luff groove, inside"),
    ],
)  # fmt: skip
def test_a_sail_s_lines_are_those_of_its_kind(boat: Boat, kind: SailKind, asked: tuple[str, str], foreign: str) -> None:
    rows = {item.code: fit.Row("30 mm" if item.length else "seen", "seen", "Ada", DAY) for item in fit_items.ITEMS}
    labels = [what for what, *_ in fit.lines(fit.keep(boat=boat, rows=rows, by=None, now=desk.NOW), kind)]
    assert (labels[0], labels[-1]) == asked and foreign not in labels
    assert foreign in {item.label for item in fit_items.ITEMS}


def test_a_sheet_without_a_row_for_a_kind_says_nothing_of_it(boat: Boat) -> None:
    sheet = fit.keep(boat=boat, rows={"luff_groove": GROOVE}, by=None, now=desk.NOW)
    assert [kind for kind in SailKind if fit.lines(sheet, kind)] == [SailKind.MAINSAIL]
    of_jib = fit.keep(boat=boat, rows={"stay": fit.Row("4 mm wire", "calliper", "Ada", DAY)}, by=None, now=desk.NOW)
    assert [kind for kind in SailKind if fit.lines(of_jib, kind)] == [SailKind.HEADSAIL]  # a storm jib may have a stay of its own
    sheet = fit.keep(boat=boat, rows={"luff_groove": GROOVE}, by=None, now=desk.NOW)
    sails = [("214", "Heron", "Maud Pellow", kind) for kind in (SailKind.MAINSAIL, SailKind.HEADSAIL)]
    assert [len(found) for found in fit.lines_for(class_code="SK13", sails=sails)] == [11, 0]
    assert [heading for heading, _ in fit.grouped(sheet)] == ["Mast, boom and mainsail"]


def test_a_sail_s_boat_is_found_by_number_or_while_it_follows_by_name(boat: Boat) -> None:
    assert fit.boat_of(class_code="SK13", sail_number="214", name="Other", owner="x") == boat
    assert fit.boat_of(class_code="SK13", sail_number=None, name="heron", owner="MAUD PELLOW") == boat
    with pytest.raises(NotFound):
        fit.boat_of(class_code="SK13", sail_number="9", name="Wren", owner="x")


# -- measurements and doubts


def test_the_middle_of_several_readings_counts_and_all_are_kept(boat: Boat) -> None:
    kept = keep(boat, luff_length="5214 mm; 5.210 m; 5212", leech_length="5560")
    value = kept.values.get(measurement="luff_length")
    assert (value.printed, value.mm, value.readings) == ("5212", D(5212), ["5214 mm", "5.210 m", "5212"])
    assert (kept.taken_by, kept.how, kept.doubts, kept.confirmed_by) == ("Maud Pellow", TAKEN.how, [], "")


# The bounds are those of the issue: P or E more than 1 % off, repeats that differ by more than 5 mm (10 mm over 5 m), swapped P and E.
@pytest.mark.parametrize(
    ("label", "readings", "expected"),
    [
        ("repeats of a long size", {"luff_length": "5210; 5221"}, ("luff_length", "repeats_differ")),
        ("repeats of a short size", {"foot_length": "2440; 2446"}, ("foot_length", "repeats_differ")),
        ("P off the last set", {"mast_band_distance": "5303"}, ("mast_band_distance", "off_the_rig")),
        ("swapped", {"mast_band_distance": "2450", "boom_band_distance": "5250"}, ("mast_band_distance", "swapped")),
        (
            "a leech that the luff does not allow", {"luff_length": "5210", "foot_length": "2440", "leech_length": "4900"},
            ("leech_length", "short_for_the_luff"),
        ),
    ],
)  # fmt: skip
def test_a_doubt_stops_until_somebody_stands_by_it(boat: Boat, label: str, readings: dict[str, str], expected: tuple[str, str]) -> None:
    known = keep(boat, mast_band_distance="5250", boom_band_distance="2450")
    with pytest.raises(InputError) as raised:
        keep(boat, **readings)
    assert [(p.path, p.code) for p in raised.value.problems] == [expected, ("confirmed_by", "not_confirmed")], label
    assert list(MeasurementSet.objects.all()) == [known]
    kept = keep(boat, confirmed_by="Ada Thwaite", **readings)
    assert kept.confirmed_by == "Ada Thwaite" and len(kept.doubts) == 1


def test_nothing_in_doubt_needs_no_name(boat: Boat) -> None:
    keep(boat, mast_band_distance="5250", boom_band_distance="2450")
    assert keep(boat, mast_band_distance="5302", confirmed_by="Ada").confirmed_by == ""


def test_every_wrong_reading_is_named_at_once(boat: Boat) -> None:
    found = refused(boat, luff_length="5,21 m; about 5 m", foot_lenght="2440", leech_length="5560")
    assert found == [("luff_length", "not_a_length"), ("luff_length", "not_a_length"), ("foot_lenght", "unknown_measurement")]


def test_who_and_how_must_be_said(boat: Boat) -> None:
    with pytest.raises(InputError) as raised:
        measuring.keep(boat=boat, kind=SailKind.MAINSAIL, readings={"luff_length": ["5210"]}, taken=measuring.Taken(DAY, " ", ""), by=None)
    assert [(p.path, p.code) for p in raised.value.problems] == [("how", "missing"), ("taken_by", "missing")]


def test_it_needs_the_desk(boat: Boat, cutter: User) -> None:
    with pytest.raises(NotAllowed):
        keep(boat, cutter, luff_length="5210")
    with pytest.raises(NotAllowed):
        fit.keep(boat=boat, rows={"luff_groove": GROOVE}, by=cutter, now=desk.NOW)
    assert not MeasuredValue.objects.exists()


def test_names_stay_out_of_the_lasting_part_of_the_audit(boat: Boat, manager: User) -> None:
    keep(boat, manager, luff_length="5210; 5230", confirmed_by="Ada Thwaite")
    fit.keep(boat=boat, rows={"luff_groove": GROOVE}, by=manager, now=desk.NOW)
    for entry in AuditEntry.objects.filter(subject_kind="boat"):
        assert "Ada" not in str(entry.after) and "9.5" not in str(entry.after)


# -- pages and API


def test_the_pages(boat: Boat, manager: User) -> None:
    client = Client()
    client.force_login(manager)
    sent = {
        FIELD: "a-key-of-this-test-0001", "luff_groove.value": "9.5 mm", "luff_groove.how": "calliper", "luff_groove.taken_by": "Ada",
        "luff_groove.taken_on": "2026-03-02",
    }  # fmt: skip
    assert "Luff groove, inside" in client.post(f"/boats/{boat.pk}/fit/", sent, follow=True).content.decode()
    assert fit.latest(boat).details.get().value == "9.5 mm"  # type: ignore[union-attr]
    doubtful = {
        FIELD: "a-key-of-this-test-0002", "kind": "mainsail", "luff_length": "5210; 5230", "taken_on": "2026-03-02", "taken_by": "Ada",
        "how": "tape",
    }  # fmt: skip
    answer = client.post(f"/boats/{boat.pk}/measurements/", doubtful)
    assert answer.status_code == 400 and "was read 20 mm apart in 2 readings" in answer.content.decode()
    answer = client.post(f"/boats/{boat.pk}/measurements/", {**doubtful, FIELD: "a-key-of-test-03", "confirmed_by": "Ada"}, follow=True)
    assert "Ada stands by it" in answer.content.decode()


def test_the_api(boat: Boat, manager: User) -> None:
    client = Client()
    client.force_login(manager)
    row = {"item": "luff_groove", "value": "9.5 mm", "how": "calliper", "taken_by": "Ada", "taken_on": "2026-03-02"}
    headers = {"Idempotency-Key": "fit-0001-of-this-test"}
    for _ in range(2):
        answer = client.post(f"/api/boats/{boat.pk}/fit/", {"details": [row]}, "application/json", headers=headers)
        assert (answer.status_code, FitSheet.objects.count()) == (201, 1)
    body = {
        "sail_kind": "mainsail", "taken_on": "2026-03-02", "how": "tape", "taken_by": "Ada",
        "values": [{"measurement": "luff_length", "readings": ["5210", "5230"]}],
    }  # fmt: skip
    answer = client.post(f"/api/boats/{boat.pk}/measurements/", body, "application/json", headers={"Idempotency-Key": "set-0001-of-this"})
    assert answer.status_code == 400
    assert [d["path"] for d in answer.json()["details"]] == ["luff_length", "confirmed_by"]
    body["confirmed_by"] = "Ada"
    answer = client.post(f"/api/boats/{boat.pk}/measurements/", body, "application/json", headers={"Idempotency-Key": "set-0002-of-this"})
    assert answer.json()["confirmed_by"] == "Ada"
    stored = client.get(f"/api/boats/{boat.pk}/").json()
    assert stored["fit_sheets"][0]["details"][0]["mm"] == "9.500000"
    assert stored["measurement_sets"][0]["values"][0]["readings"] == ["5210", "5230"]


@pytest.mark.parametrize("kind", [k.value for k in SailKind])
def test_the_sheet_to_measure_with(boat: Boat, manager: User, kind: str) -> None:
    client = Client()
    client.force_login(manager)
    answer = client.get(f"/boats/{boat.pk}/measure-{kind}.pdf")
    assert answer["Content-Type"] == "application/pdf"
    text = reading.text(answer.content)
    assert f"Measurement sheet: {kind.replace('_', ' ')}" in text and "Heron" in text
    assert "straight line, head point to tack point" in text
    asked = {item.label for item in fit_items.of_kind(SailKind(kind))}
    for item in fit_items.ITEMS:
        assert (f"{item.label} {item.hint.split()[0]}" in text) == (item.label in asked), item.label
    if kind == "mainsail":
        assert "max 5,230 (C.6.3 (a))" in text and "Mast band distance (P)" in text


def test_a_kind_that_there_is_not(boat: Boat, manager: User) -> None:
    client = Client()
    client.force_login(manager)
    assert client.get(f"/boats/{boat.pk}/measure-topsail.pdf").status_code == 404


def test_a_ticket_leads_to_its_boat(boat: Boat, manager: User) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    client = Client()
    client.force_login(manager)
    ticket = order.lines.get().ticket
    assert f"/tickets/{ticket.pk}/boat/" in client.get(f"/tickets/{ticket.pk}/").content.decode()
    assert client.get(f"/tickets/{ticket.pk}/boat/")["Location"] == f"/boats/{boat.pk}/"
