"""Prices: supplier lists and a day in, the unit cost of a material and its source out; one lookup that names what is missing."""

from costing.prices.lists import Break, SupplierList, SupplierRow, UnitCost
from costing.prices.lookup import unit_costs

__all__ = ["Break", "SupplierList", "SupplierRow", "UnitCost", "unit_costs"]
