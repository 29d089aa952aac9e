"""People's text becomes an exact measure here, and nowhere else.

The grammar is our own and small. A units library's parser is not for people's text: it reads "3,21 m" as 321 m and 12'6"
as a number without a unit. Only a value and a unit that the grammar has understood are handed to it.

    length  =  number [unit]            5200 | 5.2 m | 520 cm | 12 ft | 148.5 in     (no unit: mm)
            |  inches                   6 1/2 in | 1/2 in
            |  feet inches              12 ft 6 in | 12'6 1/2"
    weight  =  number ("g/m2" | "gsm" | "oz")        oz: the sailmaker's ounce
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

import pint


class MeasureError(ValueError):
    """Text that is not a measure; the message says why and what would be right."""


@dataclass(frozen=True, slots=True)
class Length:
    """A length as it was written and what it is exactly.

    value, unit: as written; value is None where feet and inches were written together, and unit is then "ft in".
    """

    mm: Decimal
    value: Decimal | None
    unit: str
    text: str


@dataclass(frozen=True, slots=True)
class ClothWeight:
    """A weight of cloth as it was written, and in g/m2."""

    gsm: Decimal
    value: Decimal
    unit: str
    text: str


LENGTH_FORMS = "5.2 m, 5200 mm, 5200 (mm), 520 cm, 12 ft 6 in or 12'6 1/2\""
WEIGHT_FORMS = "170 g/m2, 170 gsm or 4 oz (the sailmaker's ounce)"
_LONGEST_TEXT = 40

_NUMBER = r"[0-9]{1,7}(?:\.[0-9]{1,6})?"
_FEET = r"(?:ft|foot|feet|')"
_INCH = r"(?:in|inch|inches|\")"
_INCHES = rf"(?:(?P<inches>{_NUMBER})|(?:(?P<whole>[0-9]{{1,5}})[ ]+)?(?P<top>[0-9]{{1,2}})/(?P<bottom>[0-9]{{1,2}}))"
_PLAIN = re.compile(rf"(?P<value>{_NUMBER}) *(?P<unit>mm|cm|m|{_FEET}|{_INCH})?")
_FEET_INCHES = re.compile(rf"(?:(?P<feet>[0-9]{{1,5}}) *{_FEET} *)?{_INCHES} *{_INCH}")
_WEIGHT = re.compile(rf"(?P<value>{_NUMBER}) *(?P<unit>g/m2|g/m²|gsm|oz)")

_UNIT_NAMES = {"'": "ft", "foot": "ft", "feet": "ft", '"': "in", "inch": "in", "inches": "in", "g/m²": "g/m2", "gsm": "g/m2", None: "mm"}
_PRIMES = str.maketrans({"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "\u00a0": " "})


def parse_length(text: str) -> Length:
    """The length that the text says, exactly; MeasureError says what is wrong with it and what would be right."""
    plain = _tidied(text, "a length", LENGTH_FORMS)
    if found := _PLAIN.fullmatch(plain):
        unit = _UNIT_NAMES.get(found["unit"], found["unit"])
        value = Decimal(found["value"])
        return Length(mm=_to_mm(value, unit), value=value, unit=unit, text=text)
    if found := _FEET_INCHES.fullmatch(plain):
        inches = _inches(found, text)
        if found["feet"] is None:
            return Length(mm=_to_mm(inches, "in"), value=inches, unit="in", text=text)
        if inches >= 12:
            raise MeasureError(f"{text!r} is not a length: after feet, the inches must be fewer than 12")
        mm = _to_mm(Decimal(found["feet"]), "ft") + _to_mm(inches, "in")
        return Length(mm=mm, value=None, unit="ft in", text=text)
    raise _refusal(text, "a length", LENGTH_FORMS)


def parse_cloth_weight(text: str) -> ClothWeight:
    """The weight of cloth that the text says, g/m2; MeasureError as in parse_length()."""
    found = _WEIGHT.fullmatch(_tidied(text, "a weight of cloth", WEIGHT_FORMS))
    if not found:
        raise _refusal(text, "a weight of cloth", WEIGHT_FORMS)
    value, unit = Decimal(found["value"]), _UNIT_NAMES.get(found["unit"], found["unit"])
    gsm = value if unit == "g/m2" else _converted(value, "sailmakers_ounce", "gram / meter ** 2")
    return ClothWeight(gsm=gsm, value=value, unit=unit, text=text)


def _tidied(text: str, what: str, forms: str) -> str:
    if not text.strip():
        raise MeasureError(f"empty: write {what} like {forms}")
    if len(text) > _LONGEST_TEXT:
        raise MeasureError(f"{text[:20]!r}... is too long for {what}: write for example {forms}")
    return text.translate(_PRIMES).strip().lower()


def _refusal(text: str, what: str, forms: str) -> MeasureError:
    if "," in text:
        why = "write a point for the decimals, and nothing between the thousands"
    elif text.strip().startswith(("-", "+")):
        why = "write it without a sign"
    else:
        why = "it is not understood"
    return MeasureError(f"{text!r} is not {what}: {why}. Write for example {forms}")


def _inches(found: re.Match[str], text: str) -> Decimal:
    """The inches of a match, fractions included; denominators are those of a tape: 2, 4, 8, 16, 32, 64."""
    if found["inches"] is not None:
        return Decimal(found["inches"])
    top, bottom = int(found["top"]), int(found["bottom"])
    if bottom not in (2, 4, 8, 16, 32, 64) or not 0 < top < bottom:
        raise MeasureError(f"{text!r} is not a length: {top}/{bottom} is not a part of an inch in halves, quarters ... 64ths")
    part = Fraction(top, bottom)
    return Decimal(found["whole"] or 0) + Decimal(part.numerator) / Decimal(part.denominator)


def _to_mm(value: Decimal, unit: str) -> Decimal:
    names = {"mm": "millimeter", "cm": "centimeter", "m": "meter", "ft": "foot", "in": "inch"}
    return _converted(value, names[unit], "millimeter")


def _converted(value: Decimal, unit: str, target: str) -> Decimal:
    magnitude: Decimal = _registry().Quantity(value, unit).to(target).magnitude
    return magnitude


@functools.cache
def _registry() -> pint.UnitRegistry[Decimal]:
    """The one registry of the process, exact, with the sailmaker's ounce (an ounce on 28.5 x 36 inches)."""
    registry: pint.UnitRegistry[Decimal] = pint.UnitRegistry(non_int_type=Decimal)
    registry.define("sailmakers_ounce = ounce / (28.5 * inch * 36 * inch)")
    return registry
