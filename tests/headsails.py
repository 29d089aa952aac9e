"""The Skerling 13 jib in every cut, and the storm jib of the example class, from fixtures/, without a database."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from costing import quote
from costing.cloth import Seam
from costing.quote import BatchRequest, BatchResult, House, Pattern, SailRequest
from loft.catalogue import formats
from loft.customers import boats_csv
from tests import skerling

#: Seams of the same jib in the other cuts, as `propose_seams` and `propose_foot_seams` give them.
_VERTICAL = (Seam(839.0, 6.0, 0.45),)
_MITRE = (Seam(1031.0), Seam(2364.0, 5.0, 0.4))
_MITRE_FOOT = (Seam(835.0),)


def pattern(cut: str = "cross-cut") -> Pattern:
    """The jib's pattern, made in this cut."""
    made = formats.read_pattern(skerling.text("sk13_jib_v1.toml"))
    if cut == "vertical":
        make = replace(made.make, cut=cut, seams=_VERTICAL)
        return replace(made, make=make, cloths=("WP175",), name="Skerling 13 headsail, vertical")
    if cut == "mitre":
        make = replace(made.make, cut=cut, seams=_MITRE, foot_seams=_MITRE_FOOT, mitre_broadseam_mm=6.0, windows=())
        return replace(made, make=make, name="Skerling 13 headsail, mitre")
    return made


@cache
def house(cut: str = "cross-cut") -> House:
    """The loft that makes jibs in this cut."""
    return replace(skerling.house(), pattern=pattern(cut))


def priced_boats(own: House, boats: bytes) -> BatchResult:
    """These boats' sails, priced."""
    sails = boats_csv.read_boats(boats, pattern=own.pattern)
    request = BatchRequest(customer=skerling.CUSTOMER, buyer="trade", sails=sails, terms=skerling.TERMS)
    return quote.price_batch(request, own, on=skerling.PRICED_ON)


@cache
def priced(cut: str = "cross-cut") -> BatchResult:
    """Four jibs: two as the pattern is, one variant, one whose number follows."""
    boats = (skerling.FIXTURES / "skerling_jibs_2026.csv").read_bytes()
    if cut != "cross-cut":
        boats = boats.replace(b"light grey", b"").replace(b"window; ", b"").replace(b",window,", b",,")
    return priced_boats(house(cut), boats)


@cache
def trysails() -> BatchResult:
    """One trysail of the example class."""
    made = formats.read_pattern(skerling.text("fm28_trysail_v1.toml"))
    own = replace(storm_house(), pattern=made, pass_through=())
    return quote.price_batch(
        BatchRequest("Bittern", "private", (SailRequest("row 2", "Bittern", "Maud Pellow", "41"),)), own, on=skerling.PRICED_ON
    )


@cache
def storm_house() -> House:
    """The loft that makes the example class's storm jib."""
    return replace(
        skerling.house(),
        pattern=formats.read_pattern(skerling.text("fm28_storm_jib_v1.toml")),
        class_rule=formats.read_class(skerling.text("fellmere_28_2026.toml")),
    )


@cache
def storm_jibs() -> BatchResult:
    """Two storm jibs of the example class, each held to its boat's own rig."""
    return priced_boats(storm_house(), (skerling.FIXTURES / "fellmere_28_storm_jibs_2026.csv").read_bytes())
