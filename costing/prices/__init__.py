"""Prices: supplier lists and a day in, the unit cost of a material and its source out; one lookup that names what is missing."""

from costing.prices.lists import Break, Gone, SupplierList, SupplierRow, UnitCost
from costing.prices.lookup import unit_costs

__all__ = ["Break", "Gone", "SupplierList", "SupplierRow", "UnitCost", "unit_costs"]
