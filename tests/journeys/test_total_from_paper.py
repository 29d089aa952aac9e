"""The quote's total, worked out again with a pencil from the text of the PDF that the customer holds, and from nothing else."""

from __future__ import annotations

import io
import re
from decimal import ROUND_HALF_UP, Decimal

import pypdf
import pytest
from django.contrib.auth.models import User

from loft.orders.models import Revision
from tests import desk, skerling

_AMOUNT = r"\d{1,3}(?:,\d{3})*\.\d\d"


def _text(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def _money(text: str) -> Decimal:
    return Decimal(text.replace(",", ""))


def _one(pattern: str, text: str) -> tuple[str, ...]:
    (found,) = re.findall(pattern, text)
    return found if isinstance(found, tuple) else (found,)


@pytest.mark.parametrize("list_of_boats", ["the association's twelve", "two boats"])
def test_the_total_of_a_trade_quote_from_its_paper_alone(loft: None, manager: User, list_of_boats: str) -> None:
    twelve = list_of_boats == "the association's twelve"
    boats = (skerling.FIXTURES / "skerling_batch_2026.csv").read_bytes() if twelve else desk.TWO_BOATS
    row = Revision.objects.get(pk=desk.issued(manager, boats).pk)
    text = _text(bytes(row.pdf or b""))

    # quantity, unit price, discount, net: each line by itself, then all of them
    lines = re.findall(rf"\n(\d+)\n\s*({_AMOUNT})\n\s*({_AMOUNT})\n\s*({_AMOUNT})\b", text)
    assert len(lines) == row.sails + 2  # and the label and the measuring fee that are charged on
    for quantity, unit, discount, net in lines:
        assert int(quantity) * _money(unit) - _money(discount) == _money(net)
    assert sum(int(quantity) for quantity, *_ in lines) == row.sails * 3
    added = sum((_money(net) for *_, net in lines), Decimal(0))

    # EN 16931: net total, tax once a rate on the sum of nets (BR-S-8, BR-CO-14), total with tax (BR-CO-15), rounded half up to the cent
    (net,) = _one(rf"Net total\n\s*({_AMOUNT})", text)
    rate, taxable, tax = _one(rf"VAT (\d+) % on\s*({_AMOUNT})\n\s*({_AMOUNT})", text)
    (gross,) = _one(rf"Total in GBP\n\s*({_AMOUNT})", text)
    share, deposit = _one(rf"Deposit (\d+) % of the total, due\s+on acceptance\n\s*({_AMOUNT})", text)
    cent = Decimal("0.01")
    assert _money(net) == _money(taxable) == added
    assert _money(tax) == (added * int(rate) / 100).quantize(cent, ROUND_HALF_UP)
    assert _money(gross) == _money(net) + _money(tax)
    assert _money(deposit) == (_money(gross) * int(share) / 100).quantize(cent, ROUND_HALF_UP)
    assert (row.net_minor, row.gross_minor) == (int(_money(net) * 100), int(_money(gross) * 100))
