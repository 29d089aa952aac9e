"""The loft's paper: costing objects in, PDF bytes and SVG text out. No web framework, no clock.

`quote_pdf`, the three ticket sheets, `tickets_pdf` for several tickets in one file, `cost_sheet_pdf`; `sail_svg` and `lay_svg`
come from the same drawings. The same document gives the same bytes. `missing_characters` tells the desk what paper cannot print.
"""

from loft.documents.buy_ahead import BuyAheadDocument, PurchaseRow, buy_ahead_pdf
from loft.documents.content import (
    BatchLay,
    CostSheetDocument,
    DeliveredSail,
    DeliveryNote,
    LaidSail,
    LaidSection,
    LayDocument,
    Letterhead,
    MeasuringSheet,
    OrderConfirmation,
    OrderedSail,
    QuoteDocument,
    Receipt,
    TicketDocument,
)
from loft.documents.lay_sheet import lay_sheet_pdf
from loft.documents.lettering import missing_characters
from loft.documents.measuring_sheet import measuring_sheet_pdf
from loft.documents.order_papers import delivery_note_pdf, order_confirmation_pdf, receipt_pdf
from loft.documents.quote import quote_pdf
from loft.documents.screens import lay_svg, sail_svg, shared_lay_svg
from loft.documents.sheets import cost_sheet_pdf, cutter_sheet_pdf, finisher_sheet_pdf, sewer_sheet_pdf, tickets_pdf
from loft.documents.show_sheet import ShowPrice, ShowSail, ShowSheet, show_sheet_pdf

__all__ = [
    "BatchLay",
    "BuyAheadDocument",
    "CostSheetDocument",
    "DeliveredSail",
    "DeliveryNote",
    "LaidSail",
    "LaidSection",
    "LayDocument",
    "Letterhead",
    "MeasuringSheet",
    "OrderConfirmation",
    "OrderedSail",
    "PurchaseRow",
    "QuoteDocument",
    "Receipt",
    "ShowPrice",
    "ShowSail",
    "ShowSheet",
    "TicketDocument",
    "buy_ahead_pdf",
    "cost_sheet_pdf",
    "cutter_sheet_pdf",
    "delivery_note_pdf",
    "finisher_sheet_pdf",
    "lay_sheet_pdf",
    "lay_svg",
    "measuring_sheet_pdf",
    "missing_characters",
    "order_confirmation_pdf",
    "quote_pdf",
    "receipt_pdf",
    "sail_svg",
    "sewer_sheet_pdf",
    "shared_lay_svg",
    "show_sheet_pdf",
    "tickets_pdf",
]
