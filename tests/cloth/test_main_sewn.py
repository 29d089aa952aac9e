"""A tape over the cut panels of the pattern's main, take-up and broadseam on: its widths are those that were asked for."""

from __future__ import annotations

import pytest
from shapely import LineString, Point

from costing import sail
from tests.cloth.skerling_main import FINISHED, MAKE, built
from tests.cloth.tape import tape


def test_widths_hold() -> None:
    main, asked = built(MAKE), sail.measure(sail.outline(FINISHED))
    assert any(seam.broadseam_mm for seam in MAKE.seams)
    luff = LineString(main.cut.luff)
    widths = sail.leech_points(main.cut)
    assert {"quarter_width", "half_width", "three_quarter_width"} <= set(widths)
    for name, at in widths.items():
        across = LineString((at, luff.interpolate(luff.project(Point(at))).coords[0]))
        assert tape(main, across) == pytest.approx(asked[name], abs=1.0), name
