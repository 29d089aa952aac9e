"""How figures read on paper: one way for money, lengths, minutes, shares and dates."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from costing import money
from costing.measurements import MEASUREMENTS
from costing.quote import PricedBatch, PricedSail
from costing.rules import Headroom, Limit, plausible, rounded

DASH = "–"
NOT_LEGAL = "NOT CLASS LEGAL"
_TENTH = Decimal("0.1")
HUNDREDTH = Decimal("0.01")
_TEN_THOUSANDTH = Decimal("0.0001")
#: The words of a bound that nobody wrote a text for (units: `loft/common/measures.py`).
_OF_A_BOUND = {"min", "max", "exactly", "one", "of", "no", "bound", "mm", "cm", "m", "ft", "in", "g", "oz"}


def amount(value: Decimal, currency: str) -> str:
    """An amount of money with thousands separators and the currency's own digits: 1,234.56."""
    digits = money.currency(currency).digits
    return f"{value:,.{digits}f}".replace("-", "−")


def plain(value: Decimal) -> str:
    """A quantity as it is, without trailing zeros: 4.5, 1,200."""
    text = f"{value:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def mm(value: Decimal | float, places: int = 0) -> str:
    """A length in mm with thousands separators, rounded to the nearest."""
    exact = value if isinstance(value, Decimal) else Decimal(repr(value))
    return f"{exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):,f}"


def size(value: Decimal) -> str:
    """A designed size exactly as it was computed, at least one decimal: 5,190.0."""
    tenths = value.quantize(_TENTH, ROUND_HALF_UP)
    return f"{tenths:,f}" if tenths == value else plain(value)


def percent(fraction: Decimal | float, places: int = 0) -> str:
    """A fraction as a percentage: 0.05 is 5 %."""
    exact = fraction if isinstance(fraction, Decimal) else Decimal(repr(fraction))
    value = (exact * 100).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return f"{value:f} %".replace("-", "−")


def rate(fraction: Decimal) -> str:
    """A tax rate or discount with just the digits it has: 20 %, 7.5 %."""
    return f"{plain(fraction * 100)} %"


def sails(count: int) -> str:
    """So many sails in words."""
    return "1 sail" if count == 1 else f"{count} sails"


def joining(batch: PricedBatch) -> str:
    """Which order's batch a quote joins and which tier it therefore has; empty for a quote of its own."""
    if not batch.joins:
        return ""
    if batch.tier_from:
        tier = f"the discount is that of {batch.tier_from} sails and more, {rate(batch.discount)}"
    else:
        tier = f"the discount is {rate(batch.discount)}" if batch.discount else "the terms give no discount for that number"
    here = "the one here" if len(batch.sails) == 1 else f"the {len(batch.sails)} here"
    joins = f"This quote joins the batch of order {batch.joins}, which has {sails(batch.joined)}"
    return f"{joins}: with {here} they are {batch.counted}, and {tier}."


def minutes(value: Decimal) -> str:
    """Minutes to the nearest half or whole one for a ticket: 45, 2.5."""
    halves = (value * 2).quantize(Decimal(1), ROUND_HALF_UP) / 2
    return plain(halves)


def hours(value: Decimal) -> str:
    """Minutes as hours and minutes: 6 h 35 min."""
    whole = int(value.quantize(Decimal(1), ROUND_HALF_UP))
    return f"{whole // 60} h {whole % 60:02d} min"


def day(value: date | None, date_format: str) -> str:
    """A date as the loft writes it, a dash when there is none yet."""
    return value.strftime(date_format) if value else DASH


def limit_text(limit: Limit) -> str:
    """The bounds as the rule has them; one that a formula or a unit left longer than a micrometre is rounded so that it does not widen."""
    if limit.permitted and limit.minimum is None and limit.maximum is None:
        return " or ".join(plain(p) for p in limit.permitted)
    low, high = (plain(bound) if bound is not None else "" for bound in (rounded.minimum(limit), rounded.maximum(limit)))
    if low and limit.minimum == limit.maximum:
        return f"exactly {low}"
    if low and high:
        return f"{low} to {high}"
    return f"max {high}" if high else f"min {low}" if low else DASH


def as_printed(limit: Limit) -> str:
    """The limit as the class's document prints it, where the edition says so in other words than the bound itself; else empty."""
    bound = set(re.findall(r"[^\W\d_]+", limit.printed)) <= _OF_A_BOUND and "(" not in limit.printed
    formulas = (limit.minimum_formula, limit.maximum_formula, limit.open)
    return "" if bound or any(text and text in limit.printed for text in formulas) else f"as printed: {spelled(limit.printed)}"


def room_text(room: Headroom) -> str:
    """The headroom, as a reader finds it from the printed size and limit."""
    return _figure(rounded.beside(room).room, room.limit.measurement).replace("-", "−")


def designed_text(room: Headroom) -> str:
    """A designed size beside its limit, so rounded that what is left between them is never said to be more than it is."""
    return _figure(rounded.beside(room).value, room.limit.measurement)


def _figure(value: Decimal, measurement: str) -> str:
    return size(value) if unit(measurement) == "mm" else plain(value)


def four_places(value: Decimal, rounding: str = ROUND_HALF_UP) -> str:
    """An area, a weight or a count as it is; what a formula computed to more places than four, rounded to them."""
    shown = value.quantize(_TEN_THOUSANDTH, rounding)
    return plain(value if value == shown else shown)


def spelled(sum_in_words: str) -> str:
    """A sum in words with proper signs: "2 x 3 m2" is 2 × 3 m²."""
    signs = {" x ": " × ", " - ": " − ", "g/m2": "g/m²", " m2": " m²"}
    for plain_sign, sign in signs.items():
        sum_in_words = sum_in_words.replace(plain_sign, sign)
    return sum_in_words


def formula(text: str) -> str:
    """A rule's formula with the labels of its sizes and proper signs."""
    words = re.sub(r"[a-z]\w+", lambda name: plausible.label(name[0]) if name[0] in MEASUREMENTS else name[0], text)
    return words.replace(" * ", " × ").replace(" - ", " − ")


def options(sail: PricedSail) -> str:
    """The options that a sail has, each that the class requires with its rule number; empty without any."""
    rules = dict(sail.required)
    return ", ".join(f"{option} (required, {rules[option]})" if option in rules else option for option in sail.chosen)


def not_legal(sentences: Iterable[str]) -> str:
    """That a sail is not class legal, and by which limits; empty for a class sail."""
    told = "; ".join(spelled(sentence) for sentence in sentences)
    return f"{NOT_LEGAL}: {told}" if told else ""


def unit(measurement: str) -> str:
    """The unit of a measurement, empty for a count."""
    known = MEASUREMENTS.get(measurement)
    return "" if known is None or known.unit == "count" else known.unit.replace("m2", "m²")


def label(measurement: str) -> str:
    """What a measurement is called on paper."""
    known = MEASUREMENTS.get(measurement)
    return known.label if known else measurement.replace("_", " ").capitalize()


def metres(length_mm: float, places: int = 2) -> str:
    """Millimetres as metres for reading along a roll."""
    return f"{length_mm / 1000:,.{places}f}"


def metres_to_pull(length_mm: float) -> str:
    """Cloth to pull off the roll: metres, rounded up to the centimetre so that it is never short."""
    return f"{Decimal(repr(length_mm / 1000)).quantize(Decimal('0.01'), ROUND_CEILING):,f}"
