"""The writes of the desk, one transaction each: drafting, issuing, acceptance, orders."""

from loft.orders.joining import TierMissed
from loft.orders.services.acceptance import accept, decline, name_of
from loft.orders.services.changing import TooLate, Tried, cancel_change, change_as_drafted, draft_change, try_change
from loft.orders.services.closing import cancel_order, deliver, deliver_line
from loft.orders.services.drafting import draft_batch, revise
from loft.orders.services.dropping_out import reprice_left
from loft.orders.services.fitting import confirm_fit
from loft.orders.services.issuing import EXPIRE, cancel, expire_due, issue
from loft.orders.services.letters import word_letter
from loft.orders.services.members import confirm_details, write_to_members
from loft.orders.services.orders import (
    book_cloth,
    give_sail_number,
    record_payment,
    record_refund,
    set_due_date,
)
from loft.orders.services.settling import settle_doubts

__all__ = [
    "EXPIRE", "TierMissed", "TooLate", "Tried", "accept", "book_cloth", "cancel", "cancel_change", "cancel_order", "change_as_drafted",
    "confirm_details", "confirm_fit", "decline", "deliver", "deliver_line", "draft_batch", "draft_change", "expire_due",
    "give_sail_number", "issue", "name_of", "record_payment", "record_refund", "reprice_left", "revise", "set_due_date",
    "settle_doubts", "try_change", "word_letter", "write_to_members",
]  # fmt: skip
