"""Canonical bytes of a priced batch or a design, and back: sorted keys, Decimals as strings, dates in ISO form, UTF-8."""

from __future__ import annotations

from costing.quote.priced import Design, PricedBatch


def freeze_batch(batch: PricedBatch) -> bytes:
    """The snapshot of a priced batch."""
    raise NotImplementedError


def thaw_batch(data: bytes) -> PricedBatch:
    """The batch that a snapshot holds, whatever schema version wrote it; InputError when it is none."""
    raise NotImplementedError


def freeze_design(design: Design) -> bytes:
    """The canonical bytes of a design's geometry."""
    raise NotImplementedError


def thaw_design(data: bytes) -> Design:
    """The design that these bytes hold."""
    raise NotImplementedError
