"""Minutes by operation, and the sum spelled out."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.takeoff import TakeOff, driver
from costing.work import LabourStandard, LabourStandards, Station, Term, check_standards, cost_of_minute, operation_minutes


def _standard(operation: str, *terms: tuple[str, str], station: Station = Station.SEWER) -> LabourStandard:
    return LabourStandard(operation, operation.capitalize(), station, tuple(Term(d, Decimal(m)) for d, m in terms))


def _standards(*operations: LabourStandard, unplanned: str = "0") -> LabourStandards:
    return LabourStandards("2026", "2026-01-01", Decimal("27.50"), Decimal("0.75"), Decimal(unplanned), operations)


def _takeoff(**amounts: str) -> TakeOff:
    return TakeOff(tuple(driver(code, Decimal(amount), "") for code, amount in amounts.items()), ())


@pytest.mark.parametrize(
    ("label", "terms", "amounts", "minutes", "how"),
    [
        ("patches and layers", (("patch", "8"), ("patch_layer", "3")), {"patch": "7", "patch_layer": "24"}, "128",
         "8 x 7 patches + 3 x 24 layers = 128 min"),
        ("one of a thing", (("window", "25"),), {"window": "1"}, "25", "25 x 1 window = 25 min"),
        ("metres and seams", (("seam_m", "2"), ("seam", "4")), {"seam_m": "5.343", "seam": "4"}, "26.686",
         "2 x 5.343 m + 4 x 4 seams = 26.686 min"),
        ("a driver that is zero is left out of the sum", (("sail", "5"), ("variant", "15")), {"sail": "1"}, "5", "5 x 1 sail = 5 min"),
    ],
)  # fmt: skip
def test_own_minutes(label: str, terms: tuple[tuple[str, str], ...], amounts: dict[str, str], minutes: str, how: str) -> None:
    (found,) = operation_minutes(_takeoff(**amounts), _standards(_standard("work", *terms)))
    assert (found.own_min, found.how) == (Decimal(minutes), how), label


def test_an_operation_without_work_is_left_out() -> None:
    standards = _standards(_standard("window", ("window", "25")), _standard("fold", ("sail", "20")))
    assert [o.operation for o in operation_minutes(_takeoff(sail="1"), standards)] == ["fold"]


def test_set_up_stands_apart_and_unplanned_comes_last_for_each() -> None:
    standards = _standards(_standard("check", ("order", "20"), ("boat", "6")), _standard("cut", ("lay", "8"), ("laid_m2", "1.2")),
                           unplanned="0.05")  # fmt: skip
    check, cut, unplanned = operation_minutes(_takeoff(order="1", lay="1", boat="1", laid_m2="10"), standards)
    assert (check.own_min, check.order_min, check.lay_min) == (6, 20, 0)
    assert check.how == "6 x 1 boat = 6 min"
    assert (cut.own_min, cut.order_min, cut.lay_min) == (12, 0, 8)
    # 5 % of 6 + 12, of 20, of 8
    assert (unplanned.own_min, unplanned.order_min, unplanned.lay_min) == (Decimal("0.9"), 1, Decimal("0.4"))
    assert unplanned.how == "5 % of 18 min = 0.9 min"


def test_a_productive_minute() -> None:
    """27.50 a paid hour, three quarters of it productive: 36.666.. an hour, 0.6111.. a minute."""
    assert cost_of_minute(_standards()).quantize(Decimal("0.000001")) == Decimal("0.611111")


def test_unknown_drivers_are_named_with_the_nearest_all_at_once() -> None:
    standards = _standards(_standard("patches", ("patch_layers", "3")), _standard("feet", ("zeppelin", "1"), ("shackle", "2")))
    with pytest.raises(InputError) as refused:
        check_standards(standards, ("shackle",))
    assert [(p.path, p.code) for p in refused.value.problems] == [("labour.patches", "unknown_driver"), ("labour.feet", "unknown_driver")]
    assert refused.value.problems[0].message == "there is no driver 'patch_layers'; did you mean patch_layer?"


# Standard minutes for a dinghy main: common practice, no source (the loft's starting values).
TRADE = (
    ("check", ("order", "20"), ("boat", "6")), ("file", ("sail", "5")), ("cut", ("lay", "8"), ("laid_m2", "1.2")),
    ("sort", ("panel", "1.5")), ("stick", ("seam_m", "2.5")), ("sew", ("seam_m", "2"), ("seam", "4")),
    ("spread", ("sail", "15"), ("body_m2", "2")), ("patches", ("patch", "8"), ("patch_layer", "3")), ("cunningham", ("cunningham", "8")),
    ("tabling", ("leech_m", "3"), ("foot_m", "3")), ("luff", ("luff_m", "4")), ("pockets", ("pocket_short", "15"), ("pocket_full", "22")),
    ("window", ("window", "25")), ("rings", ("ring", "4")), ("headboard", ("headboard", "18")),
    ("numbers", ("number", "10"), ("number_character", "3")), ("insignia", ("insignia_side", "6")), ("battens", ("batten", "4")),
    ("measure", ("sail", "15"), ("royalty_label", "3")), ("finish", ("sail", "25")),
)  # fmt: skip


def test_a_one_off_main_of_7_6_m2_takes_about_eight_hours() -> None:
    """Common practice, no source: about 8.0 h for a one-off main of 7.6 m2; sizes of a usual 13 ft dinghy's main."""
    sail = _takeoff(
        order="1", lay="1", boat="1", sail="1", laid_m2="10.2", panel="5", seam="4", seam_m="5.4", body_m2="7.6", patch="3",
        patch_layer="13", cunningham="1", leech_m="5.5", foot_m="2.5", luff_m="5.2", pocket_short="2", pocket_full="1", window="1",
        ring="3", headboard="1", number="1", number_character="8", insignia_side="2", batten="3", royalty_label="1",
    )  # fmt: skip
    operations = operation_minutes(sail, _standards(*(_standard(name, *terms) for name, *terms in TRADE), unplanned="0.05"))
    hours = sum(o.own_min + o.order_min + o.lay_min for o in operations) / 60
    assert Decimal("7.6") < hours < Decimal("8.4")
    seams = sum(o.own_min for o in operations if o.operation in ("stick", "sew"))
    assert seams / (hours * 60) < Decimal("0.1")  # only about 8 % of the time is seams: never price by area alone
