"""Short marks for the parts of a lay, and a key that says what they stand for."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from costing.cloth import Lay, Part
from costing.quote import Design
from loft.documents import lettering, wording
from loft.documents.drawing import INK, SOFT, Drawing, Item, Letters
from loft.documents.typefaces import BOLD

_ID = re.compile(r"(.*?)-?(\d*)")
_ROW, _HEIGHT = 4.2, 2.9


def short_marks(parts: Sequence[Part]) -> dict[str, str]:
    """A mark for each part id, no two alike: panels keep theirs, LEECH-TABLING-1 is LT1, CLEW-2 is CL2."""
    stems: dict[str, str] = {}
    for part in parts:
        stem = _divided(part.id)[0]
        if part.kind != "panel" and stem not in stems:
            stems[stem] = _unlike(stem, set(stems.values()))
    return {p.id: p.id if p.kind == "panel" else "".join((stems[_divided(p.id)[0]], _divided(p.id)[1])) for p in parts}


def _divided(part_id: str) -> tuple[str, str]:
    """A part's id without its number, and the number."""
    found = _ID.fullmatch(part_id)
    return (found[1], found[2]) if found else (part_id, "")


def _unlike(stem: str, taken: set[str]) -> str:
    """First letters of the words, at least two; more of the first word until no other stem has them."""
    first, *rest = [word for word in re.split("[-_ ]", stem) if word] or ["X"]
    tail = "".join(word[0] for word in rest)
    for count in range(1 if rest else 2, len(first) + 1):
        if (mark := first[:count] + tail) not in taken:
            return mark
    return f"{stem}-"  # as it is, with a dash before the number


def key(design: Design, lay: Lay, width: float) -> Drawing:
    """What each mark on this lay stands for, in columns across `width` paper mm; panels name themselves."""
    names = _names([p for p in design.parts if p.material == lay.material and p.colour == lay.colour], short_marks(design.parts))
    cells = [(mark, words) for mark, words in names.items()]
    widest = max((lettering.width(m, _HEIGHT, BOLD) + 1.5 + lettering.width(w, _HEIGHT) + 5 for m, w in cells), default=width)
    columns = max(1, int(width // widest))
    rows = -(-len(cells) // columns)
    items: list[Item] = []
    for i, (mark, words) in enumerate(cells):
        x, y = (i // rows) * width / columns, (rows - 1 - i % rows) * _ROW + 1.2
        items.append(Letters(mark, (x, y), _HEIGHT, "start", font=BOLD, colour=INK))
        items.append(Letters(words, (x + lettering.width(mark, _HEIGHT, BOLD) + 1.5, y), _HEIGHT, "start", colour=SOFT))
    return Drawing(width, rows * _ROW, tuple(items), "What the marks stand for")


def _names(parts: Sequence[Part], marks: Mapping[str, str]) -> dict[str, str]:
    """Marks with their words, numbered pieces together: "LT1–LT5" is "leech tabling"."""
    stems: dict[str, list[Part]] = {}
    for part in parts:
        if part.kind != "panel":
            stems.setdefault(_divided(part.id)[0], []).append(part)
    named: dict[str, str] = {}
    for alike in stems.values():
        first, last = marks[alike[0].id], marks[alike[-1].id]
        named[first if len(alike) == 1 else f"{first}–{last}"] = wording.spelled(alike[0].label.partition(",")[0].lower())
    return named
