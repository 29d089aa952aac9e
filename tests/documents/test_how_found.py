"""What the quote says of sizes that nobody typed: each that a design computes or assumes has its construction."""

from __future__ import annotations

import re

from costing.measurements import MEASUREMENTS, SailKind
from loft.documents import how_found, quote_pdf, wording
from tests.documents import reading, sample
from tests.documents.test_every_size_is_traceable import printed, suit


def test_every_computed_size_has_its_construction() -> None:
    designs = tuple(suit().designs.values())
    said = tuple(how_found.sentences(designs))
    computed = {name for design in designs for name, _ in design.sizes if all(t.measurement != name for t in design.targets)}
    assert {"foot_median", "luff_perpendicular"} <= computed
    for name in computed:
        assert f"{wording.label(name)}: {MEASUREMENTS[name].construction}." in said, name
    kinds = {design.outline.kind for design in designs}
    assert kinds == {SailKind.MAINSAIL, SailKind.HEADSAIL, SailKind.SYMMETRIC_SPINNAKER}
    for kind in kinds:
        assert sum(line.startswith(f"Area by the formula, {kind.value.replace('_', ' ')}: ") for line in said) == 1


def test_a_fair_edge_is_explained_only_where_a_width_is_left_to_it() -> None:
    main, jib, *_ = suit().designs.values()
    assert not any(line.startswith("Fair ") for line in how_found.sentences([main]))
    assert any(line.startswith("Fair leech through the widths") for line in how_found.sentences([jib]))
    assert not any("spinnaker" in line for line in how_found.sentences([main, jib]))


def test_the_quote_has_the_list() -> None:
    assert how_found.TITLE in reading.text(quote_pdf(sample.quote_document()))


def test_a_design_with_coloured_panels_says_which_are_what() -> None:
    text = " ".join(printed())
    assert re.search(r"white \+ accent red \(line 3\); shaded: accent H\d", text)
    assert text.count("shaded: accent H") == 1
