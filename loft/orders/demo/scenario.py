"""The steps of the demo, in the order of the job, each timed."""

from __future__ import annotations

import email
import email.policy
import re
import secrets
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.test import Client

from costing import money, quote
from loft import documents
from loft.catalogue import selectors as catalogue_reads
from loft.catalogue import services as catalogue
from loft.catalogue.retail import load_retail
from loft.common import policies
from loft.common import selectors as common
from loft.common import services as common_writes
from loft.customers import fit
from loft.customers import services as customers
from loft.jobs import services as jobs
from loft.orders import paper, selectors, services
from loft.orders.demo import price_rise, suit
from loft.orders.models import Order, OrderLine, Revision
from loft.workshop import paper as floor_paper
from loft.workshop import selectors as floor_reads
from loft.workshop import services as floor
from loft.workshop.models import Ticket
from loft.workshop.states import Need

PATTERN, TERMS = "SK13-MAIN", "ASSOC-2026"
CUSTOMER = "Skerling Class Association of the Northern Tarns"
CUSTOMERS = (CUSTOMER, price_rise.CLUB, price_rise.PERSON, suit.CUSTOMER)
USERS = (("manager", policies.MANAGER), ("cutter", policies.CUTTER))
MAIL_DOMAIN = "larkfield.example"

_FIXTURES = Path(settings.ROOT) / "fixtures"
_FILES: tuple[tuple[Callable[..., catalogue.LoadReport], str], ...] = (
    (catalogue.load_class, "skerling_13_2025.toml"),
    (catalogue.load_pattern, "sk13_main_v3.toml"),
    (catalogue.load_pattern, "sk13_jib_v1.toml"),
    (catalogue.load_pattern, "sk13_spinnaker_v1.toml"),
    (catalogue.load_prices, "tarnside_2026.toml"),
    (catalogue.load_prices, "fellgate_2026.toml"),
    (catalogue.load_prices, "association_2026.toml"),
    (catalogue.load_house, "larkfield_2026.toml"),
    (load_retail, "skerling_retail_2026.toml"),
)


class DemoFailed(Exception):
    """Something did not happen as it must."""


@dataclass(slots=True)
class Demo:
    """What the demo has made so far."""

    out: Path
    now: datetime
    passwords: dict[str, str] = field(default_factory=dict)
    times: list[tuple[str, float]] = field(default_factory=list)
    written: list[Path] = field(default_factory=list)
    letters: list[str] = field(default_factory=list)
    revision: Revision = field(init=False)
    order: Order = field(init=False)
    rise: price_rise.PriceRise = field(init=False)
    suit: suit.Suit = field(init=False)
    link: str = field(init=False)

    @contextmanager
    def timed(self, what: str) -> Iterator[None]:
        begun = time.perf_counter()
        yield
        self.times.append((what, time.perf_counter() - begun))

    def write(self, name: str, content: bytes) -> None:
        path = self.out / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        self.written.append(path)


def run(out: Path, *, now: datetime) -> Demo:
    """Do the whole job; DemoFailed or the error of the step that did not work."""
    demo = Demo(out, now)
    with demo.timed("class, pattern, supplier lists and house standards loaded"):
        for load, name in _FILES:
            load(text=(_FIXTURES / name).read_text(encoding="utf-8"))
        _make_users(demo)
    with demo.timed("12 boats read, designed, laid, priced and drafted as one quote"):
        _draft(demo)
    with demo.timed("quote issued: number, PDF, link"):
        services.issue(revision=demo.revision, by=_user("manager"), now=now)
    with demo.timed("mail sent"):
        demo.link = _send_quote(demo)
    with demo.timed("accepted by the customer through the link, order and tickets opened"):
        _accept(demo)
    with demo.timed("deposit, cloth, fit details and the late sail number recorded"):
        _clear_the_way(demo)
    with demo.timed("documents written"):
        _write_documents(demo)
    with demo.timed("a dearer supplier list under an open quote, a discontinued colour replaced on a draft"):
        _let_prices_rise(demo)
    with demo.timed("mainsail and headsail of one boat drafted for a private buyer"):
        _draft_suit(demo)
    return demo


def _make_users(demo: Demo) -> None:
    for name, role in USERS:
        password = secrets.token_urlsafe(12)
        user = User.objects.create_user(name, f"{name}@{MAIL_DOMAIN}", password)
        common_writes.give_role(user=user, role=role)
        demo.passwords[name] = password


def _user(name: str) -> User:
    return User.objects.get(username=name)


def _draft(demo: Demo) -> None:
    customer = customers.new_customer(
        kind="association", name=CUSTOMER, email="sails@skerling.example", address="The Boathouse\nUpper Tarn\nNT2 5LB", buyer="trade"
    )
    boats = (_FIXTURES / "skerling_batch_2026.csv").read_bytes()
    demo.revision = services.draft_batch(
        customer=customer, pattern=PATTERN, boats=boats, terms=TERMS, on=_day(demo), now=demo.now, by=_user("manager")
    )


def _send_quote(demo: Demo) -> str:
    """Have the worker's work done, and find the link in the letter as the customer would."""
    letter = _letter(demo, f"quote_issued:{demo.revision.pk}")
    body = letter.get_body(("plain",))
    found = re.search(r"https?://\S+/accept/\S+", body.get_content() if body else "")
    if found is None:
        raise DemoFailed("the letter to the customer has no link")
    attached = [part.get_content() for part in letter.iter_attachments()]
    if attached != [bytes(demo.revision.pdf or b"")]:
        raise DemoFailed("the letter does not carry the quote's PDF as it is stored")
    return found[0]


def _letter(demo: Demo, key: str) -> email.message.EmailMessage:
    from loft.jobs import mail

    jobs.run_ready(lane="mail")
    path = Path(settings.LOFT_VAR) / "mail" / f"{mail.message_id(key).strip('<>')}.eml"
    if not path.exists():
        raise DemoFailed(f"the letter {key} was not sent: {path} is not there")
    demo.letters.append(path.name)
    return email.message_from_bytes(path.read_bytes(), policy=email.policy.default)


def _accept(demo: Demo) -> None:
    """Open the link, accept, and accept again: the second time changes nothing."""
    address = urlsplit(demo.link)
    client = Client(SERVER_NAME=address.hostname or "localhost")
    secure = address.scheme == "https"
    if client.get(address.path, secure=secure).status_code != 200:
        raise DemoFailed("the acceptance page does not open")
    if Order.objects.exists():
        raise DemoFailed("looking at the acceptance page has accepted the quote")
    for _ in range(2):
        answer = client.post(address.path, {"name": "Hester Lorne", "agreed": "yes"}, secure=secure)
        if answer.status_code not in (200, 302, 303):
            raise DemoFailed(f"the acceptance page answered {answer.status_code}")
    demo.order = Order.objects.get(revision=demo.revision)
    demo.revision.refresh_from_db()
    _letter(demo, f"order_accepted:{demo.order.pk}")


#: What the owners of the two variants found on their boats (invented).
_FIT = {
    "mast_make": ("Tarnbeck 62", "read on the mast's plate"), "mast_section": ("62 x 52 mm, two parts", "calliper"),
    "luff_groove": ("9.5 mm", "calliper at three heights, the narrowest"), "rope_diameter": ("6 mm", "the old sail's rope, calliper"),
    "slides": ("none", "seen"), "tack_setback": ("28 mm", "steel rule"), "tack_height": ("35 mm", "steel rule"),
    "clew_fitting": ("strap, 25 mm", "seen and measured"), "headboard_pin": ("8 mm, 22 mm from the luff", "calliper"),
    "batten_system": ("pockets, open at the leech", "seen"), "boom_bands": ("2470 mm", "steel tape, twice"),
}  # fmt: skip


def _measure_the_fit(demo: Demo, line: OrderLine, manager: User) -> None:
    """The owner's fit sheet comes in, and the fit of his sail is confirmed on it."""
    ticket, day = line.ticket, demo.now.date()
    boat = fit.boat_of(class_code=ticket.class_code, sail_number=ticket.sail_number, name=ticket.boat, owner=ticket.owner)
    rows = {code: fit.Row(value, how, ticket.owner, day) for code, (value, how) in _FIT.items()}
    fit.keep(boat=boat, rows=rows, by=manager, now=demo.now)
    services.confirm_fit(ticket=ticket, by=manager, now=demo.now)


def _clear_the_way(demo: Demo) -> None:
    """What the desk records until every ticket is released, and one sail begun on the floor."""
    manager, order = _user("manager"), demo.order
    cur = money.currency(order.currency)
    services.set_due_date(order=order, due_on=demo.now.date() + timedelta(weeks=6))
    deposit = Decimal(order.deposit_minor).scaleb(-cur.digits)
    payment = services.record_payment(
        order=order, amount=deposit, received_on=demo.now.date(), by=manager, now=demo.now, reference="bank transfer"
    )
    _letter(demo, f"payment_received:{payment.pk}")
    _book_rolls(demo, manager)
    for missing in selectors.board_row(selectors.order(order.pk)).missing:
        line = selectors.line(order_pk=order.pk, position=int(missing.ticket.rpartition("-")[2]))
        if missing.kind == Need.FIT:
            _measure_the_fit(demo, line, manager)
        elif missing.kind == Need.NUMBER:
            services.give_sail_number(line=line, number="251", by=manager, now=demo.now)
    first = selectors.line(order_pk=order.pk, position=1).ticket
    with transaction.atomic():
        floor.start_step(step=floor_reads.step(ticket_pk=first.pk, position=1), by=_user("cutter"), now=demo.now)
    demo.order = selectors.order(order.pk)


def _book_rolls(demo: Demo, manager: User) -> None:
    """A roll holds one colour, so each colour of the batch gets its own."""
    tickets: dict[str, list[Ticket]] = {}
    for line, sail in zip(demo.order.lines.select_related("ticket").order_by("position"), paper.thaw(demo.revision).sails, strict=True):
        tickets.setdefault(sail.colour, []).append(line.ticket)
    for number, same_colour in enumerate(tickets.values()):
        floor.book_cloth(tickets=same_colour, roll=f"R-{412 + number:04d}", lot=f"{7731 + 20 * number}", by=manager, now=demo.now)


def _write_documents(demo: Demo) -> None:
    profile = common.loft_profile()
    figures = paper.offer(demo.revision)
    demo.write("quote.pdf", paper.quote_pdf(demo.revision, profile))
    demo.write("cost-sheet.pdf", paper.cost_sheet_pdf(demo.revision, profile))
    demo.write("batch.json", quote.batch_as_json(figures.batch, figures.designs))
    tickets = [floor_reads.ticket(line.ticket_id) for line in demo.order.lines.all()]
    sheets = [floor_paper.ticket_document(ticket, profile, now=demo.now) for ticket in tickets]
    demo.write("work-sheets.pdf", documents.tickets_pdf(sheets))
    for name, draw in _STATIONS.items():
        demo.write(f"ticket-{sheets[0].ticket_number}-{name}.pdf", draw(sheets[0]))


def _let_prices_rise(demo: Demo) -> None:
    manager = _user("manager")
    out, draft = price_rise.quote_out(pattern=PATTERN, by=manager, now=demo.now)
    _letter(demo, f"quote_issued:{out.pk}")
    demo.rise = price_rise.import_list(out, draft, by=manager, now=demo.now)


def _draft_suit(demo: Demo) -> None:
    boats = (_FIXTURES / "skerling_suit_2026.csv").read_bytes()
    demo.suit = suit.draft(boats, pattern=PATTERN, on=_day(demo), now=demo.now, by=_user("manager"))
    for name, content in demo.suit.files.items():
        demo.write(name, content)


_STATIONS: Mapping[str, Callable[[documents.TicketDocument], bytes]] = {
    "cutter": documents.cutter_sheet_pdf,
    "sewer": documents.sewer_sheet_pdf,
    "finisher": documents.finisher_sheet_pdf,
}


def house(demo: Demo) -> quote.House:
    """The house as the demo priced with it."""
    return catalogue_reads.house(pattern=PATTERN, on=_day(demo), terms=TERMS)


def _day(demo: Demo) -> date:
    return common.local_time(demo.now, common.loft_profile()).date()
