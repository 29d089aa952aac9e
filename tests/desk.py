"""The desk of the tests: the invented catalogue loaded, customers, drafts and issued quotes."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from email import message_from_bytes, policy
from email.message import EmailMessage

from django.contrib.auth.models import User
from django.core import mail as outbox
from django.test.utils import CaptureQueriesContext

from costing.quote import PricedBatch
from loft.catalogue import services as catalogue
from loft.customers import fit
from loft.customers.models import Customer
from loft.jobs import mail
from loft.jobs import services as jobs
from loft.orders import links, paper, services
from loft.orders.models import Order, Revision
from tests import skerling

#: A Monday morning inside the days of all fixtures' lists, British winter time.
NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TODAY = date(2026, 3, 2)
PATTERN = "SK13-MAIN"

#: A standard boat with a number, and a variant whose number is to follow.
TWO_BOATS = (
    b"boat,owner,sail_number,luff_length,luff_curve,options\n"
    b"Heron,Maud Pellow,214,,,window\n"
    b"Linnet,Morwenna Fell,to follow,5.21 m,0.25:30 0.5:42 0.75:28,window\n"
)
ONE_BOAT = b"boat,owner,sail_number\nHeron,Maud Pellow,214\n"


def load_catalogue() -> None:
    """Class, pattern, lists and house standards of the fixtures, and the loft profile with them."""
    catalogue.load_class(text=skerling.text("skerling_13_2025.toml"))
    catalogue.load_pattern(text=skerling.text("sk13_main_v3.toml"))
    for name in skerling.SUPPLIER_FILES:
        catalogue.load_prices(text=skerling.text(name))
    catalogue.load_house(text=skerling.text("larkfield_2026.toml"))


def association(**fields: str) -> Customer:
    """A stored customer who buys for the trade."""
    values = {"kind": "association", "name": skerling.CUSTOMER, "email": "sails@skerling.example", "buyer": "trade"} | fields
    return Customer.objects.create(**values)


def draft(boats: bytes = TWO_BOATS, *, customer: Customer | None = None, terms: str = "", by: User | None = None) -> Revision:
    return services.draft_batch(customer=customer or association(), pattern=PATTERN, boats=boats, terms=terms, on=TODAY, now=NOW, by=by)


def issued(by: User, boats: bytes = TWO_BOATS, *, now: datetime = NOW) -> Revision:
    return services.issue(revision=draft(boats, by=by), by=by, now=now)


def token_of(revision: Revision) -> str:
    return links.token(quote=revision.quote_id, revision=revision.revision, nonce=revision.link.nonce)


def accepted(by: User, boats: bytes = TWO_BOATS) -> Order:
    return services.accept(token=token_of(issued(by, boats)), name="Hester Lorne", now=NOW)


def paper_of(order: Order) -> PricedBatch:
    """The figures that an order was accepted with."""
    return paper.thaw(order.revision)


def sent(key: str) -> EmailMessage:
    """The letter with this job key as it leaves for the mail server, after the worker had run; LookupError when it was not sent."""
    jobs.run_ready(lane="mail")
    for message in outbox.outbox:
        content = message.message()
        if content["Message-ID"] == mail.message_id(key):
            return message_from_bytes(content.as_bytes(), policy=policy.default)
    raise LookupError(key)


def link_in(letter: EmailMessage) -> str:
    """The acceptance address that a letter's text gives."""
    body = letter.get_body(("plain",))
    assert body is not None
    found = re.search(r"https?://\S+/accept/\S+/", body.get_content())
    assert found is not None, body.get_content()
    return found[0]


_TRANSACTION_CONTROL = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE SAVEPOINT")


def queries(captured: CaptureQueriesContext) -> list[str]:
    """What the database was asked and told, without the marks that begin and end a transaction."""
    return [q["sql"] for q in captured if not q["sql"].startswith(_TRANSACTION_CONTROL)]


#: A line of a fit sheet as a ticket carries it: what, value, how, by whom, when.
FIT = (("Luff groove, inside", "9.5 mm", "calliper", "Morwenna Fell", "2026-03-01"),)


def keep_fit_sheets(order: Order) -> None:
    """The fit sheet of every boat of an order, with a row for each kind of sail."""
    for line in order.lines.select_related("ticket"):
        ticket = line.ticket
        boat = fit.boat_of(class_code=ticket.class_code, sail_number=ticket.sail_number, name=ticket.boat, owner=ticket.owner)
        row = fit.Row("9.5 mm", "calliper", line.owner, date(2026, 3, 1))
        fit.keep(boat=boat, rows={"luff_groove": row, "hoist": row, "spinnaker_hoist": row}, by=None, now=NOW)
