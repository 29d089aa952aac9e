"""A priced batch as a plain structure for other programs: the content of batch.json.

Version 2 (1 had no patterns[] and no sails[].pattern: all sails were made by batch.pattern). Numbers that must be exact
(money, quantities, minutes, sizes) are strings; lengths mm, areas m2 unless a key says otherwise.

    format          "priced-batch"
    version         2
    batch           priced_on, currency, customer, buyer, class {code, name, edition, edition_from}, pattern {code, version, name}
                    (the first of patterns[]), patterns[] {code, version, name, kind, called}, terms
    sails[]         pattern (code of one of patterns[]), path, label, boat, owner, sail_number (null: to follow),
                    design (key into designs), cloth, colour, number_colour,
                    options[], not_chosen[], assumed[], given[], certified_on (null: not kept, or NON-CLASS), edition_notes[],
                    breaches[] {measurement, rule, value, limit, side, by, percent, called} (any: NON-CLASS, not sold as class legal),
                    numbers (null or text, height_mm, gap_mm, edge_mm),
                    minutes[] {operation, station, own, order_share, lay_share, how},
                    cost_lines[] {group, code, label, quantity, unit, unit_cost, amount, how, source},
                    alone_lines[] (as cost_lines: those that the sail made alone has otherwise; its unit price rests on them),
                    price[] {label, quantity, unit_price, shown_unit_price, discount, net, tax, pass_through}, price_how,
                    cost, one_off_cost, pass_through, net, margin (null: given away)
    designs{key}    pattern, variant, measurements{}, targets[] {measurement, value, decided_by, reason, rule},
                    limits[] {measurement, corner, rule, minimum, maximum, value, room}, assumed[], area_m2, formula_area_m2,
                    panels[] {mark, width_mm, length_mm}, parts[] {id, kind, label, material},
                    lays[] {material, usable_width_mm, length_mm, bound_mm, yield, sections[], placements[]},
                    quantities {drivers[], materials[]}
    totals          net, taxes[] {code, label, fraction, taxable, tax}, tax, gross, deposit, cost, margin, target, warning, floor,
                    discount, discount_reason
    warnings[]      sentences
    doubts[]        sentences: sizes that are hard to believe
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from costing.cloth.lay import Lay
from costing.cloth.part import Panel
from costing.quote.priced import Design, PricedBatch, PricedSail

FORMAT = "priced-batch"
VERSION = 2

Plain = dict[str, Any]


def batch_as_plain(batch: PricedBatch, designs: Mapping[str, Design]) -> Plain:
    """The structure that the module describes, made of dicts, lists, strings, numbers and nulls."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "batch": _head(batch),
        "sails": [{"pattern": batch.pattern_of(s).code, **_sail(s)} for s in batch.sails],
        "designs": {key: _design(d) for key, d in sorted(designs.items())},
        "totals": _totals(batch),
        "warnings": list(batch.warnings),
        "doubts": list(batch.doubts),
    }


def batch_as_json(batch: PricedBatch, designs: Mapping[str, Design]) -> bytes:
    """The same as UTF-8 JSON, keys in the order that the module describes, equal bytes for equal batches."""
    return (json.dumps(batch_as_plain(batch, designs), ensure_ascii=False, allow_nan=False, indent=1) + "\n").encode()


def _head(batch: PricedBatch) -> Plain:
    return {
        "priced_on": batch.priced_on.isoformat(),
        "currency": batch.currency,
        "customer": batch.customer,
        "buyer": batch.buyer,
        "class": {
            "code": batch.class_code,
            "name": batch.class_name,
            "edition": batch.edition,
            "edition_from": batch.edition_from.isoformat(),
        },
        "pattern": {"code": batch.pattern_code, "version": batch.pattern_version, "name": batch.pattern_name},
        "patterns": [
            {"code": p.code, "version": p.version, "name": p.name, "kind": p.sail_kind.value, "called": p.called} for p in batch.made_by
        ],
        "terms": batch.terms_code,
    }


def _sail(sail: PricedSail) -> Plain:
    numbers = sail.numbers
    return {
        "path": sail.path, "label": sail.label, "boat": sail.boat, "owner": sail.owner, "sail_number": sail.sail_number,
        "design": sail.design_key, "cloth": sail.cloth_label, "colour": sail.colour, "number_colour": sail.number_colour,
        "options": list(sail.chosen), "not_chosen": list(sail.not_chosen), "assumed": list(sail.assumed), "given": list(sail.given),
        "certified_on": sail.certified_on.isoformat() if sail.certified_on else None, "edition_notes": list(sail.edition_notes),
        "breaches": [_exact(asdict(b)) for b in sail.breaches],
        "numbers": numbers and {"text": numbers.text, "height_mm": numbers.height_mm, "gap_mm": numbers.gap_mm, "edge_mm": numbers.edge_mm},
        "minutes": [
            {"operation": o.operation, "station": o.station.value, "own": str(o.own_min), "order_share": str(o.order_min),
             "lay_share": str(o.lay_min), "how": o.how}
            for o in sail.operations
        ],
        "cost_lines": [_exact(asdict(line)) for line in sail.cost_lines],
        "alone_lines": [_exact(asdict(line)) for line in sail.alone_lines],
        "price": [_exact(asdict(item)) for item in sail.items],
        "price_how": sail.price_how, "cost": str(sail.cost), "one_off_cost": str(sail.one_off_cost),
        "pass_through": str(sail.pass_through), "net": str(sail.net), "margin": _or_null(sail.margin),
    }  # fmt: skip


def _design(design: Design) -> Plain:
    return {
        "pattern": design.pattern,
        "variant": design.variant,
        "measurements": {name: str(value) for name, value in design.sizes},
        "targets": [_exact(asdict(t)) for t in design.targets],
        "limits": [
            {"measurement": h.limit.measurement, "corner": h.limit.corner and h.limit.corner.value, "rule": h.limit.rule,
             "minimum": _or_null(h.limit.minimum), "maximum": _or_null(h.limit.maximum), "value": str(h.value), "room": str(h.room)}
            for h in design.headroom
        ],
        "assumed": list(design.assumed),
        "area_m2": str(design.area_m2),
        "formula_area_m2": str(design.formula_area_m2),
        "panels": [_panel(p) for p in design.panels],
        "parts": [{"id": p.id, "kind": p.kind, "label": p.label, "material": p.material} for p in design.parts],
        "lays": [_lay(lay) for lay in design.lays],
        "quantities": {
            "drivers": [_exact(asdict(d)) for d in design.takeoff.drivers],
            "materials": [_exact(asdict(m)) for m in design.takeoff.materials],
        },
    }  # fmt: skip


def _panel(panel: Panel) -> Plain:
    xs, ys = [x for x, _ in panel.cut], [y for _, y in panel.cut]
    return {"mark": panel.mark, "width_mm": round(max(ys) - min(ys), 1), "length_mm": round(max(xs) - min(xs), 1)}


def _lay(lay: Lay) -> Plain:
    return {
        "material": lay.material,
        "colour_slot": lay.colour,
        "usable_width_mm": lay.usable_width_mm,
        "length_mm": round(lay.length_mm, 1),
        "bound_mm": round(lay.bound_mm, 1),
        "yield": round(lay.yield_fraction, 4),
        "sections": [{"number": s.number, "length_mm": round(s.length_mm, 1)} for s in lay.sections],
        "placements": [
            {"part": p.part_id, "section": p.section, "x": round(p.x, 3), "y": round(p.y, 3), "angle": p.angle} for p in lay.placements
        ],
    }


def _totals(batch: PricedBatch) -> Plain:
    return {
        **_exact(asdict(batch.totals)),
        "cost": str(batch.cost),
        "margin": _or_null(batch.margin),
        "target": str(batch.margin_target),
        "warning": str(batch.margin_warning),
        "floor": str(batch.margin_floor),
        "discount": str(batch.discount),
        "discount_reason": batch.discount_reason,
    }


def _exact(value: Any) -> Any:
    """Plain values as they are, decimals as text, tuples as lists."""
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, dict):
        return {key: _exact(v) for key, v in value.items()}
    return [_exact(v) for v in value] if isinstance(value, list | tuple) else value


def _or_null(value: Decimal | None) -> str | None:
    return None if value is None else str(value)
