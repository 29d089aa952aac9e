"""The kit: factors on drivers, option filters, and what counts as a driver of its own."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.takeoff import KitItem, TakeOff, check_kit, driver, take_off, together


def _item(material: str, per: str, factor: str, **rest: str) -> KitItem:
    return KitItem(material, per, Decimal(factor), **rest)


DRIVERS = (driver("seam_m", Decimal("5.343"), ""), driver("patch_edge_m", Decimal("12.5"), ""), driver("sail", 1, ""),
           driver("pocket_short", 2, ""), driver("pocket_full", 1, ""))  # fmt: skip
KIT = (
    _item("THREAD", "seam_m", "9.7", note="two rows"),
    _item("TAPE", "seam_m", "1.15"),
    _item("TAPE", "patch_edge_m", "1"),
    _item("RING", "sail", "2", counts_as="ring"),
    _item("RING", "sail", "1", counts_as="ring", option="cunningham"),
    _item("BATTEN", "pocket_short", "1", counts_as="batten"),
    _item("CAP", "batten", "2"),
    _item("WINDOW-TAPE", "window_edge_m", "1"),
)


@pytest.mark.parametrize(
    ("label", "options", "material", "amount", "unit", "group", "how"),
    [
        ("thread, two rows of zig-zag", (), "THREAD", "51.8271", "m", "consumables", "9.7 x 5.343 m"),
        ("tape: seams and perimeters", (), "TAPE", "18.64445", "m", "consumables", "1.15 x 5.343 m + 1 x 12.5 m"),
        ("rings without the option", (), "RING", "2", "piece", "hardware", "2 x 1 sail"),
        ("rings with it", ("cunningham",), "RING", "3", "piece", "hardware", "2 x 1 sail + 1 x 1 sail"),
        ("what the kit counts drives the kit", (), "CAP", "4", "piece", "hardware", "2 x 2 battens"),
    ],
)
def test_material(label: str, options: tuple[str, ...], material: str, amount: str, unit: str, group: str, how: str) -> None:
    found = {m.material: m for m in take_off(DRIVERS, KIT, frozenset(options)).materials}
    got = found[material]
    assert (got.amount, got.unit, got.group, got.how) == (Decimal(amount), unit, group, how), label
    assert "WINDOW-TAPE" not in found


def test_kit_items_that_count_are_drivers() -> None:
    taken = take_off(DRIVERS, KIT, frozenset({"cunningham"}))
    assert (taken.amount("ring"), taken.amount("batten"), taken.amount("window")) == (3, 2, 0)


def test_take_offs_of_parts_add_up_to_the_take_off_of_the_whole() -> None:
    def key(taken: TakeOff) -> tuple[dict[str, Decimal], dict[str, Decimal]]:
        return {d.code: d.amount for d in taken.drivers}, {m.material: m.amount for m in taken.materials}

    own, rest = DRIVERS[2:], DRIVERS[:2]
    whole = take_off(DRIVERS, KIT, frozenset())
    assert key(together(take_off(own, KIT, frozenset()), take_off(rest, KIT, frozenset()))) == key(whole)


def test_unknown_drivers_are_named_with_the_nearest_all_at_once() -> None:
    kit = (_item("THREAD", "seams_m", "9.7"), _item("CAP", "battens", "2"), _item("BATTEN", "sail", "3", counts_as="batten"))
    with pytest.raises(InputError) as refused:
        check_kit(kit)
    assert [(p.path, p.code) for p in refused.value.problems] == [
        ("pattern.kit[0].per", "unknown_driver"), ("pattern.kit[1].per", "unknown_driver"),
    ]  # fmt: skip
    assert "THREAD: there is no driver 'seams_m'; did you mean seam_m?" in refused.value.problems[0].message
    assert "did you mean batten?" in refused.value.problems[1].message
