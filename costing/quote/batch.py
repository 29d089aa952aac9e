"""The one call that does it all: a batch request and the house in, a priced batch and its designs out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from costing.quote.priced import Design, PricedBatch
from costing.quote.request import BatchRequest, House


@dataclass(frozen=True, slots=True)
class BatchResult:
    """A priced batch with the geometry of each design that it uses, by key."""

    batch: PricedBatch
    designs: Mapping[str, Design]


def price_batch(request: BatchRequest, house: House, *, on: date, known: Mapping[str, Design] | None = None) -> BatchResult:
    """Compute and price every sail of a batch on a day; identical designs are computed once, `known` ones not at all.

    Raises InputError with every problem of every sail: paths begin with the sail's own `path` ("row 7.half_width").
    """
    raise NotImplementedError
