"""The demo's second customer: a private buyer's suit, a mainsail and a headsail for one boat on one draft."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

from django.contrib.auth.models import User

from costing import quote, rules, sail
from costing.measurements import SailKind
from loft.catalogue import selectors as catalogue
from loft.common import selectors as common
from loft.customers.models import Customer
from loft.orders import paper, services
from loft.orders.models import Revision

CUSTOMER = "Sorrel Dace"
_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Suit:
    """The draft, with its files by name."""

    revision: Revision
    files: Mapping[str, bytes]


def draft(boats: bytes, *, pattern: str, on: date, now: datetime, by: User) -> Suit:
    """Draft the suit and make its papers."""
    customer = Customer(kind=Customer.Kind.PERSON, name=CUSTOMER, email="sorrel@skerling.example", buyer=Customer.Buyer.PRIVATE)
    revision = services.draft_batch(customer=customer, pattern=pattern, boats=boats, on=on, now=now, by=by)
    figures = paper.offer(revision)
    files = {
        "suit-quote-draft.pdf": paper.quote_pdf(revision, common.loft_profile()),
        "suit-batch.json": quote.batch_as_json(figures.batch, figures.designs),
    }
    return Suit(revision, files)


def check(suit: Suit, folder: Path) -> Iterator[str]:
    """What is wrong: each kind of sail once, the sums from the file alone, and every size inside the limits of its own kind."""
    plain = json.loads((folder / "suit-batch.json").read_text(encoding="utf-8"))
    kinds = {p["code"]: p["kind"] for p in plain["batch"]["patterns"]}
    if sorted(kinds[one["pattern"]] for one in plain["sails"]) != ["headsail", "mainsail"]:
        yield f"the suit has {[one['label'] for one in plain['sails']]}"
    if len({(one["boat"], one["owner"], one["sail_number"]) for one in plain["sails"]}) != 1:
        yield "the suit's sails are not for one boat"
    yield from _sums(plain)
    yield from _sizes(suit, kinds, plain)


def _sums(plain: dict[str, Any]) -> Iterator[str]:
    said = plain["totals"]
    items = [item for one in plain["sails"] for item in one["price"]]
    net = sum((Decimal(i["unit_price"]) * i["quantity"] - Decimal(i["discount"]) for i in items), Decimal(0))
    fractions = {t["code"]: Decimal(t["fraction"]) for t in said["taxes"]}
    nets = {code: sum((Decimal(i["net"]) for i in items if i["tax"] == code), Decimal(0)) for code in fractions}
    gross = net + sum((nets[code] * fractions[code]).quantize(_CENT, ROUND_HALF_UP) for code in fractions)
    for what, added in (("net", net), ("gross", gross), ("deposit", (gross / 2).quantize(_CENT, ROUND_HALF_UP))):
        if added != Decimal(said[what]):
            yield f"the suit's {what}: {added} by adding up, {said[what]} in the batch"


def _sizes(suit: Suit, kinds: Mapping[str, str], plain: dict[str, Any]) -> Iterator[str]:
    batch = plain["batch"]
    rule = catalogue.class_rule(code=batch["class"]["code"], edition=batch["class"]["edition"])
    designs = paper.offer(suit.revision).designs
    for one in plain["sails"]:
        own = rule.sail(SailKind(kinds[one["pattern"]]))
        # To a nanometre: what floats cannot say of a length is not a breach.
        measured = {name: Decimal(f"{mm:.6f}") for name, mm in sail.measure(designs[one["design"]].outline).items()}
        if len({limit.measurement for limit in own.limits} & set(measured)) < 5:
            yield f"{one['label']}: fewer than 5 sizes could be compared with a limit"
        yield from (f"{one['label']}: {rules.breach_in_words(b)}" for b in rules.breaches(own, measured))
