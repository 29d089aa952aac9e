"""Breaches and headroom: exact, unrounded, in the rule's order."""

from decimal import Decimal

import pytest

from costing import rules
from costing.measurements import Corner, SailKind

D = Decimal


def rule(*limits: rules.Limit) -> rules.SailRule:
    return rules.SailRule(SailKind.MAINSAIL, limits)


def limit(name: str, low: str | None, high: str | None, number: str = "C.6.3") -> rules.Limit:
    return rules.Limit(name, number, D(low) if low else None, D(high) if high else None, high or low or "")


LEECH = limit("leech_length", None, "5560", "C.6.3(a)")
HALF = limit("half_width", "1400", "1460", "C.6.3(b)")
CLOTH = limit("cloth_weight", "130", None, "C.6.1")
POCKETS = limit("batten_pocket_count", "4", "4", "C.6.2")


@pytest.mark.parametrize(
    ("label", "values", "expected"),
    [
        ("all inside", {"leech_length": "5550", "half_width": "1450", "cloth_weight": "140", "batten_pocket_count": "4"}, []),
        ("exactly on both limits", {"leech_length": "5560", "half_width": "1400"}, []),
        ("over by a thousandth", {"leech_length": "5560.001"}, [("leech_length", "maximum", "0.001")]),
        ("under the minimum", {"half_width": "1399.5"}, [("half_width", "minimum", "0.5")]),
        ("cloth too light", {"cloth_weight": "127.4"}, [("cloth_weight", "minimum", "2.6")]),
        ("a pocket too few", {"batten_pocket_count": "3"}, [("batten_pocket_count", "minimum", "1")]),
        (
            "in the rule's order, not in that of the values",
            {"half_width": "1500", "leech_length": "5600"},
            [("leech_length", "maximum", "40"), ("half_width", "maximum", "40")],
        ),
        ("nothing to compare", {"luff_length": "9000"}, []),
    ],
)
def test_breaches(label, values, expected):
    found = rules.breaches(rule(LEECH, HALF, CLOTH, POCKETS), {n: D(v) for n, v in values.items()})
    assert [(b.measurement, b.side, b.by) for b in found] == [(n, side, D(by)) for n, side, by in expected], label


def test_a_breach_says_everything():
    (breach,) = rules.breaches(rule(LEECH), {"leech_length": D("5615.6")})
    assert breach == rules.Breach("leech_length", "C.6.3(a)", D("5615.6"), D("5560"), "maximum", D("55.6"), D("1.00"))
    assert rules.breach_in_words(breach) == "leech length 5,615.6 mm is 55.6 mm over the maximum of 5,560 mm (C.6.3(a))"


def test_a_breach_of_a_minimum_in_words():
    (breach,) = rules.breaches(rule(POCKETS), {"batten_pocket_count": D(3)})
    assert rules.breach_in_words(breach) == "batten pockets 3 is 1 under the minimum of 4 (C.6.2)"


@pytest.mark.parametrize(
    ("label", "value", "room", "percent"),
    [
        ("nearer the maximum", "1445.4", "14.6", "1.00"),
        ("nearer the minimum", "1407", "7", "0.5"),
        ("over", "1474.6", "-14.6", "-1.00"),
    ],
)
def test_headroom_to_the_nearer_side(label, value, room, percent):
    (found,) = rules.headroom(rule(LEECH, HALF), {"half_width": D(value)})
    assert (found.limit, found.room, found.percent) == (HALF, D(room), D(percent)), label


def test_headroom_against_a_limit_of_nothing_has_no_per_cent():
    (found,) = rules.headroom(rule(limit("foot_round", None, "0")), {"foot_round": D(5)})
    assert (found.room, found.percent) == (D(-5), D(0))


def test_every_corner_s_limit_is_compared():
    """A rule may tell corners apart; a size given once for all corners must be inside each of them."""
    corners = tuple(
        rules.Limit("primary_reinforcement_size", f"C.6.4({c.value})", None, D(mm), mm, corner=c)
        for c, mm in ((Corner.HEAD, "300"), (Corner.TACK, "295"), (Corner.CLEW, "310"))
    )
    found = rules.breaches(rule(*corners), {"primary_reinforcement_size": D(305)})
    assert [(b.rule, b.by) for b in found] == [("C.6.4(head)", D(5)), ("C.6.4(tack)", D(10))]
