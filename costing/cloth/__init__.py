"""Cloth: an outline and the pattern's making instructions in, panels, parts and an audited lay out.

`cut_shape` adds take-up to the finished sizes; `panels` and `parts` give every piece to cut, each naming its material;
`plan_lay` places parts on the roll in table sections, shorter the more steps it is given; `estimate` tells its length for many
copies without it; `audit_lay` checks a lay with code that shares nothing with the planner.
"""

from costing.cloth.audit import audit_lay, audit_rolls
from costing.cloth.bound import least_length_mm
from costing.cloth.cuts import CUTS
from costing.cloth.estimate import Estimate, estimate
from costing.cloth.improve import Improve
from costing.cloth.lay import Lay, Placement, Section, Table, in_a_row, of_sail
from costing.cloth.leftover import on_remnant
from costing.cloth.make import (
    Centre,
    ColourSlot,
    Edge,
    EdgeMethod,
    EdgePatch,
    Gores,
    Hanks,
    Make,
    Patch,
    Pocket,
    Seam,
    Shelf,
    Stitch,
    TakeUp,
    Window,
    chosen,
    coloured,
)
from costing.cloth.on_panels import on_panels
from costing.cloth.panels import cut_shape, panels, propose_foot_seams, propose_seams, sewn_sizes, with_proposed_seams
from costing.cloth.part import Cloth, Mark, Orientation, Panel, Part, Sew, net_area_mm2
from costing.cloth.parts import parts
from costing.cloth.planner import plan_lay
from costing.cloth.remnants import Remnant, remnants
from costing.cloth.rolls import Cut, Roll, free_stretches, on_rolls
from costing.cloth.seams import seam_lengths

__all__ = [
    "CUTS",
    "Centre",
    "Cloth",
    "ColourSlot",
    "Cut",
    "Edge",
    "EdgeMethod",
    "EdgePatch",
    "Estimate",
    "Gores",
    "Hanks",
    "Improve",
    "Lay",
    "Make",
    "Mark",
    "Orientation",
    "Panel",
    "Part",
    "Patch",
    "Placement",
    "Pocket",
    "Remnant",
    "Roll",
    "Seam",
    "Section",
    "Sew",
    "Shelf",
    "Stitch",
    "Table",
    "TakeUp",
    "Window",
    "audit_lay",
    "audit_rolls",
    "chosen",
    "coloured",
    "cut_shape",
    "estimate",
    "free_stretches",
    "in_a_row",
    "least_length_mm",
    "net_area_mm2",
    "of_sail",
    "on_panels",
    "on_remnant",
    "on_rolls",
    "panels",
    "parts",
    "plan_lay",
    "propose_foot_seams",
    "propose_seams",
    "remnants",
    "seam_lengths",
    "sewn_sizes",
    "with_proposed_seams",
]
