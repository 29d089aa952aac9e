"""An asymmetric spinnaker from its pattern file to the floor: list, quote, acceptance, ticket, finished measurements."""

from __future__ import annotations

import math
from decimal import Decimal
from itertools import pairwise

import pytest
from django.contrib.auth.models import User

from costing.quote import PricedSail
from costing.sail.shape import Line
from loft.catalogue import services as catalogue
from loft.common import selectors as common
from loft.documents import finisher_sheet_pdf, sewer_sheet_pdf
from loft.orders import paper, services
from loft.orders.models import Order
from loft.workshop import finished, selectors
from loft.workshop import paper as floor_paper
from loft.workshop.models import Ticket
from tests import desk, skerling
from tests.documents import reading


@pytest.fixture
def order(manager: User) -> Order:
    desk.load_catalogue()
    catalogue.load_class(text=skerling.text("fellmere_28_2026.toml"))
    catalogue.load_pattern(text=skerling.text("fm28_asymmetric_v1.toml"))
    boats = skerling.text("fellmere_28_asymmetrics_2026.csv").encode()
    draft = services.draft_batch(
        customer=desk.association(), pattern="FM28-ASY", boats=boats, terms="", on=desk.TODAY, now=desk.NOW, by=manager
    )
    issued = services.issue(revision=draft, by=manager, now=desk.NOW)
    return services.accept(token=desk.token_of(issued), name="Hester Lorne", now=desk.NOW)


def length(edge: Line) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(edge))


def line(sail: PricedSail, code: str) -> tuple[Decimal, str]:
    """Quantity of a cost line and how it was found; of the only line of this code."""
    (found,) = [c for c in sail.cost_lines if c.code == code]
    return found.quantity, found.how


def test_from_the_list_to_quote_ticket_and_measuring(order: Order) -> None:
    figures = paper.offer(order.revision)
    first, second = figures.batch.sails
    design, shorter = figures.designs[first.design_key], figures.designs[second.design_key]

    # sizes: the class's maxima less 15 mm, and one boat's own leech
    assert [(t.measurement, str(t.value), t.decided_by, t.rule) for t in design.targets][:4] == [
        ("luff_length", "9935", "limit", "D.6 (b)"), ("leech_length", "8785", "limit", "D.6 (c)"),
        ("foot_length", "5285", "limit", "D.6 (d)"), ("half_width", "4900", "pattern", ""),
    ]  # fmt: skip
    assert [str(t.value) for t in shorter.targets if t.decided_by == "boat"] == ["8700"]
    # what the class computes: 4.9 / 5.285, and (9.935 + 8.785) / 2 x (5.285 + 4 x 4.9) / 6 = 38.8206 m2
    computed = {r.limit.rule: r.value for r in design.headroom if r.limit.formula}
    assert (computed["D.6 (e)"].quantize(Decimal("0.0001")), computed["D.6 (f)"]) == (Decimal("0.9272"), Decimal("38.8206"))

    # the tack has gores of its own: 6 + 6 + 5 and a centre of four
    assert len(design.panels) == 21
    assert {p.mark[0] for p in design.panels} == {"H", "T", "C", "P"}
    # edge tape: round luff, leech and foot as they are drawn, times 1.03
    tape, how = line(first, "EDGE-TAPE-30")
    edges = sum(round(length(getattr(design.outline, edge)) / 1000, 3) for edge in ("luff", "leech", "foot"))
    assert tape == (Decimal(repr(round(edges, 3))) * Decimal("1.03")).quantize(Decimal("0.001")) and "1.03" in how
    metres = [Decimal(repr(round(lay.length_mm / 1000, 3))) for lay in design.lays]
    assert len(metres) == 2 and line(first, "NR41")[0] == sum(metres)  # each colour a lay
    assert all(c.source and c.how for c in first.cost_lines)
    assert first.net > second.net > 0  # the second in one colour has one lay

    tickets = Ticket.objects.order_by("number")
    assert [(t.sail_label, t.state, t.edition) for t in tickets] == [("Corncrake 1208", "held", "2026"), ("Bittern 1311", "held", "2026")]
    sheet = floor_paper.ticket_document(selectors.ticket(tickets[0].pk), common.loft_profile(), now=desk.NOW)
    sewer, finisher = reading.text(sewer_sheet_pdf(sheet)), reading.text(finisher_sheet_pdf(sheet))
    assert "Fellmere 28 asymmetric spinnaker" in sewer and "T6" in sewer
    assert "This sail wears no sail number." in finisher
    assert "D.6 (e) half width over foot (ratio) min 0.85 0.9271" in finisher and "computed" in finisher

    # what is measured: the three edges and the width that the computed ones need; nobody measures a ratio
    rows = finished.of_ticket(tickets[0], now=desk.NOW).rows
    typed = [row.name for row in rows if row.typed]
    assert typed == ["luff_length", "leech_length", "foot_length", "half_width", "cloth_weight"]
