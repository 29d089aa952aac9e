"""Customers and boats: stored whole, found again, and never one number for two boats."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from costing.errors import InputError
from loft.common.errors import NotFound
from loft.common.models import AuditEntry
from loft.customers import boats_csv, selectors, services
from loft.customers.models import Boat, Customer, MeasuredValue, MeasurementSet
from tests import skerling

pytestmark = pytest.mark.django_db

TAKEN_ON = date(2026, 2, 20)
BATCH = (skerling.FIXTURES / "skerling_batch_2026.csv").read_bytes()


def rows(data: bytes) -> tuple[boats_csv.BoatRow, ...]:
    return boats_csv.read_rows(data, pattern=skerling.house().pattern)


def save(data: bytes) -> tuple[Boat, ...]:
    return services.save_boats(class_code="SK13", rows=rows(data), taken_on=TAKEN_ON, how="owner's tape")


def test_a_customer_is_stored_changed_and_read() -> None:
    made = services.save_customer(
        kind="association", name=skerling.CUSTOMER, email="hon.sec@skerling.example", address="Boathouse 2\n\nNorth Tarn", buyer="trade"
    )
    assert selectors.customer(made.pk) == made
    assert made.address_lines == ("Boathouse 2", "North Tarn")
    services.save_customer(pk=made.pk, kind="association", name="Renamed", buyer="trade")
    assert [c.name for c in selectors.customers()] == ["Renamed"]


def test_every_wrong_field_of_a_customer_is_named_and_nothing_stored() -> None:
    with pytest.raises(InputError) as raised:
        services.save_customer(kind="club", name="  ", email="not an address", buyer="cash")
    assert {p.path for p in raised.value.problems} == {"kind", "name", "email", "buyer"}
    assert not Customer.objects.exists()


@pytest.mark.parametrize("name", ["Lorne\nBcc: all@skerling.example", "Lorne\r\nX-Evil: 1", "Lorne\tand Sons", "Lorne\x85"])
def test_a_name_is_on_one_line_and_what_is_not_changes_nothing(name: str) -> None:
    """A name may stand in the subject of a letter and in a file's name: no line break gets as far as that."""
    made = services.save_customer(kind="person", name="Hester Lorne", address="1 Jetty\nNorth Tarn")
    (boat,) = save(b"boat,owner,sail_number\nHeron,Maud Pellow,214\n")
    told = [("name", "control_character", "has a line break, a tab or another character that cannot be printed")]
    for attempt in (
        lambda: services.save_customer(kind="person", name=f"{name}."),
        lambda: services.save_customer(pk=made.pk, kind="person", name=f"{name}."),
        lambda: services.new_customer(kind="person", name=f"{name}."),
        lambda: services.save_boat(pk=boat.pk, name=f"{name}.", owner="Maud Pellow", sail_number="214", by=None),
    ):
        with pytest.raises(InputError) as refused:
            attempt()
        assert [(p.path, p.code, p.message) for p in refused.value.problems] == told
    assert list(Customer.objects.values_list("name", "version")) == [("Hester Lorne", 1)]
    assert list(Boat.objects.values_list("name", "version")) == [("Heron", boat.version)]


def test_a_customer_that_is_not_there() -> None:
    with pytest.raises(NotFound, match="no customer 7"):
        selectors.customer(7)
    with pytest.raises(NotFound, match="no customer 7"):
        services.save_customer(pk=7, kind="person", name="Maud Pellow", buyer="private")
    assert not Customer.objects.exists()


def test_boats_are_stored_with_their_sizes_as_written_and_exactly() -> None:
    boats = save(BATCH)
    assert len(boats) == 12 and MeasurementSet.objects.count() == 2
    lapwing = Boat.objects.get(name="Lapwing")
    values = {v.measurement: (v.printed, v.unit, v.mm) for v in MeasuredValue.objects.filter(measurement_set__boat=lapwing)}
    assert values["luff_length"] == ("17 ft 1 in", "ft in", Decimal(5207))
    assert values["leech_length"] == ("5545", "mm", Decimal(5545))
    assert values["foot_length"] == ("2.44 m", "m", Decimal(2440))
    assert selectors.latest_sizes(lapwing)["luff_length"] == Decimal(5207)
    assert selectors.latest_sizes(boats[0]) == {}


def test_the_same_list_again_finds_its_boats_and_adds_a_measurement_set() -> None:
    first = save(BATCH)
    assert [b.pk for b in save(BATCH)] == [b.pk for b in first]
    assert (Boat.objects.count(), MeasurementSet.objects.count()) == (12, 4)
    assert len(selectors.boats(class_code="SK13")) == 12
    assert len(selectors.boats(class_code="OTHER")) == 0


def test_a_number_that_another_owner_has_is_refused_and_nothing_stored() -> None:
    save(b"boat,owner,sail_number\nHeron,Maud Pellow,214\n")
    with pytest.raises(InputError) as raised:
        save(b"boat,owner,sail_number,luff_length\nDipper,Tobias Wray,187,5210\nRedshank,Ines Calder,214,5200\n")
    (found,) = raised.value.problems
    assert (found.path, found.code) == ("row 3.sail_number", "number_taken")
    assert found.message == "214 is stored as Heron of Maud Pellow: correct the list, or the stored boat first"
    assert (Boat.objects.count(), MeasurementSet.objects.count()) == (1, 0)


def test_two_rows_for_one_boat_whose_number_is_to_follow() -> None:
    one, other = save(b"boat,owner,sail_number\nLinnet,Morwenna Fell,to follow\nLINNET,Morwenna Fell,to follow\n")
    assert one.pk == other.pk
    assert Boat.objects.count() == 1


def test_a_number_is_one_boats_in_a_class_and_may_be_to_follow_for_many() -> None:
    Boat.objects.create(class_code="SK13", sail_number=None, name="Linnet", owner="A")
    Boat.objects.create(class_code="SK13", sail_number=None, name="Linnet", owner="B")
    Boat.objects.create(class_code="SK13", sail_number="214", name="Heron", owner="A")
    Boat.objects.create(class_code="OTHER", sail_number="214", name="Heron", owner="A")
    for number in ("214", ""):
        with pytest.raises(IntegrityError), transaction.atomic():
            Boat.objects.create(class_code="SK13", sail_number=number, name="Heron", owner="C")


ADDRESSED = b"boat,owner,sail_number,email\nHeron,Maud Pellow,214,%s\nDipper,Tobias Wray,187,\n"


def address_of(name: str) -> tuple[str, int]:
    boat = Boat.objects.get(name=name)
    return boat.email, boat.version


def test_a_list_gives_a_boat_its_owners_address_and_a_new_list_a_new_one() -> None:
    save(ADDRESSED % b"maud@skerling.example")
    assert (address_of("Heron"), address_of("Dipper")) == (("maud@skerling.example", 1), ("", 1))
    save(ADDRESSED % b"maud@skerling.example")
    save(ADDRESSED % b"")
    assert address_of("Heron") == ("maud@skerling.example", 1)
    save(ADDRESSED % b"pellow@skerling.example")
    assert address_of("Heron") == ("pellow@skerling.example", 2)
    (entry,) = AuditEntry.objects.filter(action="keep_address")
    assert (entry.before, entry.after, entry.personal.before) == ({}, {}, {"email": "maud@skerling.example"})


def test_an_old_list_that_is_priced_again_replaces_no_address_and_fills_an_empty_place() -> None:
    save(ADDRESSED % b"corrected@skerling.example")
    again = (ADDRESSED % b"old@skerling.example").replace(b"187,", b"187,tobias@skerling.example")
    services.save_boats(class_code="SK13", rows=rows(again), taken_on=TAKEN_ON, new_addresses=False)
    assert (address_of("Heron")[0], address_of("Dipper")[0]) == ("corrected@skerling.example", "tobias@skerling.example")


@pytest.mark.parametrize("email", ["maud", "maud@skerling.example\r\nBcc: b@skerling.example", "a@b.example, c@d.example", "a b@c.ex"])
def test_a_boat_keeps_no_address_that_is_none(email: str) -> None:
    (heron, _) = save(ADDRESSED % b"maud@skerling.example")
    with pytest.raises(InputError) as refused:
        services.save_boat(pk=heron.pk, name="Heron", owner="Maud Pellow", sail_number="214", email=email, by=None)
    assert [(p.path, p.code) for p in refused.value.problems] == [("email", "invalid")]
    assert address_of("Heron") == ("maud@skerling.example", 1)


def test_an_address_is_corrected_taken_away_and_left_alone() -> None:
    (heron, _) = save(ADDRESSED % b"maud@skerling.example")
    kept = []
    for email in (" new@skerling.example ", None, ""):
        services.save_boat(pk=heron.pk, name="Heron", owner="Maud Pellow", sail_number="214", email=email, by=None)
        kept.append(address_of("Heron")[0])
    assert kept == ["new@skerling.example", "new@skerling.example", ""]
