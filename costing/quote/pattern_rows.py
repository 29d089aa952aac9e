"""Where in a pattern stands what a computation refuses: the row that a part is made from, and its path as the pattern's file has it."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence

from costing.cloth.make import Make
from costing.cloth.part import Part
from costing.errors import Problem
from costing.measurements import MEASUREMENTS, Corner
from costing.quote.pattern import Pattern

#: What to do with a row whose part does not lie on the roll or the table.
_SMALLER = {
    "patches": "take a smaller size",
    "edge_patches": "take a smaller radius",
    "pockets": "take a shorter batten",
    "windows": "take a smaller window",
}
#: Of the calculation's names those that a file has otherwise, beside the unit that its values carry themselves.
_IN_A_FILE = {"size_fraction": "size", "from_corner_mm": "from_tack", "mitre_broadseam_mm": "mitre.broadseam"}

#: What decides a size of the making, by how the size's name starts.
_MADE_BY = {
    "window_": "make.windows",
    "batten_": "make.pockets",
    "top_pocket_": "make.pockets",
    "primary_reinforcement_": "make.patches",
    "reef_": "make.edge_patches",
    "cloth_": "pattern.cloths",
}


def made_from(part: Part, make: Make) -> str:
    """The row that a part is made from, with the value that makes it so large: ``make.patches[tack].size_fraction``."""
    name = part.id.rpartition("-")[0]
    if part.kind == "patch":
        if name in [corner.value.upper() for corner in Corner]:
            return f"make.patches[{name.lower()}].size_fraction"
        return f"make.edge_patches[{_called(name, [p.name for p in make.edge_patches])}].radius_mm"
    if part.kind == "pocket":
        return f"make.pockets[{_called(part.id.removeprefix('POCKET-'), [p.name for p in make.pockets])}].batten_length_mm"
    if part.kind == "window":
        return f"make.windows[{_called(part.id.removeprefix('WINDOW-'), [w.name for w in make.windows], part.id)}].width_mm"
    if part.kind == "tabling":
        return f"make.{name.split('-')[0].lower()}"
    if part.kind == "shelf":
        return "make.shelf.depth_mm"
    return "make.seams" if part.id.startswith("P") else "make.gores"


def _called(code: str, names: Sequence[str], other: str = "") -> str:
    """The name of a row, of which a part's mark keeps capitals and hyphens."""
    return next((name for name in names if "-".join(name.upper().split()) in (code, other)), code)


def of_parts(problems: Sequence[Problem], parts: Sequence[Part], make: Make) -> tuple[Problem, ...]:
    """Problems of a lay told at the rows that their parts are made from; of the layers of a patch the first stands for all."""
    by_mark, found = {part.id: part for part in parts}, defaultdict[tuple[str, str], list[str]](list)
    for p in problems:
        part = by_mark.get(re.sub(r"^sails\[[^\]]*\]\.", "", p.path))
        row = made_from(part, make) if part else p.path
        found[row, p.code].append(p.message.replace(part.id, f"{part.label} ({part.id})", 1) if part else p.message)
    return tuple(Problem(row, code, f"{told[0]}{_and_more(row, len(told) - 1)}{_right(row)}") for (row, code), told in found.items())


def _and_more(row: str, others: int) -> str:
    """The other parts of the same row: layers of a patch, panels, pieces of a tabling."""
    many = "of its layers" if "patches" in row else "like it"
    return f", and {others} more {many} {'is' if others == 1 else 'are'} too" if others else ""


def _right(row: str) -> str:
    table = re.match(r"make\.(\w+)", row)
    right = _SMALLER.get(table[1], "") if table else ""
    return f": {right}" if right else ""


def naming(material: str, make: Make) -> Iterator[str]:
    """Every place of a making that names a cloth or film."""
    for table, key in (("patches", "material"), ("edge_patches", "material"), ("pockets", "material"), ("windows", "film")):
        yield from (f"make.{table}[{i}].{key}" for i, row in enumerate(getattr(make, table)) if getattr(row, key) == material)
    if make.shelf is not None and make.shelf.material == material:
        yield "make.shelf.material"


def in_file(path: str, pattern: Pattern) -> str:
    """A problem's path as the pattern's file has it: rows by number, values by its own keys."""
    if path in MEASUREMENTS:
        made = next((row for start, row in _MADE_BY.items() if path.startswith(start)), f"sizes ({path})")
        return f"sizes.{path}" if path in pattern.sizes else made
    if path.startswith("panels["):
        number = int(path.removeprefix("panels[").partition("]")[0])
        return "make.gores" if pattern.make.gores and number > len(pattern.make.seams) else "make.seams"
    path = path.removeprefix("pattern.") if path.startswith(("pattern.kit", "pattern.make")) else path
    found = re.fullmatch(r"make\.(patches|gores|edge_patches|pockets|windows)\[([^\]]*)\](.*)", path)
    if found:
        rows = getattr(pattern.make, found[1])
        names = [row.corner.value if found[1] in ("patches", "gores") else row.name for row in rows]
        if found[2] in names:
            path = f"make.{found[1]}[{names.index(found[2])}]{found[3]}"
    stem, dot, key = path.rpartition(".")
    return stem + dot + _IN_A_FILE.get(key, key.removesuffix("_mm")) if path.startswith("make.") else path
