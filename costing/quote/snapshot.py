"""Canonical bytes of a priced batch or a design, and back: sorted keys, Decimals as strings, dates in ISO form, UTF-8.

Floats are written as Python's shortest decimal that reads back to the same float, so geometry comes back bit for bit.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any, TypeVar

from cattrs import Converter
from cattrs.errors import CattrsError

from costing.cloth.lay import Lay
from costing.errors import CostingBug, InputError, problem
from costing.quote.priced import SCHEMA_VERSION, Design, PricedBatch, PricedSail
from costing.sail.shape import Line, Point

T = TypeVar("T")


def canonical_bytes(thing: object) -> bytes:
    """Any value made of the calculation's dataclasses, as bytes that are equal when the values are."""
    return _bytes(_CONVERTER.unstructure(thing))


def freeze_batch(batch: PricedBatch) -> bytes:
    """The snapshot of a priced batch."""
    return _freeze(batch)


def thaw_batch(data: bytes) -> PricedBatch:
    """The batch that a snapshot holds, whatever schema version wrote it; InputError when it is none."""
    return _thaw(data, PricedBatch)


def freeze_design(design: Design) -> bytes:
    """The canonical bytes of a design's geometry."""
    return _freeze(design)


def thaw_design(data: bytes) -> Design:
    """The design that these bytes hold; InputError when they hold none."""
    return _thaw(data, Design)


def freeze_sail(sail: PricedSail) -> bytes:
    """The canonical bytes of one priced sail, for a ticket to carry."""
    return _freeze(sail)


def thaw_sail(data: bytes) -> PricedSail:
    """The priced sail that these bytes hold; InputError when they hold none."""
    return _thaw(data, PricedSail)


def freeze_lay(lay: Lay) -> bytes:
    """The canonical bytes of a lay, for the floor to keep."""
    return _freeze(lay)


def thaw_lay(data: bytes) -> Lay:
    """The lay that these bytes hold; InputError when they hold none."""
    return _thaw(data, Lay)


def _freeze(thing: Design | PricedBatch | PricedSail | Lay) -> bytes:
    return _bytes({"kind": type(thing).__name__, "schema_version": SCHEMA_VERSION, "value": _CONVERTER.unstructure(thing)})


def _bytes(plain: object) -> bytes:
    return json.dumps(plain, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def _thaw(data: bytes, kind: type[T]) -> T:
    try:
        envelope = json.loads(data)
    except (UnicodeDecodeError, ValueError) as error:
        raise _nonsense(f"these bytes are not the JSON of a snapshot: {error}") from error
    if not isinstance(envelope, dict) or envelope.keys() != {"kind", "schema_version", "value"}:
        raise _nonsense("a snapshot has exactly kind, schema_version and value")
    if envelope["kind"] != kind.__name__:
        raise _nonsense(f"this is the snapshot of a {envelope['kind']!r}, a {kind.__name__!r} was expected")
    upgrade = _UPGRADES.get(envelope["schema_version"])
    if upgrade is None:
        raise _nonsense(f"schema version {envelope['schema_version']!r} is not one of {', '.join(map(str, _UPGRADES))}")
    try:
        return _CONVERTER.structure(upgrade(envelope["value"]), kind)
    except (CattrsError, CostingBug, InvalidOperation, KeyError, TypeError, ValueError, AttributeError) as error:
        raise _nonsense(f"the snapshot of a {kind.__name__} does not hold together: {type(error).__name__} {error}") from error


def _nonsense(message: str) -> InputError:
    return problem("snapshot", "not_a_snapshot", message)


#: How the plain value of each schema version becomes that of the present one.
_UPGRADES: dict[object, Callable[[Any], Any]] = {SCHEMA_VERSION: lambda value: value}


def _decimal(value: object, _: object) -> Decimal:
    if not isinstance(value, str):
        raise ValueError(f"a decimal is kept as text, not as {value!r}")
    number = Decimal(value)
    if not number.is_finite():
        raise ValueError(f"{value!r} is not a number")
    return number


def _float(value: object, _: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"a number was expected, not {value!r}")
    return float(value)


def _exactly(kind: type[T]) -> Callable[[object, Any], T]:
    def checked(value: object, wanted: Any) -> T:
        if type(value) is not kind:
            raise ValueError(f"a {kind.__name__} was expected, not {value!r}")
        # a StrEnum comes here too, as the str that it is
        return value if wanted is kind else wanted(value)

    return checked


def _point(value: Any, _: object) -> Point:
    x, y = value
    return _float(x, float), _float(y, float)


def _line(value: Any, _: object) -> Line:
    if not isinstance(value, list):
        raise ValueError(f"a line was expected, not {value!r}")
    if all(type(x) is float and type(y) is float for x, y in value):  # the usual case, ten times quicker
        return tuple((x, y) for x, y in value)
    return tuple(_point(p, None) for p in value)


def _converter() -> Converter:
    converter = Converter(forbid_extra_keys=True, detailed_validation=False)
    converter.register_unstructure_hook(Decimal, str)
    converter.register_unstructure_hook(date, date.isoformat)
    converter.register_structure_hook(Decimal, _decimal)
    converter.register_structure_hook(date, lambda value, _: date.fromisoformat(value))
    converter.register_structure_hook(float, _float)
    for kind in (str, int, bool):
        converter.register_structure_hook(kind, _exactly(kind))
    converter.register_structure_hook_func(lambda t: t == Point, _point)
    converter.register_structure_hook_func(lambda t: t == Line, _line)
    # already plain: do not walk every coordinate
    converter.register_unstructure_hook_func(lambda t: t in (Line, Point), lambda value: value)
    return converter


_CONVERTER = _converter()
