"""The formula language of class rules: one value from other measurements, areas and rig dimensions.

    formula  =  product { ("+" | "-") product }
    product  =  power { ("*" | "/") power }
    power    =  [ "-" ] item [ "^" whole number from 1 to 4 ]
    item     =  number [ unit ]  |  name  |  function "(" formula { "," formula } ")"  |  "(" formula ")"
    function =  "min" | "max" | "sqrt" | "abs"
    unit     =  "mm" | "m" | "in" | "m2"
    name     =  measurement, or kind of sail "." measurement: half_width, headsail.luff_perpendicular, mast_band_distance

Nothing else can be said in it, so that a class file can do nothing but compute. Units are kept: a length plus a plain number is refused, a
length times a length is an area. Read by recursive descent; what is wrong is said with its position, counted from 1.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from costing import measurements
from costing.errors import CannotDetermine, InputError, problem
from costing.measurements import MEASUREMENTS, SailKind
from costing.units import FOOT_MM, INCH_MM

#: Powers of length (mm) and of cloth weight (g/m2).
Dimension = tuple[int, int]

_PLAIN: Dimension = (0, 0)
#: Of each unit of a measurement: its dimension, and how many mm (mm²) it is.
_OF_UNIT: dict[str, tuple[Dimension, Decimal]] = {
    "mm": ((1, 0), Decimal(1)),
    "m": ((1, 0), Decimal(1000)),
    "in": ((1, 0), INCH_MM),
    "ft": ((1, 0), FOOT_MM),
    "m2": ((2, 0), Decimal(1_000_000)),
    "g/m2": ((0, 1), Decimal(1)),
    "count": (_PLAIN, Decimal(1)),
    "ratio": (_PLAIN, Decimal(1)),
}
_WRITTEN_UNITS = ("mm", "m2", "m", "in")
_FUNCTIONS = {"min": (2, 9), "max": (2, 9), "sqrt": (1, 1), "abs": (1, 1)}
_TOKEN = re.compile(r"\s*(?:(?P<number>\d+(?:\.\d+)?)|(?P<name>[A-Za-z_][A-Za-z0-9_]*(?:\.[A-Za-z_][A-Za-z0-9_]*)?)|(?P<sign>[-+*/^(),]))")
_LONGEST = 300
_DEEPEST = 20


@dataclass(frozen=True, slots=True)
class Node:
    """A value, a name or an operation on others; `dimension` of what it gives."""

    what: str  # "number", "name", an operator or a function
    dimension: Dimension
    value: Decimal = Decimal(0)  # of a number, in mm where it is a length; the factor to mm of a name
    name: str = ""
    parts: tuple[Node, ...] = ()


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula that has been read: its text, its names and what it gives."""

    text: str
    root: Node
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    at: int  # from 1


@lru_cache(maxsize=4096)
def parse(text: str) -> Formula:
    """The formula that a text holds; InputError with position and reason when it holds none."""
    if len(text) > _LONGEST:
        raise problem("", "wrong_formula", f"has {len(text)} characters; at most {_LONGEST} are read")
    reader = _Reader(tuple(_tokens(text)))
    root = reader.sum(0)
    reader.expect_end()
    return Formula(text, root, tuple(dict.fromkeys(_names(root))))


def check_unit(formula: Formula, unit: str) -> None:
    """Refuse a formula that does not give a measurement's unit (mm, m2, g/m2, ratio, count)."""
    wanted, _ = _OF_UNIT[unit]
    if formula.root.dimension != wanted:
        raise problem("", "wrong_unit", f"gives {_said(formula.root.dimension)}, not {_said(wanted)}")


def evaluate(formula: Formula, values: Mapping[str, Decimal], unit: str) -> Decimal:
    """The formula's value in a unit, from values by name in their measurements' units.

    CannotDetermine names every value that is missing, or says that it divides by nothing or takes the root of less than nothing.
    """
    missing = [name for name in formula.names if name not in values]
    if missing:
        raise CannotDetermine(f"{formula.text} needs {', '.join(missing)}, not given")
    try:
        return _value(formula.root, values) / _OF_UNIT[unit][1]
    except ArithmeticError as error:
        raise CannotDetermine(f"{formula.text} has no value with these sizes: it divides by nothing or roots less than nothing") from error


def measurement_of(name: str) -> str:
    """The measurement of a name with or without its kind of sail."""
    return name.rpartition(".")[2]


def _value(node: Node, values: Mapping[str, Decimal]) -> Decimal:
    if node.what == "number":
        return node.value
    if node.what == "name":
        return values[node.name] * node.value
    return _COMPUTED[node.what](node, *(_value(p, values) for p in node.parts))


#: What each operator and function computes; a power's exponent is its node's value.
_COMPUTED: dict[str, Callable[..., Decimal]] = {
    "+": lambda _, a, b: a + b,
    "-": lambda _, a, b: a - b,
    "*": lambda _, a, b: a * b,
    "/": lambda _, a, b: a / b,
    "^": lambda node, a: a ** int(node.value),
    "sqrt": lambda _, a: a.sqrt(),
    "abs": lambda _, a: abs(a),
    "min": lambda _, *parts: min(parts),
    "max": lambda _, *parts: max(parts),
}


def _names(node: Node) -> Iterator[str]:
    if node.what == "name":
        yield node.name
    for part in node.parts:
        yield from _names(part)


def _tokens(text: str) -> Iterator[_Token]:
    at = 0
    text = text.rstrip()
    while at < len(text):
        found = _TOKEN.match(text, at)
        if found is None:
            at += len(text[at:]) - len(text[at:].lstrip())
            raise _wrong(at + 1, f"{text[at]!r} is not part of the formula language")
        kind = str(found.lastgroup)
        yield _Token(kind, found[kind], found.start(kind) + 1)
        at = found.end()
    yield _Token("end", "the end", len(text) + 1)


def _wrong(at: int, reason: str) -> InputError:
    return problem("", "wrong_formula", f"character {at}: {reason}")


def _said(dimension: Dimension) -> str:
    known = {_PLAIN: "a plain number", (1, 0): "a length", (2, 0): "an area", (0, 1): "a cloth weight"}
    return known.get(dimension, f"mm^{dimension[0]} (g/m2)^{dimension[1]}")


class _Reader:
    """Recursive descent: one method a line of the grammar, each answers with the node it has read."""

    def __init__(self, tokens: tuple[_Token, ...]) -> None:
        self._tokens = tokens
        self._next = 0

    def sum(self, depth: int) -> Node:
        left = self._product(depth)
        while sign := self._take("+", "-"):
            right = self._product(depth)
            if left.dimension != right.dimension:
                pair = f"{_said(left.dimension)} and {_said(right.dimension)}"
                raise _wrong(sign.at, f"{pair} cannot be {'added' if sign.text == '+' else 'subtracted'}; a number takes a unit: 19 mm")
            left = Node(sign.text, left.dimension, parts=(left, right))
        return left

    def expect_end(self) -> None:
        if self._peek.kind != "end":
            raise _wrong(self._peek.at, f"{self._peek.text!r} stands where the formula should end")

    def _product(self, depth: int) -> Node:
        left = self._power(depth)
        while sign := self._take("*", "/"):
            right = self._power(depth)
            way = 1 if sign.text == "*" else -1
            dimension = (left.dimension[0] + way * right.dimension[0], left.dimension[1] + way * right.dimension[1])
            left = Node(sign.text, dimension, parts=(left, right))
        return left

    def _power(self, depth: int) -> Node:
        minus = self._take("-")
        node = self._item(depth)
        if self._take("^"):
            exponent = self._advance()
            if exponent.kind != "number" or exponent.text not in ("1", "2", "3", "4"):
                raise _wrong(exponent.at, f"a power is a whole number from 1 to 4, not {exponent.text!r}")
            n = int(exponent.text)
            node = Node("^", (node.dimension[0] * n, node.dimension[1] * n), value=Decimal(n), parts=(node,))
        if minus:
            node = Node("*", node.dimension, parts=(Node("number", _PLAIN, Decimal(-1)), node))
        return node

    def _item(self, depth: int) -> Node:
        token = self._advance()
        if depth > _DEEPEST:
            raise _wrong(token.at, f"brackets stand in more than {_DEEPEST} brackets")
        if token.kind == "number":
            return self._number(token)
        if token.text == "(":
            node = self.sum(depth + 1)
            self._expect(")")
            return node
        if token.kind != "name":
            raise _wrong(token.at, f"a number, a name or a bracket is needed here, not {token.text!r}")
        return self._function(token, depth) if self._peek.text == "(" else _name(token)

    def _number(self, token: _Token) -> Node:
        if self._peek.kind == "name" and self._peek.text in _WRITTEN_UNITS:
            dimension, factor = _OF_UNIT[self._advance().text]
            return Node("number", dimension, Decimal(token.text) * factor)
        return Node("number", _PLAIN, Decimal(token.text))

    def _function(self, token: _Token, depth: int) -> Node:
        if token.text not in _FUNCTIONS:
            raise _wrong(token.at, f"there is no function {token.text!r}; there are {', '.join(_FUNCTIONS)}")
        self._expect("(")
        parts = [self.sum(depth + 1)]
        while self._take(","):
            parts.append(self.sum(depth + 1))
        self._expect(")")
        least, most = _FUNCTIONS[token.text]
        if not least <= len(parts) <= most:
            raise _wrong(token.at, f"{token.text} takes {least if least == most else f'{least} to {most}'} values, not {len(parts)}")
        dimension = parts[0].dimension
        if any(p.dimension != dimension for p in parts):
            raise _wrong(token.at, f"{token.text} compares values of one unit only")
        if token.text == "sqrt":
            if dimension[0] % 2 or dimension[1] % 2:
                raise _wrong(token.at, f"{_said(dimension)} has no square root with a unit")
            dimension = (dimension[0] // 2, dimension[1] // 2)
        return Node(token.text, dimension, parts=tuple(parts))

    @property
    def _peek(self) -> _Token:
        return self._tokens[self._next]

    def _advance(self) -> _Token:
        token = self._peek
        self._next = min(self._next + 1, len(self._tokens) - 1)
        return token

    def _take(self, *signs: str) -> _Token | None:
        return self._advance() if self._peek.kind == "sign" and self._peek.text in signs else None

    def _expect(self, sign: str) -> None:
        if not self._take(sign):
            raise _wrong(self._peek.at, f"{sign!r} is needed here, not {self._peek.text!r}")


def _name(token: _Token) -> Node:
    kind, _, name = token.text.rpartition(".")
    if kind and kind not in list(SailKind):
        meant = measurements.OTHER_KINDS.get(kind.casefold(), ())
        right = f"did you mean {' or '.join(meant)}?" if meant else f"there are {', '.join(SailKind)}"
        raise _wrong(token.at, f"{kind!r} is no kind of sail; {right}")
    if name not in MEASUREMENTS:
        raise _wrong(token.at, f"{name!r} is not a measurement{measurements.did_you_mean(name)}")
    dimension, factor = _OF_UNIT[MEASUREMENTS[name].unit]
    return Node("name", dimension, factor, token.text)
