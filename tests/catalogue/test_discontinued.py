"""What a supplier's next list no longer has: marked with its day and never deleted, refused with what could stand in."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from costing import quote
from costing.errors import InputError
from loft.catalogue import selectors
from loft.catalogue import services as catalogue
from loft.catalogue.models import Discontinued, Material, SupplierPrice
from tests import desk, skerling

NEXT = date(2026, 3, 9)
ROW_OF_DW185 = '[[rows]]\nrow = 13\nmaterial = "DW185"\ntheir_code = "TS 185 F"\nunit = "m"\nbreaks = [{ from = 0, cost = 18.90 }]\n'


@pytest.fixture
def loft(db: None) -> None:
    desk.load_catalogue()


def next_list(*, without_row: str = "", colours: str = '["white", "light grey"]') -> str:
    """Tarnside's list a week later: DW170 in other colours, DW185 sold, and one row left out."""
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026b"').replace("2026-01-05", NEXT.isoformat())
    text = text.replace('["white", "light grey", "red"]', colours)
    if without_row:
        before, _, after = text.partition(f"[[rows]]\nrow = {without_row}\n")
        text = before + after[after.index("[[rows]]") :]
    return text + ROW_OF_DW185


def gone() -> list[tuple[str, str, date]]:
    return list(Discontinued.objects.order_by("material__code", "colour").values_list("material__code", "colour", "gone_on"))


def test_a_colour_and_a_material_that_vanish_are_marked_with_the_lists_first_day(loft: None) -> None:
    prices = SupplierPrice.objects.count()
    report = catalogue.load_prices(text=next_list(without_row="9"))
    assert gone() == [("DW150", "", NEXT), ("DW170", "red", NEXT)]
    assert "discontinued: DW150, DW170 in red" in report.details
    assert Material.objects.filter(code="DW150").exists()  # never deleted, nor are its prices
    assert SupplierPrice.objects.filter(material__code="DW150").count() == 2
    assert SupplierPrice.objects.count() > prices


def test_a_dry_run_marks_nothing(loft: None) -> None:
    catalogue.load_prices(text=next_list(without_row="9"), dry_run=True)
    assert gone() == []


def test_before_its_day_a_colour_is_still_sold_and_a_later_list_may_bring_it_back(loft: None) -> None:
    catalogue.load_prices(text=next_list())
    words = "DW170 in red is discontinued: not on Tarnside Sailcloth 2026b, in force since 9 Mar 2026"
    assert selectors.assortment_of(on=date(2026, 3, 8)).gone == ()
    assert [g.words for g in selectors.assortment_of(on=NEXT).gone] == [words]
    back = next_list(colours='["white", "red"]').replace("2026b", "2026c").replace(NEXT.isoformat(), "2026-04-01")
    catalogue.load_prices(text=back)
    assert [(g.material, g.colour) for g in selectors.assortment_of(on=date(2026, 4, 1)).gone] == [("DW170", "light grey")]
    assert ("DW170", "red", NEXT) in gone()  # the mark of its day stays


def test_what_another_supplier_sells_is_not_gone(loft: None) -> None:
    catalogue.load_prices(text=next_list(without_row="9"))
    other = '[list]\nsupplier = "Other Mill"\nversion = "1"\nvalid_from = 2026-01-01\ncurrency = "GBP"\n'
    catalogue.load_prices(text=other + ROW_OF_DW185.replace("DW185", "DW150"))
    assert [(g.material, g.colour) for g in selectors.assortment_of(on=NEXT).gone] == [("DW170", "red")]


def refusal(colour: str, on: date = NEXT) -> list[tuple[str, str, str]]:
    house = selectors.house(pattern=desk.PATTERN, on=on)
    sail = replace(skerling.batch().sails[0], colour=colour)
    with pytest.raises(InputError) as caught:
        quote.price_batch(quote.BatchRequest("C", "trade", (sail,)), house, on=on)
    return [(p.path, p.code, p.message) for p in caught.value.problems]


def test_a_discontinued_colour_is_refused_with_the_cloth_that_comes_in_it(loft: None) -> None:
    text = next_list().replace('colours = ["white"]', 'colours = ["white", "red"]', 1)  # DW185
    catalogue.load_prices(text=text)
    (found,) = refusal("red")
    assert found[:2] == ("row 2.colour", "discontinued")
    assert found[2].endswith("not on Tarnside Sailcloth 2026b, in force since 9 Mar 2026; could stand in: DW185")


def test_a_discontinued_cloth_is_refused_once_with_every_cloth_that_fits(loft: None) -> None:
    catalogue.load_prices(text=next_list(without_row="12"))
    assert [(path, code) for path, code, _ in refusal("white")] == [("row 2.cloth", "discontinued")]
    assert refusal("white")[0][2].endswith("could stand in: DW185")
    assert refusal("light grey")[0][2].endswith("no cloth of the house could stand in")
