"""The cost lines of one sail, worked with a pencil; and the shares of the set-up."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from costing import work
from costing.cloth import Lay, Section
from costing.prices import Break, SupplierList, SupplierRow, unit_costs
from costing.quote import Design, House, PassThrough, SailRequest, costs, pricing
from costing.quote.wanted import Wanted
from costing.takeoff import KitItem, TakeOff, driver, take_off
from costing.work import LabourStandard, LabourStandards, Station, Term
from tests import skerling


def _row(row: int, material: str, unit: str, *breaks: tuple[str, str]) -> SupplierRow:
    return SupplierRow(row, material, material.lower(), unit, tuple(Break(Decimal(q), Decimal(c)) for q, c in breaks))


LIST = SupplierList("Mill", "1", date(2026, 1, 1), None, "GBP", (
    _row(1, "DW170", "m", ("0", "14.85"), ("50", "13.70")), _row(2, "FILM-05", "m", ("0", "11.20")),
    _row(3, "THREAD", "m", ("0", "0.0145")), _row(4, "RING", "piece", ("0", "1.85")), _row(5, "LABEL", "piece", ("0", "18.00")),
))  # fmt: skip
KIT = (KitItem("THREAD", "seam_m", Decimal("9.7")), KitItem("RING", "sail", Decimal(3), counts_as="ring", note="pressed rings"))
LABOUR = LabourStandards(
    "1", "2026-01-01", Decimal("27.50"), Decimal("0.75"), Decimal("0.05"),
    (
        LabourStandard("check", "Check", Station.DESK, (Term("order", Decimal(20)), Term("boat", Decimal(6)))),
        LabourStandard("cut", "Cut", Station.CUTTER, (Term("lay", Decimal(8)), Term("laid_m2", Decimal("1.2")))),
        LabourStandard("sew", "Sew", Station.SEWER, (Term("seam_m", Decimal("4.5")), Term("seam", Decimal(4)))),
        LabourStandard("rings", "Rings", Station.FINISHER, (Term("ring", Decimal(4)),)),
    ),
)  # fmt: skip


def _house() -> House:
    return replace(skerling.house(), lists=(LIST,), labour=LABOUR, pass_through=(PassThrough("LABEL", "Class label", "S", "C.6.7"),))


def _design(cloth: str = "DW170") -> Design:
    """A design of which the costs look at its lays, its cloth and its take-off alone."""
    body, film = (Section(0, 6000.4), Section(1, 734.1)), (Section(0, 400.0),)
    lays = (Lay(cloth, 1355.0, body, (), 1.0, 1.0), Lay("FILM-05", 1355.0, film, (), 1.0, 1.0))
    amounts = (("sail", "1"), ("seam", "4"), ("seam_m", "5.343"), ("laid_m2", "9.667"))
    drivers = tuple(driver(code, Decimal(amount), "") for code, amount in amounts)
    blank = dict.fromkeys(Design.__slots__)
    given = {"key": "k", "variant": False, "lays": lays, "cloth": _house().cloths[cloth], "takeoff": take_off(drivers, KIT, frozenset())}
    return Design(**{**blank, **given})  # type: ignore[arg-type]


def _made(cloth: str = "DW170") -> costs.Made:
    own = take_off((driver("order", 1, ""), driver("lay", 1, ""), driver("boat", 1, "")), (), frozenset())
    design = _design(cloth)
    taken = TakeOff((*design.takeoff.drivers, *own.drivers), design.takeoff.materials)
    wanted = Wanted(SailRequest("row 2", "Heron", "Maud", "214"), "Heron 214", frozenset(), design.cloth, "white")
    return costs.Made(wanted, design, taken, work.operation_minutes(taken, LABOUR), _house().pass_through)


# One sail alone, line by line.
#   cloth      DW170    6000.4 + 734.1 = 6734.5 mm = 6.735 m (half up)  x 14.85      = 100.01475   100.01
#   film       FILM-05  0.400 m                                         x 11.20      =   4.48        4.48
#   roll ends  3 % of 100.01 + 4.48 = 104.49: 0.030                     x 104.49     =   3.1347      3.13
#   rings      3 x 1                                                    x 1.85       =   5.55        5.55
#   thread     9.7 x 5.343 = 51.8271 = 51.827 m                         x 0.0145     =   0.7514915   0.75
#   a minute   27.50 / 0.75 / 60 = 0.61111 = 0.6111
#   check      6 x 1 = 6 min                                            x 0.6111     =   3.6666      3.67
#   cut        1.2 x 9.667 = 11.6004 = 11.600 min                       x 0.6111     =   7.08876     7.09
#   sew        4.5 x 5.343 + 4 x 4 = 24.0435 + 16 = 40.0435 = 40.044    x 0.6111     =  24.4708884  24.47
#   rings      4 x 3 = 12 min                                           x 0.6111     =   7.3332      7.33
#   unplanned  5 % of 6 + 11.600 + 40.044 + 12 = 69.644: 3.4822 = 3.482 x 0.6111     =   2.1278502   2.13
#   set-up     check 20 min x 0.6111 = 12.222                                                       12.22
#              unplanned on it 1 min = 0.6111                                                        0.61
#              cut 8 min x 0.6111 = 4.8888                                                           4.89
#              unplanned on it 0.4 min = 0.24444                                                     0.24
#   label      1 x 18.00, passed through                                                            18.00
EXPECTED = (
    ("cloth", "DW170", "6.735", "14.8500", "100.01"), ("cloth", "FILM-05", "0.400", "11.2000", "4.48"),
    ("cloth", "end-of-roll", "0.030", "104.4900", "3.13"), ("hardware", "RING", "3.000", "1.8500", "5.55"),
    ("consumables", "THREAD", "51.827", "0.0145", "0.75"), ("labour", "check", "6.000", "0.6111", "3.67"),
    ("labour", "cut", "11.600", "0.6111", "7.09"), ("labour", "sew", "40.044", "0.6111", "24.47"),
    ("labour", "rings", "12.000", "0.6111", "7.33"), ("labour", "unplanned", "3.482", "0.6111", "2.13"),
    ("labour", "check-order", "1.000", "12.2200", "12.22"), ("labour", "unplanned-order", "1.000", "0.6100", "0.61"),
    ("labour", "cut-lay", "1.000", "4.8900", "4.89"), ("labour", "unplanned-lay", "1.000", "0.2400", "0.24"),
    ("pass-through", "LABEL", "1.000", "18.0000", "18.00"),
)  # fmt: skip


def test_one_sail_with_a_pencil() -> None:
    house, made = _house(), _made()
    unit = unit_costs(house.lists, costs.needs(made), on=date(2026, 3, 2), currency="GBP")
    (setups,) = costs.setup_shares([made], house)
    lines = costs.cost_lines(made, house, unit, setups)
    assert tuple((x.group, x.code, str(x.quantity), str(x.unit_cost), str(x.amount)) for x in lines) == EXPECTED
    # 100.01 + 4.48 + 3.13 + 5.55 + 0.75 + 3.67 + 7.09 + 24.47 + 7.33 + 2.13 + 12.22 + 0.61 + 4.89 + 0.24 = 176.57
    assert costs.own_cost(lines) == Decimal("176.57")
    # 176.57 / 0.58 = 304.4310..
    assert pricing.unit_price(Decimal("176.57"), house, "trade").net == Decimal("304.43")


def test_lines_say_how_and_where_from() -> None:
    house, made = _house(), _made()
    unit = unit_costs(house.lists, costs.needs(made), on=date(2026, 3, 2), currency="GBP")
    (setups,) = costs.setup_shares([made], house)
    told = {x.code: (x.how, x.source) for x in costs.cost_lines(made, house, unit, setups)}
    assert told["DW170"] == ("laid in 2 sections, 6.735 m", "Mill 1, row 1 (dw170), from 0 m")
    assert told["FILM-05"][0] == "laid in 1 section, 0.4 m"
    assert told["end-of-roll"][0] == "3 % of 104.49 of laid cloth and film"
    assert told["THREAD"][0] == "9.7 x 5.343 m"
    assert told["sew"] == ("4.5 x 5.343 m + 4 x 4 seams = 40.044 min", "labour standards 1: 27.5 a paid hour / 0.75 productive / 60")
    assert told["check-order"][0] == "20 min x 0.6111 = 12.22, borne by this sail alone"
    assert told["LABEL"][0] == "C.6.7"


def test_the_batch_reaches_the_break_that_a_sail_does_not() -> None:
    made = [_made() for _ in range(8)]  # 8 x 6.735 = 53.88 m
    total = costs.total_needs([costs.needs(m) for m in made])
    assert total["DW170"] == (Decimal("53.880"), "m")
    assert unit_costs(_house().lists, total, on=date(2026, 3, 2), currency="GBP")["DW170"].amount == Decimal("13.70")


@pytest.mark.parametrize("sails", [1, 2, 7, 12, 40])
def test_shares_of_the_set_up_add_up_to_the_whole(sails: int) -> None:
    shares = costs.setup_shares([_made() for _ in range(sails)], _house())
    amounts = [s.amount for each in shares for s in each]
    minutes = [s.minutes for each in shares for s in each]
    assert sum(amounts) == Decimal("17.96")  # 12.22 + 0.61 + 4.89 + 0.24
    assert sum(minutes) == Decimal("29.400")  # 20 + 1 + 8 + 0.4


def test_other_lines_are_new_ones_and_those_with_another_figure() -> None:
    made = _made()
    lines = costs.cost_lines(made, _house(), unit_costs(_house().lists, costs.needs(made), on=date(2026, 3, 2), currency="GBP"), ())
    assert costs.other_lines(lines, lines) == ()
    changed = replace(lines[0], amount=lines[0].amount + 1)
    assert costs.other_lines((changed, *lines[1:]), lines[:-1]) == (changed, lines[-1])


def test_a_lay_is_shared_by_the_sails_of_its_cloth_alone() -> None:
    three = [_made("DW170"), _made("DW170"), _made("DW185")]
    shares = costs.setup_shares(three, _house())
    by_kind = [{(s.operation.operation, s.kind): str(s.amount) for s in each} for each in shares]
    assert [k["cut", "lay"] for k in by_kind] == ["2.45", "2.44", "4.89"]
    assert [k["check", "order"] for k in by_kind] == ["4.08", "4.07", "4.07"]


def test_a_tickets_minutes_carry_the_share() -> None:
    made = [_made(), _made()]
    first, second = costs.setup_shares(made, _house())
    check, cut, *_ = costs.with_shares(made[0].operations, first)
    assert (check.own_min, check.order_min, cut.lay_min) == (6, 10, 4)
    assert check.how == "6 x 1 boat = 6 min + 10 min of 20 min set-up of the order"
    assert costs.with_shares(made[1].operations, second)[0].order_min == 10
