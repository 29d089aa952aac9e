"""What the API gives of a priced batch: its sails with price and cost lines, its totals, what is said of it."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from costing.quote import PricedBatch, PricedSail
from loft.workshop.api import NOT_LEGAL


class PriceItemOut(serializers.Serializer[Any]):
    label = serializers.CharField()  # type: ignore[assignment]  # a field of that name
    quantity = serializers.IntegerField()
    unit_price = serializers.CharField()
    shown_unit_price = serializers.CharField()
    discount = serializers.CharField()
    net = serializers.CharField()
    tax = serializers.CharField()
    pass_through = serializers.BooleanField()


class CostLineOut(serializers.Serializer[Any]):
    group = serializers.CharField()
    code = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]  # a field of that name
    quantity = serializers.CharField()
    unit = serializers.CharField()
    unit_cost = serializers.CharField()
    amount = serializers.CharField()
    how = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name


class SailOut(serializers.Serializer[PricedSail]):
    label = serializers.CharField()  # type: ignore[assignment]  # a field of that name
    boat = serializers.CharField()
    owner = serializers.CharField()
    sail_number = serializers.CharField(allow_null=True)
    pattern_code = serializers.CharField(help_text="Empty in quotes of the time when all sails of a batch were of one pattern.")
    design_key = serializers.CharField()
    cloth_label = serializers.CharField()
    colour = serializers.CharField()
    chosen = serializers.ListField(child=serializers.CharField())
    not_chosen = serializers.ListField(child=serializers.CharField())
    required = serializers.ListField(  # type: ignore[assignment]  # a field of that name
        child=serializers.ListField(child=serializers.CharField()), help_text="Options that the class requires: label, rule."
    )
    given = serializers.ListField(child=serializers.CharField(), help_text="Each size that the customer gave, and what it decides.")
    assumed = serializers.ListField(child=serializers.CharField(), help_text="What this sail's figures rest on and nobody gave.")
    net = serializers.CharField()
    cost = serializers.CharField()
    margin = serializers.CharField(allow_null=True, help_text="A fraction; null for a sail that is given away.")
    items = PriceItemOut(many=True)
    cost_lines = CostLineOut(many=True)
    certified_on = serializers.DateField(allow_null=True, help_text="When the sail is expected to be certified.")
    not_legal = serializers.ListField(child=serializers.CharField(), help_text=NOT_LEGAL)
    edition_notes = serializers.ListField(
        child=serializers.CharField(), help_text="What the class edition of that day says of the design, where that is another."
    )


class TaxOut(serializers.Serializer[Any]):
    code = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]  # a field of that name
    fraction = serializers.CharField()
    taxable = serializers.CharField()
    tax = serializers.CharField()


class TotalsOut(serializers.Serializer[Any]):
    net = serializers.CharField()
    taxes = TaxOut(many=True)
    tax = serializers.CharField()
    gross = serializers.CharField()
    deposit = serializers.CharField()


class BatchOut(serializers.Serializer[PricedBatch]):
    """The last revision's figures, as they were frozen; the contract's, where that is a change that came to nothing."""

    priced_on = serializers.DateField()
    class_name = serializers.CharField()
    edition = serializers.CharField()
    pattern_name = serializers.CharField()
    pattern_version = serializers.IntegerField()
    discount = serializers.CharField()
    discount_reason = serializers.CharField()
    joins = serializers.CharField(help_text="The order whose batch the sails join; empty for a quote of its own.")
    joined = serializers.IntegerField(help_text="The sails of that batch, which the tiers count too.")
    minimum_sails = serializers.IntegerField(help_text="How many sails the terms ask for; 0 in quotes of the time when it was not kept.")
    price_basis = serializers.CharField(help_text="The list that the prices stand on; empty where they are costed.")
    lead_time = serializers.CharField()
    sails = SailOut(many=True)
    totals = TotalsOut()
    cost = serializers.CharField()
    margin = serializers.CharField(allow_null=True)
    margin_target = serializers.CharField()
    margin_warning = serializers.CharField()
    margin_floor = serializers.CharField()
    warnings = serializers.ListField(child=serializers.CharField())
    doubts = serializers.ListField(child=serializers.CharField(), help_text="Sizes that are hard to believe; see /doubts/.")
