"""Areas: the polygon's own, and those that rating rules compute from a few sizes."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from costing.measurements import SailKind
from costing.sail.shape import Outline


def polygon_area(sail: Outline) -> Decimal:
    """The area inside the outline, m2, 4 places."""
    raise NotImplementedError


def published_area(kind: SailKind, sizes: Mapping[str, float]) -> Decimal:
    """The ORC formula's area for a mainsail, headsail or spinnaker, m2, 4 places; sizes in mm by measurement name."""
    raise NotImplementedError
