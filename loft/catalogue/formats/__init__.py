"""The files that a loft writes: one documented TOML format each for a class, a pattern, a supplier list, its own prices and the house.

In: the text of a file. Out: the calculation's own dataclasses; or one InputError that carries every problem with its path.
Annotated examples stand in fixtures/.
"""

from loft.catalogue.formats.class_rule import read_class
from loft.catalogue.formats.house import HouseFile, Profile, read_house
from loft.catalogue.formats.luff_curves import read_luff_curve
from loft.catalogue.formats.pattern import makes_nothing, read_pattern
from loft.catalogue.formats.prices import PriceFile, read_prices
from loft.catalogue.formats.retail import read_retail

__all__ = [
    "HouseFile", "PriceFile", "Profile", "makes_nothing", "read_class", "read_house", "read_luff_curve", "read_pattern", "read_prices",
    "read_retail",
]  # fmt: skip
