"""The demo's checks. They work from what is on disk and from published constructions, not from the figures that they check."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

from django.conf import settings

from costing import cloth, rules, sail
from loft.jobs.models import Job
from loft.jobs.states import State
from loft.orders import paper
from loft.orders.demo import rise_checks, scenario, suit
from loft.orders.models import Order, Quote
from loft.workshop.models import Ticket
from loft.workshop.states import TicketState

_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Check:
    """One check: what was looked at, and everything that was wrong."""

    what: str
    wrong: tuple[str, ...]


def run(demo: scenario.Demo) -> tuple[Check, ...]:
    """Every check, in the order of the job."""
    checks = {
        "totals added again from batch.json, line by line": _totals(demo),
        "every part placed once, inside the usable width, without overlap": _lays(demo),
        "every size of every outline, measured again, inside its limits": _sizes(demo),
        "quotes and orders numbered without a gap": _numbers(),
        "one order, 12 tickets, all released": _tickets(demo),
        "each letter sent once": _letters(demo),
        "the PDF that was sent is the one that is stored": _pdf(demo),
        "what the dearer list costs the open quote, from its cost lines and the list as it came": rise_checks.exposed(demo.rise),
        "the discontinued colour refused, then replaced on the draft": rise_checks.replaced(demo.rise),
        "a suit of mainsail and headsail: sums from its file, each size inside the limits of its own kind": suit.check(demo.suit, demo.out),
    }
    return tuple(Check(what, tuple(wrong)) for what, wrong in checks.items())


def _totals(demo: scenario.Demo) -> Iterator[str]:
    """Quantity x price - discount by hand, tax once a rate, rounded half up; cost lines likewise."""
    plain = json.loads((demo.out / "batch.json").read_text(encoding="utf-8"))
    said = plain["totals"]
    net = sum((_line(item) for one in plain["sails"] for item in one["price"]), Decimal(0))
    yield from _differs("net", net, said["net"])
    tax = Decimal(0)
    for rate in said["taxes"]:
        items = (item for one in plain["sails"] for item in one["price"] if item["tax"] == rate["code"])
        taxable = sum((_line(item) for item in items), Decimal(0))
        yield from _differs(f"taxable at {rate['code']}", taxable, rate["taxable"])
        tax += (taxable * Decimal(rate["fraction"])).quantize(_CENT, ROUND_HALF_UP)
    yield from _differs("tax", tax, said["tax"])
    yield from _differs("gross", net + tax, said["gross"])
    yield from _differs("the order's gross", Decimal(demo.order.gross_minor) / 100, said["gross"])
    for one in plain["sails"]:
        own = sum((Decimal(c["amount"]) for c in one["cost_lines"] if c["group"] != "pass-through"), Decimal(0))
        yield from _differs(f"cost of {one['label']}", own, one["cost"])


def _line(item: dict[str, Any]) -> Decimal:
    return Decimal(item["unit_price"]) * int(item["quantity"]) - Decimal(item["discount"])


def _differs(what: str, added: Decimal, said: str) -> Iterator[str]:
    if added != Decimal(said):
        yield f"{what}: {added} by adding up, {said} in the batch"


def _lays(demo: scenario.Demo) -> Iterator[str]:
    house = scenario.house(demo)
    for design in paper.offer(demo.revision).designs.values():
        laid = {p.part_id for lay in design.lays for p in lay.placements}
        yield from (f"design {design.key[:8]}: {part.id} is in no lay" for part in design.parts if part.id not in laid)
        for lay in design.lays:
            parts = {"": tuple(p for p in design.parts if p.material == lay.material)}
            roll = house.cloths[lay.material]
            yield from (f"design {design.key[:8]}: {p.path} {p.message}" for p in cloth.audit_lay(lay, parts, roll, design.table))


def _sizes(demo: scenario.Demo) -> Iterator[str]:
    house = scenario.house(demo)
    rule = house.class_rule.sail(house.pattern.sail_kind)
    for design in paper.offer(demo.revision).designs.values():
        # To a nanometre: what floats cannot say of a length is not a breach.
        measured = {name: Decimal(f"{mm:.6f}") for name, mm in sail.measure(design.outline).items()}
        compared = {limit.measurement for limit in rule.limits} & set(measured)
        if len(compared) < 5:
            yield f"design {design.key[:8]}: only {len(compared)} sizes could be compared with a limit"
        found = rules.breaches(rule, measured)
        yield from (f"design {design.key[:8]}: {b.measurement} {b.value}, {b.side} {b.limit} ({b.rule})" for b in found)


def _numbers() -> Iterator[str]:
    series: dict[str, list[int]] = {
        "quotes": sorted(q.number for q in Quote.objects.all() if q.number is not None),
        "orders": sorted(o.number for o in Order.objects.all()),
    }
    for what, numbers in series.items():
        if not numbers or numbers != list(range(1, len(numbers) + 1)):
            yield f"{what} are numbered {numbers}"


def _tickets(demo: scenario.Demo) -> Iterator[str]:
    if Order.objects.count() != 1:
        yield f"there are {Order.objects.count()} orders after accepting twice"
    tickets = list(Ticket.objects.filter(line__order=demo.order))
    if len(tickets) != 12:
        yield f"the order has {len(tickets)} tickets"
    yield from (f"{t.number} is {t.state}" for t in tickets if t.state not in (TicketState.RELEASED, TicketState.IN_WORK))
    yield from (f"{t.number} has no sail number" for t in tickets if t.sail_number is None)


def _letters(demo: scenario.Demo) -> Iterator[str]:
    done = Job.objects.filter(lane=Job.Lane.MAIL)
    yield from (f"{job.key} is {job.state}: {job.last_error}" for job in done if job.state != State.DONE)
    expected = 4  # the quote, the acceptance, the receipt for the deposit, the quote that is out when prices rise
    if done.count() != expected or len(set(demo.letters)) != expected:
        yield f"{done.count()} letters were queued and {len(set(demo.letters))} written, {expected} were expected"
    begun = demo.now.timestamp()
    files = [p.name for p in (Path(settings.LOFT_VAR) / "mail").glob("*.eml") if p.stat().st_mtime >= begun - 1]
    if sorted(files) != sorted(demo.letters):
        yield f"the mail folder has {len(files)} new letters, {len(demo.letters)} were expected"


def _pdf(demo: scenario.Demo) -> Iterator[str]:
    content = (demo.out / "quote.pdf").read_bytes()
    if hashlib.sha256(content).hexdigest() != demo.revision.pdf_sha256:
        yield "quote.pdf is not the PDF that was issued"
    for path in demo.written:
        if path.suffix == ".pdf" and not path.read_bytes().startswith(b"%PDF-"):
            yield f"{path.name} is no PDF"
