"""The members of an association's order: whose boat has which sails, where he reads his mail, what was written, what he confirmed.

A member is an owner with his boat; the sails of a suit are his together, behind one link.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from loft.common.errors import NotFound
from loft.customers import selectors as customers
from loft.customers.models import Boat, Customer
from loft.jobs.states import State
from loft.orders import links, selectors
from loft.orders.models import MemberLetter, Order, OrderLine
from loft.workshop.states import TicketState

#: A letter in one of these states does not arrive any more: it is not counted as written.
_CAME_TO_NOTHING = (State.CANCELLED, State.DEAD)


@dataclass(frozen=True, slots=True)
class Member:
    """One owner with the sails of his boat, in the order of the lines, and the letters that he was sent, the oldest first."""

    lines: tuple[OrderLine, ...]
    boat: Boat | None
    letters: tuple[MemberLetter, ...]
    address: str

    @property
    def first(self) -> OrderLine:
        """The line that his link and his letters name."""
        return self.lines[0]

    @property
    def owner(self) -> str:
        return self.first.owner

    @property
    def email(self) -> str:
        return self.boat.email if self.boat else ""

    @property
    def made(self) -> tuple[OrderLine, ...]:
        """Those of his sails that are made: one that was given up is not asked about."""
        return tuple(line for line in self.lines if line.ticket.state != TicketState.SCRAPPED)

    @property
    def confirmed_at(self) -> datetime | None:
        """When the last of his sails was confirmed; None while one that is made is not, and when none is made."""
        stamps = [line.confirmed_at for line in self.made if line.confirmed_at]
        return max(stamps) if stamps and len(stamps) == len(self.made) else None

    @property
    def confirmed_name(self) -> str:
        return ", ".join(dict.fromkeys(line.confirmed_name for line in self.lines if line.confirmed_name))

    def written(self, kind: str) -> tuple[MemberLetter, ...]:
        """His letters of this kind that were sent or are about to be."""
        return tuple(row for row in self.letters if row.kind == kind and row.job.state not in _CAME_TO_NOTHING)

    @property
    def written_at(self) -> datetime | None:
        """When he was last asked for his details; None when he was not."""
        asked = self.written(MemberLetter.Kind.DETAILS)
        return asked[-1].asked_at if asked else None


def of_order(order: Order, *, base_url: str) -> tuple[Member, ...]:
    """The members of an association's order by their first line; none for another customer, and none once its data was erased.

    The number of queries does not grow with the members.
    """
    if order.customer.kind != Customer.Kind.ASSOCIATION or order.customer.erased_at is not None:
        return ()
    lines = list(OrderLine.objects.filter(order=order).select_related("ticket").defer("ticket__sail").order_by("position"))
    return _members(order, selectors.suits(lines), base_url)


def of_line(line: OrderLine, *, base_url: str) -> Member:
    """The member who owns a sail, with all the sails of his boat; NotFound when nobody does, as after erasing."""
    found = next((m for m in of_order(line.order, base_url=base_url) if line in m.lines), None)
    if found is None:
        raise NotFound(f"{line} has no member")
    return found


def address_of(line: OrderLine) -> str:
    """Where the owner of a sail reads his mail, empty where that is not known; one query."""
    (boat,) = _boats([[line]])
    return boat.email if boat else ""


def _members(order: Order, suits: Sequence[Sequence[OrderLine]], base_url: str) -> tuple[Member, ...]:
    boats = _boats(suits)
    letters: dict[int, list[MemberLetter]] = {}
    for row in MemberLetter.objects.filter(line__order=order).select_related("job", "asked_by").order_by("pk"):
        letters.setdefault(row.line_id, []).append(row)
    nonce = selectors.link_of_order(order).nonce
    return tuple(
        Member(
            lines=tuple(lines), boat=boat, letters=tuple(row for line in lines for row in letters.get(line.pk, ())),
            address=links.member_address(
                base_url=base_url, token=links.member_token(line=lines[0].pk, order=order.pk, nonce=nonce)
            ),
        )
        for lines, boat in zip(suits, boats, strict=True)
    )  # fmt: skip


def _boats(suits: Sequence[Sequence[OrderLine]]) -> tuple[Boat | None, ...]:
    """The stored boat of each suit: by a number that one of its sails has, else by name and owner."""
    if not suits:
        return ()
    sails = [[(line.ticket.sail_number, line.boat, line.owner) for line in lines] for lines in suits]
    one_each = [next((sail for sail in of_boat if sail[0]), of_boat[0]) for of_boat in sails]
    return customers.boats_of(class_code=suits[0][0].ticket.class_code, sails=one_each)
