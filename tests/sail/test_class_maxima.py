"""From a published class rule to a sail: limits as targets with nothing kept back, outlined, measured again."""

from decimal import Decimal

import pytest

from costing import rules, sail
from costing.measurements import SailKind

# Penguin class, sail specification (penguinclass.com/sailspec.htm), maxima in feet and inches as printed, rule 23.4; leech points by
# folding head to clew, head to mid, clew to mid and width to the nearest point of the luff (23.5.1 to 23.5.3); girths include the
# bolt rope.
PENGUIN = [
    ("luff_length", "16'0\"", "4876.8"),
    ("foot_length", "8'8\"", "2641.6"),
    ("leech_length", "16'6\"", "5029.2"),
    ("foot_round", "0'6\"", "152.4"),
    ("three_quarter_width", "0'36\"", "914.4"),
    ("half_width", "0'64\"", "1625.6"),
    ("quarter_width", "0'86.5\"", "2197.1"),
]
# J/105 class, sail declaration of 2001 (archive.j105.org/KWRW2001/saildecl.htm), maxima of the mainsail in mm; no quarter width is limited.
J105 = [
    ("luff_length", "12650", "12650"),
    ("foot_length", "4450", "4450"),
    ("leech_length", "13260", "13260"),
    ("three_quarter_width", "1685", "1685"),
    ("half_width", "2890", "2890"),
]
OURS = {"Penguin": {"top_width": Decimal(100)}, "J/105": {"top_width": Decimal(180), "quarter_width": Decimal(3790)}}


def class_rule(rows, number: str) -> rules.SailRule:
    limits = tuple(rules.Limit(name, number, None, Decimal(mm), printed) for name, printed, mm in rows)
    return rules.SailRule(SailKind.MAINSAIL, limits)


@pytest.mark.parametrize(("name", "rows", "number"), [("Penguin", PENGUIN, "23.4"), ("J/105", J105, "mainsail")])
def test_published_maxima_as_targets_are_met_and_never_passed(name, rows, number):
    rule = class_rule(rows, number)
    targets = {t.measurement: t for t in rules.design_target(rule, (), OURS[name], {})}
    assert {n: targets[n].value for n, _, _ in rows} == {n: Decimal(mm) for n, _, mm in rows}
    made = sail.outline(
        sail.SailShape(
            kind=SailKind.MAINSAIL,
            luff_length=float(targets["luff_length"].value),
            leech_length=float(targets["leech_length"].value),
            foot_length=float(targets["foot_length"].value),
            widths=tuple((w, float(targets[w].value)) for w in ("quarter_width", "half_width", "three_quarter_width")),
            top_width=float(targets["top_width"].value),
            foot_round=float(targets["foot_round"].value) if "foot_round" in targets else 0.0,
            luff_curve=sail.LuffCurve(((0.25, 20.0), (0.5, 30.0), (0.75, 22.0))),
        )
    )
    measured = {n: Decimal(str(v)) for n, v in sail.measure(made).items()}
    assert rules.breaches(rule, measured) == ()
    room = {h.limit.measurement: h.room for h in rules.headroom(rule, measured)}
    assert len(room) == len(rows)
    assert max(room.values()) <= Decimal("0.5"), room
