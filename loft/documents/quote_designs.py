"""The quote's designs: each drawn with its sizes, specified, and set against the class limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable, KeepTogether

from costing import sail
from costing.measurements import SPINNAKERS, Corner
from costing.quote import Design
from costing.rules import Headroom, Limit, Undetermined
from loft.documents import how_found, layout, wording
from loft.documents.content import CostSheetDocument, QuoteDocument
from loft.documents.drawing import SIGNAL
from loft.documents.figure import Figure
from loft.documents.sail_drawing import dimensioned_sail, noted

_LEAST = (17.0, 13.5, 15.0, 11.0)  # of a limit, a designed value, its headroom and where it comes from, mm
_RULE = 13.5  # room of a rule number; a longer one stands under the measurement
_COMPUTED = "computed"
COMPUTED = "Computed from the others: measured on the outline that the other sizes make. Panels: counted on it."
_FROM = {"limit": "limit", "boat": "this boat", "pattern": "pattern", "spar": "its spars", "assumed": "assumed"}
_DRAWING_WIDTH, _DRAWING_HEIGHT = 74.0, 103.0


_TWO_AREAS = (
    "Two areas, both computed: inside the edge of the finished sail; and from a few sizes by the published formula, that of the ORC "
    "rating rule, for storm sails that of the Offshore Special Regulations."
)


#: Where a size that the class does not limit comes from, by what decided its target.
_DECIDED = {
    "limit": "the class's",
    "pattern": "the pattern's",
    "boat": "as asked for this boat",
    "spar": "by the boat's spars",
    "assumed": "assumed",
}


@dataclass(frozen=True, slots=True)
class FinishedSail:
    """Designs that are one sail on the water: the same sizes and cloth, different only in what is on it."""

    letter: str
    designs: Mapping[str, Design]  # by key

    @property
    def first(self) -> Design:
        return next(iter(self.designs.values()))


def finished_sails(doc: QuoteDocument | CostSheetDocument) -> tuple[FinishedSail, ...]:
    """The batch's designs by finished sail, in the order in which the sails use them: A, B, ... Z, AA."""
    groups: dict[object, dict[str, Design]] = {}
    for key in dict.fromkeys(line.design_key for line in doc.batch.sails):
        design = doc.designs[key]
        groups.setdefault((design.pattern, design.sizes, design.cloth.code, design.variant), {})[key] = design
    return tuple(FinishedSail(_letter(i), group) for i, group in enumerate(groups.values()))


def design_letters(doc: QuoteDocument | CostSheetDocument) -> dict[str, str]:
    """What each design is called: its finished sail's letter, with a number where options make several of it (A1, A2, B)."""
    letters: dict[str, str] = {}
    for finished in finished_sails(doc):
        several = len(finished.designs) > 1
        for number, key in enumerate(finished.designs, start=1):
            letters[key] = f"{finished.letter}{number}" if several else finished.letter
    return letters


def _letter(index: int) -> str:
    first = _letter(index // 26 - 1) if index >= 26 else ""
    return first + chr(ord("A") + index % 26)


def line_numbers(positions: Sequence[int]) -> str:
    """Line numbers with runs drawn together: 1–4, 7, 9–12."""
    groups: list[list[int]] = []
    for p in positions:
        if groups and p == groups[-1][-1] + 1:
            groups[-1].append(p)
        else:
            groups.append([p])
    return ", ".join(f"{g[0]}–{g[-1]}" if len(g) > 1 else str(g[0]) for g in groups)


def lines_named(positions: Sequence[int]) -> str:
    """ "line 9" or "lines 1–4, 7"."""
    return f"{'lines' if len(positions) > 1 else 'line'} {line_numbers(positions)}"


def not_legal_notice(doc: QuoteDocument) -> list[Flowable]:
    """Every sail that is not class legal, with the limits that it is outside of and what that means."""
    outside = not_legal(doc, range(1, len(doc.batch.sails) + 1))
    if not outside:
        return []
    labels = {line: doc.batch.sails[line - 1].label for line in outside}
    words = [f"Line {line}, {labels[line]}: {'; '.join(wording.spelled(told) for told in why)}." for line, why in outside.items()]
    them = "This sail is" if len(outside) == 1 else "These sails are"
    meaning = f"{them} sold as NON-CLASS: without the class's label, and for no measurer to certify. It may not race in the class."
    if len(outside) > 1:
        meaning = meaning.replace("It may", "They may")
    story: list[Flowable] = [layout.text(wording.NOT_LEGAL, layout.NOTICE), *(layout.bullet(w, 168) for w in words)]
    return [layout.gap(2), layout.framed([*story, layout.text(meaning, layout.BODY)], 176, SIGNAL)]


def edition_notes(doc: QuoteDocument) -> list[Flowable]:
    """What the edition in force on the expected day of certification says of the sails, where that is another one."""
    by_note: dict[str, list[int]] = {}
    for number, line in enumerate(doc.batch.sails, start=1):
        for note in line.edition_notes:
            by_note.setdefault(note, []).append(number)
    if not by_note:
        return []
    words = [wording.spelled(note) + f" ({lines_named(numbers)})" for note, numbers in by_note.items()]
    outside = any(note.startswith("OUTSIDE") for note in by_note)
    story: list[Flowable] = [layout.text("The rules on the day", layout.SUBHEADING), *(layout.bullet(w, 168) for w in words)]
    return [layout.gap(2), layout.framed(story, 176, SIGNAL) if outside else KeepTogether(story)]


def design_pages(doc: QuoteDocument) -> list[Flowable]:
    """Every finished sail of the batch, two to a page."""
    story: list[Flowable] = []
    for finished in finished_sails(doc):
        users = [i for i, s in enumerate(doc.batch.sails, start=1) if s.design_key in finished.designs]
        section = [] if story else [layout.text("What we have designed", layout.SECTION), *layout.texts(_said_once(doc), layout.SMALL)]
        pattern = doc.batch.pattern_of(doc.batch.sails[users[0] - 1]).name if doc.batch.is_mixed else ""
        outside = not_legal(doc, users)
        colours = {line: doc.batch.sails[line - 1].colour for line in users}
        story.append(KeepTogether([*section, *_design(finished, users, pattern, outside, _coloured(finished.first, colours))]))
    found = how_found.sentences(doc.designs[line.design_key] for line in doc.batch.sails)
    return [*story, KeepTogether([layout.text(how_found.TITLE, layout.SUBHEADING), *(layout.bullet(words, 172) for words in found)])]


def _said_once(doc: QuoteDocument) -> Iterator[str]:
    """What holds for every design: how the areas and sizes are meant, and in which condition the class measures."""
    yield f"{_TWO_AREAS} {COMPUTED}"
    by_condition: dict[str, list[str]] = {}
    for pattern in doc.batch.made_by:
        by_condition.setdefault(pattern.condition, []).append(pattern.called)
    for condition, sails in by_condition.items():
        if condition:
            yield f"How the class measures{f' the {_listed(sails)}' if len(by_condition) > 1 else ''}: {condition}."


def _listed(words: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def not_legal(doc: QuoteDocument, lines: Sequence[int]) -> dict[int, tuple[str, ...]]:
    """Those of the lines that are not class legal, with why: by their design, or since they were sold so on the floor."""
    why = {line: doc.batch.sails[line - 1].not_legal or tuple(doc.settled.get(line, ())) for line in lines}
    return {line: told for line, told in why.items() if told}


def _design(finished: FinishedSail, lines: list[int], pattern: str, outside: Mapping[int, tuple[str, ...]], colours: str) -> list[Flowable]:
    """pattern: its name where the batch has several; outside: lines that are not class legal; colours: of panels that have their own."""
    design = finished.first
    kind = "variant for the boat's own measurements" if design.variant else "the pattern as it stands"
    title = f"Design {finished.letter} – {pattern + ', ' if pattern else ''}{kind}: {lines_named(lines)}"
    right: list[Flowable] = [_specification(design, colours), layout.gap(2.5), limits_table(design, _least_room(finished))]
    right += [layout.gap(1), *(layout.text(words, layout.SMALL) for words in (*_remarks(finished), *conditions(design)))]
    told = tuple(dict.fromkeys(sentence for why in outside.values() for sentence in why))
    figure = Figure(noted(dimensioned_sail(design, width=_DRAWING_WIDTH, height=_DRAWING_HEIGHT), told), "LEFT")
    widths = (_DRAWING_WIDTH + 2, 176 - _DRAWING_WIDTH - 2)
    heading = [layout.text(title, layout.SUBHEADING)]
    if outside:
        only = "" if len(outside) == len(lines) else f" ({lines_named(list(outside))})"
        heading.append(layout.text(wording.NOT_LEGAL + only, layout.NOTICE))
    return [*heading, layout.side_by_side([figure], right, widths), layout.gap(4)]


def _least_room(finished: FinishedSail) -> list[Headroom]:
    """For each limit the design that comes nearest to it: options (a window, say) may differ within one finished sail."""
    nearest: dict[tuple[str, Corner | None], Headroom] = {}
    for design in finished.designs.values():
        for room in design.headroom:
            key = (room.limit.measurement, room.limit.corner)
            if key not in nearest or room.room < nearest[key].room:
                nearest[key] = room
    return list(nearest.values())


def without_limit(design: Design) -> Iterator[str]:
    """The sizes that the class does not limit, each with where it comes from."""
    limited = {r.limit.measurement for r in design.headroom}
    decided = {t.measurement: _DECIDED[t.decided_by] for t in design.targets}
    rest = [
        f"{wording.label(name).lower()} {wording.size(value)} ({decided.get(name, 'computed from the others')})"
        for name, value in design.sizes
        if name not in limited
    ]
    if rest:
        yield f"Without a class limit, mm: {', '.join(rest)}."


def _remarks(finished: FinishedSail) -> Iterator[str]:
    design = finished.first
    yield from without_limit(design)
    if len(finished.designs) > 1:
        names = f"{finished.letter}1 to {finished.letter}{len(finished.designs)}"
        yield f"{names} differ in options: each limit stands against the nearest of them."
    yield from decided_otherwise(design)


def decided_otherwise(design: Design) -> Iterator[str]:
    """The sizes that neither a limit nor the pattern decided: what was asked for, and by which spar or formula the others came."""
    asked = [wording.label(t.measurement).lower() for t in design.targets if t.decided_by == "boat"]
    if asked:
        yield f"As asked for this boat: {', '.join(asked)}."
    by_reason: dict[str, list[str]] = {}
    for target in design.targets:
        if target.decided_by in ("spar", "assumed"):
            by_reason.setdefault(target.reason, []).append(wording.label(target.measurement).lower())
    for reason, names in by_reason.items():
        yield f"{_listed(names).capitalize()}: {wording.spelled(reason)}."


def _coloured(design: Design, sails: Mapping[int, str]) -> str:
    """The sails' colours by line, and which panels have a colour of their own; empty where the design has no such panels."""
    slots: dict[str, list[str]] = {}
    for panel in design.panels:
        if panel.colour:
            slots.setdefault(panel.colour, []).append(panel.mark)
    if not slots:
        return ""
    by_colour: dict[str, list[int]] = {}
    for line, colour in sails.items():
        by_colour.setdefault(colour, []).append(line)
    worn = "; ".join(f"{colour} ({lines_named(lines)})" for colour, lines in by_colour.items())
    shaded = "; ".join(f"{slot} {', '.join(marks)}" for slot, marks in slots.items())
    return f"{worn}; shaded: {shaded}"


def _specification(design: Design, colours: str) -> Flowable:
    cloth = design.cloth
    rows: list[tuple[str, layout.Cell]] = [
        ("Cloth", f"{cloth.code}: {wording.spelled(cloth.name)}"),
        ("Make", _made_of(design)),
        ("Area", _areas(design)),
        *([("Colour", colours)] if colours else []),
    ]
    return layout.pairs(rows, (11, 89))


def _made_of(design: Design) -> str:
    """Panels, and batten pockets where the kind of sail may have some, with where their numbers come from."""
    panels = f"{len(design.panels)} panels (computed)"
    if design.outline.kind in SPINNAKERS:
        return panels
    return f"{panels}, {sum(p.kind == 'pocket' for p in design.parts)} batten pockets (pattern)"


def _areas(design: Design) -> str:
    """Both areas, which is which, and what explains the difference."""
    both = sail.compared_areas(design.shape.kind, design.area_m2, design.formula_area_m2)
    inside, published = (f"{area.quantize(wording.HUNDREDTH):f} m²" for area in (both.polygon, both.published))
    return f"{inside} inside the edge; formula {published}: {both.why.replace(' %', chr(0xA0) + '%')}"


def source(design: Design, measurement: str) -> str:
    """Where a value of a design comes from, in a word or two."""
    decided = next((t.decided_by for t in design.targets if t.measurement == measurement), "")
    if decided:
        return _FROM[decided]
    if measurement == "cloth_weight":
        return "the cloth"
    computed = measurement in dict(design.sizes) or measurement in ("ratio", "area", "width", "leech_round")
    return _COMPUTED if computed else "pattern"


def open_words(left_open: Undetermined) -> str:
    """What becomes of a limit that a design has no value for."""
    return "cannot determine" if left_open.reason.startswith("cannot determine") else "measure"


def conditions(design: Design) -> Iterator[str]:
    """The notes of the limits, and why some stand open."""
    limits = [*(r.limit for r in design.headroom), *(left.limit for left in design.open_limits)]
    yield from (f"{limited_name(x)} ({x.rule}): {x.note}." for x in limits if x.note)
    yield from (f"{limited_name(x)} ({x.rule}), computed by the rule: {wording.formula(x.formula)}." for x in limits if x.formula)
    yield from (f"{limited_name(x.limit)} ({x.limit.rule}): {x.reason}." for x in design.open_limits)


def limits_table(design: Design, rooms: Sequence[Headroom]) -> Flowable:
    """Class limits beside the designed values, with the room between them and what decided each; a limit that stands open keeps its row.

    Said where the class has none for this kind of sail.
    """
    if not rooms and not design.open_limits:
        return layout.text("The class rules have no limit for this kind of sail.", layout.CELL_BOLD)
    rows: list[tuple[Limit, str, str, str, str, str]] = [
        (r.limit, measurement_name(r), wording.limit_text(r.limit), wording.designed_text(r), wording.room_text(r),
         source(design, r.limit.measurement)) for r in rooms
    ]  # fmt: skip
    rows += [(x.limit, limited_name(x.limit), open_bound(x.limit), wording.DASH, wording.DASH, open_words(x)) for x in design.open_limits]
    names, style, pad = ("Measurement, mm", "Class limit", "Designed", "Headroom", "From"), layout.LIMIT, 1.0
    widths = [layout.room_for(cells, least, style) for cells, least in zip(list(zip(*rows, strict=True))[2:], _LEAST, strict=True)]
    left = 100 - sum(widths)
    if all(layout.room_for([limit.rule], 0, style) <= _RULE for limit, *_ in rows):
        cells: list[list[layout.Cell]] = [
            [limit.rule, layout.noted(name, wording.as_printed(limit), style), *rest]
            for limit, name, *rest in rows
        ]  # fmt: skip
        return layout.table(("Rule", *names), cells, (_RULE, left - _RULE, *widths), right=(2, 3, 4), style=style, pad=pad)
    long: list[list[layout.Cell]] = [
        [[layout.text(name, style), *layout.texts(filter(None, [limit.rule, wording.as_printed(limit)]), layout.TINY)], *rest]
        for limit, name, *rest in rows
    ]  # fmt: skip
    return layout.table(names, long, (left, *widths), right=(1, 2, 3), style=style, pad=pad)


def open_bound(limit: Limit) -> str:
    """The bounds as values; as printed where they are computed, or left open."""
    known = limit.minimum is not None or limit.maximum is not None
    return wording.limit_text(limit) if known else limit.printed


def measurement_name(room: Headroom) -> str:
    """The measurement with its corner, and its unit where that is not mm."""
    return limited_name(room.limit)


def limited_name(limit: Limit) -> str:
    """The same of a limit that nothing was compared with: what it limits, its corner or station, its unit where that is not mm."""
    name = limit.name or wording.label(limit.measurement)
    if limit.station is not None:
        name += f", {limit.station}"
    if isinstance(limit.corner, Corner):
        name += f", {limit.corner.value}"
    unit = wording.unit(limit.measurement)
    return name if unit == "mm" else f"{name} ({unit or 'number'})"
