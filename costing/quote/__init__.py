"""The quote: a batch request and the house in, a priced batch out.

`price_batch` is the one call that does all; `freeze_batch` / `thaw_batch` turn it into canonical bytes and back;
`ticket_plan` gives the steps of the work.
"""

from costing.quote.batch import BatchResult, price_batch
from costing.quote.batch_json import batch_as_json, batch_as_plain
from costing.quote.pattern import Pattern, PatternOption
from costing.quote.priced import (
    CostLine,
    Design,
    PricedBatch,
    PricedSail,
    PriceItem,
    TaxLine,
    TicketPlan,
    TicketStep,
    Totals,
)
from costing.quote.request import (
    BatchRequest,
    BatchTier,
    House,
    MarginPolicy,
    Overhead,
    PassThrough,
    SailRequest,
    TaxRate,
    Terms,
)
from costing.quote.snapshot import freeze_batch, freeze_design, thaw_batch, thaw_design
from costing.quote.tickets import ticket_plan

__all__ = [
    "BatchRequest",
    "BatchResult",
    "BatchTier",
    "CostLine",
    "Design",
    "House",
    "MarginPolicy",
    "Overhead",
    "PassThrough",
    "Pattern",
    "PatternOption",
    "PriceItem",
    "PricedBatch",
    "PricedSail",
    "SailRequest",
    "TaxLine",
    "TaxRate",
    "Terms",
    "TicketPlan",
    "TicketStep",
    "Totals",
    "batch_as_json",
    "batch_as_plain",
    "freeze_batch",
    "freeze_design",
    "price_batch",
    "thaw_batch",
    "thaw_design",
    "ticket_plan",
]  # fmt: skip
