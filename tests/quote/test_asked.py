"""Sizes asked for in a list: made as asked where class and spars allow it, and told where they do not or use what the loft keeps back."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.quote import BatchRequest, BatchResult, House, SailRequest, price_batch
from tests import skerling, spinnakers

D = Decimal


def _priced(own: House, **sizes: str) -> BatchResult:
    own = replace(own, terms=replace(own.terms, minimum_sails=0))
    sail = SailRequest("row 2", "Heron", "Maud Pellow", "214", sizes={name: D(mm) for name, mm in sizes.items()})
    return price_batch(BatchRequest("Association", "trade", (sail,)), own, on=skerling.PRICED_ON)


@pytest.mark.parametrize(
    ("label", "sizes", "name", "made", "told"),
    [
        (
            "into the margin",
            {"leech_length": "5565"},
            "leech_length",
            "5565",
            "leech length 5,565 mm is made as asked: 5 mm from the maximum of 5,570 mm (C.6.3 (b)), from which the loft keeps 10 mm",
        ),
        (
            "over the pattern's own and into the margin",
            {"top_width": "138"},
            "top_width",
            "138",
            "top width 138 mm is made as asked: 6 mm more than the pattern's own 132 mm; "
            "2 mm from the maximum of 140 mm (C.6.3 (i)), from which the loft keeps 5 mm",
        ),
        (
            "over the pattern's foot round",
            {"foot_round": "58"},
            "foot_round",
            "58",
            "foot round 58 mm is made as asked: 3 mm more than the pattern's own 55 mm; "
            "2 mm from the maximum of 60 mm (C.6.3 (d)), from which the loft keeps 5 mm",
        ),
        (
            "what the mast leaves",
            {"luff_length": "5190", "mast_band_distance": "5200"},
            "luff_length",
            "5160",
            "luff length 5,190 mm was asked for; it is made 5,160 mm: "
            "mast band distance (P) of 5,200 mm less 40 mm that the relaxed edge stays short of it",
        ),
        ("less than the loft would make", {"half_width": "1440"}, "half_width", "1440", None),
    ],
)
def test_a_size_that_is_asked_for(label: str, sizes: dict[str, str], name: str, made: str, told: str | None) -> None:
    result = _priced(skerling.house(), **sizes)
    (design,) = result.designs.values()
    assert {t.measurement: t.value for t in design.targets}[name] == D(made), label
    assert result.batch.warnings == ((f"row 2, Heron 214: {told}",) if told else ()), label


def test_a_spinnaker_wider_than_its_pattern() -> None:
    """Where the class bounds no such width the pattern's own is no limit either: the sail is drawn and measures as asked."""
    result = _priced(spinnakers.asymmetric(), three_quarter_width="1520")
    (design,) = result.designs.values()
    assert dict(design.sizes)["three_quarter_width"] == D("1520.0")
    (told,) = result.batch.warnings
    assert told == "row 2, Heron 214: three-quarter width 1,520 mm is made as asked: 20 mm more than the pattern's own 1,500 mm"


def test_up_to_the_limit_itself() -> None:
    (design,) = _priced(skerling.house(), leech_length="5570").designs.values()
    assert [room.room for room in design.headroom if room.limit.measurement == "leech_length"] == [0]
