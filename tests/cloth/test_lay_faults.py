"""One fault at a time put into lays of real sails and into their places on rolls: the audit finds it, and nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from costing import cloth
from costing.cloth import Cut, Lay, Part, Placement, Roll, Section
from tests import spinnakers
from tests.documents import sample

DESIGN = next(iter(sample.result().designs.values()))
LAY = DESIGN.lays[0]
PARTS = {"": tuple(p for p in DESIGN.parts if p.material == LAY.material)}


def found(lay: Lay, parts: dict[str, tuple[Part, ...]] = PARTS) -> set[str]:
    return {p.code for p in cloth.audit_lay(lay, parts, DESIGN.cloth, DESIGN.table)}


def moved(lay: Lay, part_id: str, **to: object) -> Lay:
    return replace(lay, placements=tuple(replace(p, **to) if p.part_id == part_id else p for p in lay.placements))  # type: ignore[arg-type]


def placed(part_id: str) -> Placement:
    return next(p for p in LAY.placements if p.part_id == part_id)


FAULTS = [
    ("a part left out", replace(LAY, placements=LAY.placements[1:]), {"missing"}),
    ("a part twice", replace(LAY, placements=(*LAY.placements, LAY.placements[0])), {"doubled", "overlap"}),
    ("a panel beyond the usable edge", moved(LAY, "P2", y=placed("P2").y + 0.2), {"outside_width"}),
    ("a section cut short", replace(LAY, sections=(replace(LAY.sections[0], length_mm=LAY.length_mm - 3.0),)), {"outside_section"}),
    ("two panels over each other", moved(LAY, "P2", x=placed("P3").x, y=placed("P3").y, angle=placed("P3").angle), {"overlap"}),
    ("a panel turned by 90 degrees", moved(LAY, "P2", angle=90), {"angle"}),
    ("a part on no section", moved(LAY, "P2", section=1), {"no_section"}),
]


@pytest.mark.parametrize(("label", "lay", "codes"), FAULTS, ids=[f[0] for f in FAULTS])
def test_a_fault_in_a_mains_lay(label: str, lay: Lay, codes: set[str]) -> None:
    assert found(LAY) == set()
    assert codes <= found(lay)


def test_a_gap_that_is_a_tenth_too_small() -> None:
    """The lay was planned for the tool's gap: a knife that needs a tenth more has not room enough somewhere."""
    wider = replace(DESIGN.table, gap_mm=DESIGN.table.gap_mm + 0.2)
    assert {p.code for p in cloth.audit_lay(LAY, PARTS, DESIGN.cloth, wider)} == {"gap"}


def test_a_mirrored_part_is_found_on_cloth_with_two_faces_alone() -> None:
    """The gore's own shape face down: it fits its place, and would be sewn the wrong way round."""
    design = next(iter(spinnakers.priced().designs.values()))
    assert not design.cloth.same_faced
    lay = cloth.plan_lay({"": design.parts}, design.cloth, design.table)
    assert cloth.audit_lay(lay, {"": design.parts}, design.cloth, design.table) == ()
    gore = next(p for p in design.parts if p.kind == "panel")
    high = max(y for _, y in gore.outer)
    face_down = replace(gore, outer=tuple((x, high - y) for x, y in gore.outer))
    parts = {"": tuple(face_down if p.id == gore.id else p for p in design.parts)}
    wrong = cloth.audit_lay(cloth.plan_lay(parts, design.cloth, design.table), parts, design.cloth, design.table)
    assert [(p.path, p.code) for p in wrong] == [(gore.id, "mirrored")]
    both = replace(design.cloth, same_faced=True)
    assert cloth.audit_lay(cloth.plan_lay(parts, both, design.table), parts, both, design.table) == ()


ON_ROLLS = Lay("ROLL", 1370, (Section(0, 5000), Section(1, 3000)), tuple(Placement("A", f"P{n}", n, 0.0, 0.0, 0) for n in (0, 1)), 1.0, 1.0)
ROLLS = (Roll("R1", "L1", 12_000, ((6000, 6200),)), Roll("R2", "L2", 9000))
PANELS = {("A", "P0"), ("A", "P1")}


@pytest.mark.parametrize(
    ("label", "cuts", "codes"),
    [
        ("as they should be", (Cut(0, "R1", 0), Cut(1, "R1", 6200)), []),
        ("two lots", (Cut(0, "R1", 0), Cut(1, "R2", 0)), ["lots"]),
        ("over a flaw", (Cut(0, "R1", 0), Cut(1, "R1", 5900)), ["over_flaw"]),
        ("over each other", (Cut(0, "R1", 7000), Cut(1, "R1", 6500)), ["overlap"]),
        ("off the end", (Cut(0, "R1", 0), Cut(1, "R1", 9100)), ["off_roll"]),
        ("a roll that is not there", (Cut(0, "R1", 0), Cut(1, "R9", 0)), ["unknown_roll"]),
        ("a section left out", (Cut(0, "R1", 0),), ["not_once"]),
        ("a section twice", (Cut(0, "R1", 0), Cut(1, "R1", 6200), Cut(1, "R1", 9200)), ["not_once", "off_roll"]),
    ],
)
def test_places_on_rolls(label: str, cuts: tuple[Cut, ...], codes: list[str]) -> None:
    assert [p.code for p in cloth.audit_rolls(ON_ROLLS, cuts, ROLLS, PANELS)] == codes, label


def test_patches_may_be_of_another_lot() -> None:
    assert cloth.audit_rolls(ON_ROLLS, (Cut(0, "R1", 0), Cut(1, "R2", 0)), ROLLS, {("A", "P0")}) == ()
