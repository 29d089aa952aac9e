"""The wording of the desk's letters: the owner's if there is one, with fixed {placeholders} that each letter fills."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.html import conditional_escape, format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from costing.errors import Collector
from loft.common.errors import NotFound
from loft.orders.models import LetterWording

MOST_SUBJECT, MOST_BODY = 150, 4000
_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True, slots=True)
class Wording:
    """Subject and body of a letter; version 0 is the one that the service came with."""

    name: str
    title: str
    version: int
    subject: str
    body: str


@dataclass(frozen=True, slots=True)
class _Kind:
    """A letter as it comes with the service; known: its placeholders with a sample of each; needed: those that it must have."""

    title: str
    subject: str
    body: str
    known: Mapping[str, str]
    needed: tuple[str, ...] = ()


LINK = "link"

_FOR_A_MEMBER: Mapping[str, str] = {
    "member": "Maud Pellow", "boat": "Heron", "sails": "Skerling 13 mainsail, cross-cut", "customer": "Skerling Class Association",
    "order": "O-0007", LINK: "https://loft.example/member/...", "loft": "Larkfield Sail Loft",
}  # fmt: skip

KINDS: Mapping[str, _Kind] = {
    "quote_issued": _Kind(
        "A quote is issued",
        "Quote {quote} from {loft}",
        "Dear {customer},\n\n"
        "thank you for asking us. Our quote {quote} for {sails} is attached; it comes to {total} with tax.\n\n"
        "It is valid until {valid_until}, 23:59:59 our time. You can read and accept it here:\n\n"
        "{link}\n\n"
        "Opening the link shows the quote; nothing is accepted before you write your name there and confirm.",
        {
            "customer": "Maud Pellow", "quote": "Q-0042", "sails": "12 sails", "total": "GBP 1,234.00", "valid_until": "31 Mar 2026",
            LINK: "https://loft.example/accept/...", "loft": "Larkfield Sail Loft",
        },
        (LINK,),
    ),
    "order_accepted": _Kind(
        "An order is opened",
        "Order {order} at {loft}",
        "Dear {customer},\n\n"
        "{accepted_by} accepted our quote {quote}: your order has the number {order}.\n\n"
        "We begin when the deposit of {deposit} has come, each boat's details are confirmed and cloth is set aside.\n\n"
        "A sail number may follow later: only the numbers of that sail wait for it. The confirmation is attached.",
        {
            "customer": "Maud Pellow", "order": "O-0007", "quote": "Q-0042", "accepted_by": "Hester Lorne", "deposit": "GBP 617.00",
            "loft": "Larkfield Sail Loft",
        },
    ),
    "change_issued": _Kind(
        "A change of an order is issued",
        "Change of order {order}: please sign",
        "Dear {customer},\n\n"
        "the change that you asked for is attached as {quote}, with everything that is new marked. With it order {order} comes to {total} "
        "with tax; before it was {old_total}. The deposit stays as it is.\n\n"
        "Please read and sign it here until {valid_until}, 23:59:59 our time:\n\n"
        "{link}\n\n"
        "Work goes on meanwhile. Until you sign, the order stays as it was; once a step that the change touches has begun, it is too late.",
        {
            "customer": "Maud Pellow", "order": "O-0007", "quote": "Q-0042, revision 2", "old_total": "GBP 1,234.00",
            "total": "GBP 1,268.00", "valid_until": "31 Mar 2026", LINK: "https://loft.example/accept/...", "loft": "Larkfield Sail Loft",
        },
        (LINK,),
    ),
    "change_accepted": _Kind(
        "A change of an order is signed",
        "Order {order} is changed",
        "Dear {customer},\n\n"
        "{accepted_by} signed the change {quote}: order {order} now comes to {total} with tax; {balance}.\n\n"
        "The confirmation as it stands is attached.",
        {
            "customer": "Maud Pellow", "order": "O-0007", "quote": "Q-0042, revision 2", "accepted_by": "Hester Lorne",
            "total": "GBP 1,268.00", "balance": "GBP 651.00 is still to pay", "loft": "Larkfield Sail Loft",
        },
    ),
    "member_details": _Kind(
        "A member is asked to confirm his details",
        "{boat}: please look at what we make for you",
        "Dear {member},\n\n"
        "{customer} has ordered from us for your boat {boat}:\n\n"
        "{sails}\n\n"
        "A page of your own shows what we make, with its sizes and a drawing. Please look whether they are your boat's:\n\n"
        "{link}\n\n"
        "If everything is right, write your name there and confirm. If something is wrong, do not confirm: answer this letter, or tell "
        "{customer}.\n\n"
        "Opening the link confirms nothing. It is for you alone: whoever has it can confirm in your place.",
        _FOR_A_MEMBER,
        (LINK,),
    ),
    "member_reminder": _Kind(
        "A member is reminded",
        "Reminder: {boat}, your details",
        "Dear {member},\n\n"
        "on {written_on} we asked you to look at what {customer} has ordered from us for your boat {boat}:\n\n"
        "{sails}\n\n"
        "You have not confirmed it yet. Please do so here, or answer this letter if something is wrong:\n\n"
        "{link}\n\n"
        "Opening the link confirms nothing; write your name there and confirm. If you have done so meanwhile, please forgive this letter.",
        {**_FOR_A_MEMBER, "written_on": "02 Mar 2026"},
        (LINK,),
    ),
    "payment_received": _Kind(
        "Money is received",
        "Receipt {receipt} from {loft}",
        "Dear {customer},\n\n"
        "thank you: we received {amount} on {received_on} for order {order}.\n\n"
        "Receipt {receipt} is attached. It says what tax is in the amount; invoices come under their own numbers.",
        {
            "customer": "Maud Pellow", "order": "O-0007", "receipt": "O-0007-P1", "amount": "GBP 617.00", "received_on": "02 Mar 2026",
            "loft": "Larkfield Sail Loft",
        },
    ),
    "refund_paid": _Kind(
        "Money is paid back",
        "Refund {refund} from {loft}",
        "Dear {customer},\n\n"
        "we paid {amount} back to you on {paid_on}: it was paid beyond what order {order} comes to.\n\n"
        "The paper {refund} is attached. It says what tax is in the amount; credit notes come under their own numbers.",
        {
            "customer": "Maud Pellow", "order": "O-0007", "refund": "O-0007-P3", "amount": "GBP 17.00", "paid_on": "02 Mar 2026",
            "loft": "Larkfield Sail Loft",
        },
    ),
}  # fmt: skip


def current(name: str) -> Wording:
    """The wording that counts now; NotFound for a letter that there is none of."""
    kind = kind_of(name)
    row = LetterWording.objects.filter(name=name).order_by("-version").first()
    if row is None:
        return Wording(name, kind.title, 0, kind.subject, kind.body)
    return Wording(name, kind.title, row.version, row.subject, row.body)


def kind_of(name: str) -> _Kind:
    """The letter of this name; NotFound when there is none."""
    if name not in KINDS:
        raise NotFound(f"There is no letter {name}; there are {', '.join(KINDS)}.")
    return KINDS[name]


def check(name: str, *, subject: str, body: str) -> None:
    """Raise InputError with everything that is wrong with a wording: unknown placeholders, missing ones, stray braces, lengths."""
    kind, wrong = kind_of(name), Collector()
    known = ", ".join(f"{{{word}}}" for word in kind.known)
    for field, text, most in (("subject", subject, MOST_SUBJECT), ("body", body, MOST_BODY)):
        if not text.strip():
            wrong.add(field, "missing", f"the {field} is empty")
        if len(text) > most:
            wrong.add(field, "too_long", f"the {field} has {len(text)} characters; at most {most} are kept")
        if any(not c.isprintable() and (field == "subject" or c != "\n") for c in text):
            wrong.add(field, "control_character", f"the {field} has a character that cannot be printed")
        for word in dict.fromkeys(_PLACEHOLDER.findall(text)):
            if word not in kind.known:
                wrong.add(field, "unknown_placeholder", f"{{{word}}} is no placeholder of this letter; there are {known}")
        if any(c in _PLACEHOLDER.sub("", text) for c in "{}"):
            wrong.add(field, "stray_brace", "a brace stands alone: braces are for placeholders, as in {customer}")
    if f"{{{LINK}}}" in subject:
        wrong.add("subject", "link_in_subject", "the link is for the letter itself, not for its subject")
    for word in kind.needed:
        if f"{{{word}}}" not in body:
            wrong.add("body", "needed_placeholder", f"the letter must say {{{word}}}: without it the letter cannot be answered")
    wrong.raise_if_any()


def subject_line(wording: Wording, values: Mapping[str, str]) -> str:
    """The subject with its placeholders filled, on one line whatever a name holds."""
    return " ".join(_PLACEHOLDER.sub(lambda found: values[found[1]], wording.subject).split())


def as_text(wording: Wording, values: Mapping[str, str], signature: str) -> str:
    """The letter as plain text."""
    return _PLACEHOLDER.sub(lambda found: values[found[1]], wording.body).rstrip() + f"\n\n{signature}\n"


def as_html(wording: Wording, values: Mapping[str, str], signature: str) -> SafeString:
    """The letter as HTML: the owner's words and every value escaped, the link a link."""
    paragraphs = [(_filled(p, values),) for p in re.split(r"\n\s*\n", wording.body) if p.strip()]
    body = format_html_join("\n", "<p>{}</p>", paragraphs)
    signed = format_html_join(mark_safe("<br>"), "{}", ((line,) for line in signature.splitlines()))
    return format_html('<!doctype html>\n<html lang="en"><body>\n{}\n<p>{}</p>\n</body></html>\n', body, signed)


def _filled(paragraph: str, values: Mapping[str, str]) -> SafeString:
    pieces = _PLACEHOLDER.split(paragraph.strip())  # words, placeholder, words, placeholder, ...
    shown = [_value(piece, values) if i % 2 else conditional_escape(piece) for i, piece in enumerate(pieces)]
    return mark_safe("".join(shown).replace("\n", "<br>"))  # every piece is escaped above


def _value(word: str, values: Mapping[str, str]) -> SafeString:
    return format_html('<a href="{0}">{0}</a>' if word == LINK else "{}", values[word])
