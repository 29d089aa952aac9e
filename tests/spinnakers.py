"""The invented loft with its spinnaker, and the same class with an asymmetric one; from fixtures/, without a database."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from costing.quote import BatchRequest, BatchResult, House, SailRequest, price_batch
from loft.catalogue import formats
from tests import skerling

PATTERN_FILE = "sk13_spinnaker_v1.toml"
CLEW_ROW = """[[make.gores]]
corner = "clew"
count = 4
foot = "750 mm"
broadseam = "5 mm"
"""
TACK_ROW = """
[[make.gores]]
corner = "tack"
count = 5
foot = "950 mm"
broadseam = "5 mm"
"""


@cache
def symmetric() -> House:
    return replace(skerling.house(), pattern=formats.read_pattern(skerling.text(PATTERN_FILE)))


def asymmetric_pattern_text() -> str:
    """The spinnaker's pattern, but for the kind, the sizes that the class leaves open and a row of gores for the tack."""
    text = skerling.text(PATTERN_FILE).replace('"symmetric_spinnaker"', '"asymmetric_spinnaker"').replace("SK13-SPI", "SK13-ASY")
    text = text.replace("[sizes]\n", '[sizes]\nluff_length = "4700 mm"\nthree_quarter_width = "1500 mm"\n')
    return text.replace(CLEW_ROW, CLEW_ROW + TACK_ROW)


@cache
def radial_head() -> BatchResult:
    """The pattern as it is, with gores at the head alone."""
    text = skerling.text(PATTERN_FILE)
    own = replace(skerling.house(), pattern=formats.read_pattern(text.replace('"tri-radial"', '"radial-head"').replace(CLEW_ROW, "")))
    return price_batch(request(SailRequest("row 2", "Heron", "Maud Pellow", "214")), own, on=skerling.PRICED_ON)


@cache
def asymmetric() -> House:
    """The class as if its spinnaker were asymmetric; nothing else is changed."""
    rules = formats.read_class(skerling.text("skerling_13_2025.toml").replace('"symmetric_spinnaker"', '"asymmetric_spinnaker"'))
    return replace(skerling.house(), class_rule=rules, pattern=formats.read_pattern(asymmetric_pattern_text()))


def request(*sails: SailRequest) -> BatchRequest:
    return BatchRequest("C", "trade", sails, skerling.TERMS)


@cache
def priced(house: str = "symmetric") -> BatchResult:
    """Two boats: the pattern as it is, and one with a shorter leech and a note."""
    boats = (SailRequest("row 2", "Heron", "Maud Pellow", "214", colour="red"), SailRequest("row 3", "Linnet", "Morwenna Fell", None))
    return price_batch(request(*boats), symmetric() if house == "symmetric" else asymmetric(), on=skerling.PRICED_ON)
