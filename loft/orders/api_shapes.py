"""What the desk's API takes and gives."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from costing import money
from loft.common import policies
from loft.customers import boats_csv
from loft.customers.api import CustomerIn, CustomerOut
from loft.orders import paper, selectors
from loft.orders.batch_shapes import BatchOut
from loft.orders.models import Order, OrderLine, Payment, Quote, Revision
from loft.workshop.api import NOT_LEGAL, MissingOut


def as_amount(minor: int, currency: str) -> str:
    """Minor units as the decimal text of the API."""
    return str(Decimal(minor).scaleb(-money.currency(currency).digits))


#: A quote is asked for with one of each pair.
_EITHER = (("customer", "new_customer"), ("boats", "csv"))


class Row(serializers.DictField):
    """A row of a list of boats; the name of a column is text that can be stored and told again, as a cell is."""

    def to_internal_value(self, data: Any) -> Any:
        """The checked cells; a name with a half of a character pair, which no encoding writes, is refused without repeating it."""
        if isinstance(data, Mapping) and any(not _can_be_written(str(name)) for name in data):
            raise serializers.ValidationError("the name of a column has a character that cannot be written")
        return super().to_internal_value(data)


def _can_be_written(text: str) -> bool:
    return "\0" not in text and not any("\ud800" <= c <= "\udfff" for c in text)


class QuoteIn(serializers.Serializer[Any]):
    """A whole batch in one request: the customer by id or by fields, the boats as rows or as CSV text."""

    customer = serializers.IntegerField(min_value=1, max_value=2**62, required=False, help_text="The id of a customer.")
    new_customer = CustomerIn(
        required=False, error_messages={"invalid": "give the customer as an object with his kind, name, email and address"}
    )
    pattern = serializers.CharField(max_length=40)
    terms = serializers.CharField(max_length=40, required=False, default="", allow_blank=True)
    at_list = serializers.BooleanField(required=False, default=False, help_text="Sold at the loft's list price, not costed.")
    joins = serializers.IntegerField(
        min_value=1, max_value=2**62, required=False, allow_null=True, default=None,
        help_text="The id of an order whose batch these boats join, on its terms and at the tier that they reach together.",
    )  # fmt: skip
    boats = serializers.ListField(
        child=Row(
            child=serializers.CharField(allow_blank=True, max_length=200),
            error_messages={"not_a_dict": "a row is an object with the columns of the CSV as names"},
        ),
        required=False,
        allow_empty=False,
        max_length=boats_csv.MOST_BOATS,
        error_messages={"not_a_list": "give the rows as a list; send CSV text as csv"},
        help_text="One object a sail, with the columns of the CSV as names.",
    )
    csv = serializers.CharField(max_length=boats_csv.MOST_BYTES, required=False, trim_whitespace=False)
    priced_on = serializers.DateField(required=False, help_text="The day whose rules and lists count; today when left out.")

    def to_internal_value(self, data: Any) -> Any:
        """The checked fields; what is missing between two fields is told together with what is wrong inside them."""
        wrong: dict[str, Any] = {}
        attrs: Any = None
        try:
            attrs = super().to_internal_value(data)
        except serializers.ValidationError as error:
            wrong = dict(error.detail)  # type: ignore[arg-type]  # a serializer's own is by field
        if isinstance(data, Mapping):
            wrong |= {one: [f"give either {one} or {other}"] for one, other in _EITHER if self._has(one, data) == self._has(other, data)}
        if wrong:
            raise serializers.ValidationError(wrong)
        return attrs

    def _has(self, name: str, data: Mapping[str, Any]) -> bool:
        return self.fields[name].get_value(data) is not serializers.empty


class RevisionIn(serializers.Serializer[Any]):
    """A new revision: what is left out is taken from the last one, at today's prices."""

    pattern = serializers.CharField(max_length=40, required=False, default="", allow_blank=True)
    terms = serializers.CharField(max_length=40, required=False, allow_blank=True)
    at_list = serializers.BooleanField(required=False, help_text="Sold at the loft's list price, not costed.")
    csv = serializers.CharField(max_length=boats_csv.MOST_BYTES, required=False, default="", allow_blank=True, trim_whitespace=False)
    priced_on = serializers.DateField(required=False, help_text="The day whose rules and lists count; today when left out.")


class DropOutsIn(serializers.Serializer[Any]):
    """Boats that dropped out before the quote is accepted."""

    lines = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=boats_csv.MOST_BOATS), allow_empty=True, max_length=boats_csv.MOST_BOATS,
        help_text="Lines of the last revision, from 1; a line stands for its boat with all its sails. None: only the number is new.",
    )  # fmt: skip


class SettleIn(serializers.Serializer[Any]):
    name = serializers.CharField(max_length=120, help_text="Who has looked at the doubts and stands by the sizes.")


class IssueIn(serializers.Serializer[Any]):
    reason = serializers.CharField(
        max_length=500, required=False, default="", allow_blank=True,
        help_text="Needed when the quote is below the margin floor or has a NON-CLASS sail: then it is the owner's written yes.",
    )  # fmt: skip


class PaymentIn(serializers.Serializer[Any]):
    amount = serializers.DecimalField(12, 3, min_value=Decimal("0.001"))
    received_on = serializers.DateField()
    reference = serializers.CharField(max_length=120, required=False, default="", allow_blank=True)


class SailNumberIn(serializers.Serializer[Any]):
    number = serializers.CharField(max_length=20)


class ClothIn(serializers.Serializer[Any]):
    roll = serializers.CharField(max_length=60)
    lot = serializers.CharField(max_length=60)
    cloth = serializers.CharField(max_length=60, required=False, default="", allow_blank=True, help_text="Code of the cloth on the roll.")
    colour = serializers.CharField(
        max_length=60, required=False, default="", allow_blank=True,
        help_text="The roll's colour; cloth and colour are needed when the sails that wait are of more than one.",
    )  # fmt: skip


class MemberLinkOut(serializers.Serializer[Any]):
    position = serializers.IntegerField()
    owner = serializers.CharField()
    address = serializers.CharField(help_text="For this owner alone: whoever has it can confirm.")
    confirmed_at = serializers.DateTimeField(allow_null=True)
    confirmed_name = serializers.CharField()


class CancelOrderIn(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300)


class DueIn(serializers.Serializer[Any]):
    due_on = serializers.DateField()


class RevisionOut(serializers.ModelSerializer[Revision]):
    net = serializers.SerializerMethodField()
    gross = serializers.SerializerMethodField()

    class Meta:
        model = Revision
        fields = (
            "revision", "state", "change", "pattern_code", "terms_code", "sails", "currency", "net", "gross", "below_floor", "non_class",
            "reason",
            "drafted_at", "issued_at", "valid_until", "expires_at", "accepted_at", "accepted_name", "declined_at", "expired_at",
            "superseded_at", "replaced_at", "cancelled_at", "pdf_sha256",
        )  # fmt: skip

    def get_net(self, row: Revision) -> str:
        return as_amount(row.net_minor, row.currency)

    def get_gross(self, row: Revision) -> str:
        return as_amount(row.gross_minor, row.currency)


class QuoteOut(serializers.ModelSerializer[Quote]):
    number = serializers.CharField(source="reference", help_text="Empty until the quote is issued.")
    customer = CustomerOut()
    joins = serializers.IntegerField(
        source="joins_id", allow_null=True, help_text="The id of the order whose batch it joins; null for a quote of its own."
    )
    revisions = RevisionOut(many=True, help_text="The last one first.")

    class Meta:
        model = Quote
        fields = ("id", "number", "customer", "joins", "created_at", "revisions")


class QuoteWithBatch(QuoteOut):
    batch = serializers.SerializerMethodField()

    class Meta(QuoteOut.Meta):
        fields = (*QuoteOut.Meta.fields, "batch")  # type: ignore[assignment]

    @extend_schema_field(BatchOut)
    def get_batch(self, row: Quote) -> Mapping[str, Any]:
        return BatchOut(paper.thaw(selectors.revision_to_open(row.pk))).data


class LineOut(serializers.ModelSerializer[OrderLine]):
    ticket_id = serializers.IntegerField()
    ticket = serializers.CharField(source="ticket.number")
    state = serializers.SerializerMethodField(help_text="That of its ticket, until the sail has left: then delivered.")
    not_legal = serializers.ListField(child=serializers.CharField(), source="ticket.not_legal", help_text=NOT_LEGAL)

    class Meta:
        model = OrderLine
        fields = ("position", "label", "boat", "owner", "ticket_id", "ticket", "state", "delivered_at", "not_legal")

    def get_state(self, row: OrderLine) -> str:
        return "delivered" if row.delivered_at else row.ticket.state


class MoneyOut(serializers.Serializer[Any]):
    currency = serializers.CharField()
    gross = serializers.CharField()
    deposit = serializers.CharField()
    paid = serializers.CharField(help_text="What was received, less what was paid back.")
    open = serializers.CharField(help_text="Still to pay; below zero: owed back to the customer.")


class OrderOut(serializers.ModelSerializer[Order]):
    """An order; its money is null for somebody who may not see prices."""

    number = serializers.CharField(source="reference")
    quote = serializers.IntegerField(source="revision.quote_id")
    joins = serializers.IntegerField(
        source="revision.quote.joins_id", allow_null=True, help_text="The id of the order whose batch it joined; null for one of its own."
    )
    customer = serializers.CharField(source="customer.name")
    progress = serializers.SerializerMethodField()
    money = serializers.SerializerMethodField()
    lines = LineOut(many=True)

    class Meta:
        model = Order
        fields = (
            "id", "number", "quote", "joins", "customer", "state", "progress", "due_on", "opened_at", "delivered_at",
            "cancelled_at", "cancel_reason", "money", "lines",
        )  # fmt: skip

    def get_progress(self, row: Order) -> str:
        return selectors.progress(line.ticket.state for line in row.lines.all())

    @extend_schema_field(MoneyOut(allow_null=True))
    def get_money(self, row: Order) -> Mapping[str, str] | None:
        if not policies.allowed(self.context["request"].user, "see_prices"):
            return None
        paid: int = row.paid_minor  # type: ignore[attr-defined]  # annotated by orders()
        amounts = {"gross": row.gross_minor, "deposit": row.deposit_minor, "paid": paid, "open": row.gross_minor - paid}
        return {"currency": row.currency} | {name: as_amount(minor, row.currency) for name, minor in amounts.items()}


class OrderWithMissing(OrderOut):
    missing = serializers.SerializerMethodField()

    class Meta(OrderOut.Meta):
        fields = (*OrderOut.Meta.fields, "missing")  # type: ignore[assignment]

    @extend_schema_field(MissingOut(many=True))
    def get_missing(self, row: Order) -> Any:
        return MissingOut(selectors.board_row(row).missing, many=True).data


class PaymentOut(serializers.ModelSerializer[Payment]):
    amount = serializers.SerializerMethodField()

    class Meta:
        model = Payment
        fields = ("id", "amount", "received_on", "reference", "recorded_at")

    def get_amount(self, row: Payment) -> str:
        return as_amount(row.amount_minor, row.order.currency)
