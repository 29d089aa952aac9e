"""Changing an accepted order over HTTP: what a change would be, drafting it, taking it back. It is issued as the revision that it is."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from costing.errors import Collector, InputError, Problem
from loft.common import limits, versions
from loft.common.api_access import ByPolicy, person
from loft.common.idempotency import KEY, idempotent
from loft.customers import boats_csv, list_changes
from loft.orders import api_shapes as shapes
from loft.orders import order_changes, selectors, services
from loft.orders.api import as_csv, at_index, valid
from loft.orders.models import Order, Revision

#: A change is asked for in one of these ways.
_WAYS = ("lines", "boats", "csv")

#: What a change may write on a line; who the boat is and what makes its sail stay.
_COLUMNS = tuple(name for name in boats_csv.COLUMNS if name not in (*boats_csv.REQUIRED, "pattern"))


class LineIn(serializers.Serializer[Any]):
    position = serializers.IntegerField(min_value=1, max_value=boats_csv.MOST_BOATS)
    columns = shapes.Row(
        child=serializers.CharField(allow_blank=True, max_length=200),
        allow_empty=False,
        help_text="What is to be different, by the columns of the list of boats; a cell is replaced whole.",
    )


class ChangeIn(serializers.Serializer[Any]):
    """One of `lines` (what differs), `boats` (every row as an object) and `csv` (the whole list as text)."""

    lines = serializers.ListField(
        child=LineIn(), required=False, allow_empty=False, max_length=boats_csv.MOST_BOATS, help_text="What differs, line by line."
    )
    boats = serializers.ListField(
        child=shapes.Row(child=serializers.CharField(allow_blank=True, max_length=200)),
        required=False, allow_empty=False, max_length=boats_csv.MOST_BOATS,
        help_text="The whole list as it is to be: one object a sail, with the columns of the CSV as names.",
    )  # fmt: skip
    csv = serializers.CharField(max_length=boats_csv.MOST_BYTES, required=False, trim_whitespace=False)
    dry_run = serializers.BooleanField(required=False, default=False, help_text="Say what the change would be, and keep nothing.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """One way of asking, and not two."""
        if sum(way in attrs for way in _WAYS) != 1:
            raise serializers.ValidationError({"lines": [f"give one of {', '.join(_WAYS)}"]})
        return attrs


class DifferenceOut(serializers.Serializer[order_changes.Told]):
    column = serializers.CharField(source="difference.part.column", help_text="Of the list of boats; of an option with its code.")
    what = serializers.CharField(source="difference.part.what")
    before = serializers.CharField(source="difference.before")
    after = serializers.CharField(source="difference.after")
    verdict = serializers.CharField(help_text="free, charged or too late.")
    why = serializers.CharField(help_text="Why it is too late; empty otherwise.")


class ChangedLineOut(serializers.Serializer[order_changes.ChangedLine]):
    position = serializers.IntegerField()
    label = serializers.CharField()  # type: ignore[assignment]  # a field of that name
    verdict = serializers.CharField(help_text="The gravest of its differences: free, charged or too late.")
    differences = DifferenceOut(many=True, source="told")
    net_before = serializers.CharField()
    net_after = serializers.CharField(help_text="As agreed where it is too late.")
    fee = serializers.CharField(help_text="What of it is charged for this change, net.")


class BalanceOut(serializers.Serializer[Any]):
    gross_before = serializers.CharField(source="before")
    gross_after = serializers.CharField(source="after")
    paid = serializers.CharField()
    open_before = serializers.CharField(help_text="Still to pay as it is agreed.")
    open_after = serializers.CharField(help_text="Still to pay with the change.")
    owed_back = serializers.CharField(source="owed_after", help_text="What was paid beyond the total with the change.")


class ChangeOut(serializers.Serializer[Any]):
    """A change, tried or drafted; a draft is issued with /api/quotes/{quote}/issue/."""

    quote = serializers.IntegerField()
    revision = serializers.IntegerField(allow_null=True, help_text="Null of a dry run.")
    state = serializers.CharField(help_text="Empty of a dry run.")
    possible = serializers.BooleanField(help_text="Whether nothing of it is too late.")
    currency = serializers.CharField()
    net = serializers.CharField()
    tax = serializers.CharField()
    balance = BalanceOut()
    lines = ChangedLineOut(many=True)


class ChangeRevisionOut(shapes.RevisionOut):
    quote = serializers.SerializerMethodField()

    class Meta(shapes.RevisionOut.Meta):
        fields = ("quote", *shapes.RevisionOut.Meta.fields)  # type: ignore[assignment]

    @extend_schema_field(serializers.IntegerField())
    def get_quote(self, row: Revision) -> int:
        return row.quote_id


class ChangeViews(viewsets.ViewSet):
    """Changes of an accepted order."""

    permission_classes = (ByPolicy,)
    pagination_class = None
    policy: ClassVar = {"list": "see_prices", "create": "draft_quote", "cancel": "cancel_quote"}

    @extend_schema(responses=ChangeRevisionOut(many=True))
    def list(self, request: Request, pk: int) -> Response:
        """Every change that was ever drafted, the last one first; the ETag is the order's."""
        order = selectors.order(pk)
        return Response(ChangeRevisionOut(selectors.changes(order), many=True).data, headers=versions.headers(order))

    @extend_schema(parameters=[KEY, versions.IF_MATCH], request=ChangeIn, responses={200: ChangeOut, 201: ChangeOut})
    @idempotent
    def create(self, request: Request, pk: int) -> Response:
        """Draft a change, priced as the order was: 201; 409 when a step has begun that settles something of it.

        With `dry_run` 200, nothing is kept, and each line says whether its change is free, charged or too late.
        """
        asked, now, seen = valid(ChangeIn(data=request.data)), timezone.now(), versions.asked(request)
        limits.count(limits.COSTLY, str(person(request).pk), now=now)
        order, by = selectors.order(pk), person(request)
        versions.expect(order, seen)
        boats, places = _list_of(order, asked)
        with _told_where_asked(asked, places):
            if asked["dry_run"]:
                tried = services.try_change(order=order, boats=boats, by=by, version=seen)
                return Response(_out(order, tried, None), headers=versions.headers(order))
            made_at = f"/api/quotes/{order.revision.quote_id}/"
            revision = services.draft_change(order=order, boats=boats, now=now, by=by, version=seen, made_at=made_at)
        order = selectors.order(pk)
        answer = _out(order, services.change_as_drafted(order, revision), revision)
        return Response(answer, status=status.HTTP_201_CREATED, headers={"Location": made_at, **versions.headers(order)})

    @extend_schema(parameters=[versions.IF_MATCH], request=None, responses=ChangeRevisionOut(many=True))
    def cancel(self, request: Request, pk: int, revision: int) -> Response:
        """Take back a change that is not signed; its link is dead, and the order stays as it is."""
        seen, order = versions.asked(request), selectors.order(pk)
        services.cancel_change(order=order, number=revision, now=timezone.now(), by=person(request), version=seen)
        return self.list(request, pk)


def _list_of(order: Order, asked: Mapping[str, Any]) -> tuple[bytes, Mapping[int, str]]:
    """The list of boats as it is to be, and for each of its rows where the request speaks of it."""
    if "csv" in asked:
        return asked["csv"].encode(), {}
    if "boats" in asked:
        return as_csv(asked["boats"]), {}
    current = order_changes.current_list(order)
    rows, wrong = list_changes.rows_of_sails(current), Collector()
    cells: dict[int, Mapping[str, str]] = {}
    places: dict[int, str] = {}
    for i, line in enumerate(asked["lines"]):
        _check_line(line, f"lines[{i}]", len(rows), [one["position"] for one in asked["lines"][:i]], wrong)
        if line["position"] <= len(rows):
            row = rows[line["position"] - 1]
            cells[row], places[row] = line["columns"], f"lines[{i}].columns"
    wrong.raise_if_any()
    return list_changes.with_cells(current, cells), places


def _check_line(line: Mapping[str, Any], path: str, sails: int, before: Sequence[int], wrong: Collector) -> None:
    if line["position"] > sails:
        wrong.add(f"{path}.position", "no_such_line", f"the order has {sails} lines")
    if line["position"] in before:
        wrong.add(f"{path}.position", "twice", f"line {line['position']} stands in the request already")
    for name in line["columns"]:
        if name not in _COLUMNS:
            wrong.add(f"{path}.columns.{name}", "unknown_column", "is no column that a change may write: see the list of boats")


@contextmanager
def _told_where_asked(asked: Mapping[str, Any], places: Mapping[int, str]) -> Iterator[None]:
    """Problems at the place of the request that they come from; those that are only too late are a conflict with the work."""
    try:
        yield
    except InputError as error:
        problems = tuple(at_index(p) if "boats" in asked else _at_line(p, places) for p in error.problems)
        if all(p.code == "too_late" for p in problems):
            raise services.TooLate("it is too late: nothing was changed", problems) from error
        raise InputError(problems) from error


def _at_line(found: Problem, places: Mapping[int, str]) -> Problem:
    row = re.match(r"row (\d+)", found.path)
    place = places.get(int(row[1])) if row else None
    return found if place is None or row is None else Problem(place + found.path[row.end() :], found.code, found.message)


def _out(order: Order, tried: services.Tried, revision: Revision | None) -> Mapping[str, Any]:
    row = {
        "quote": order.revision.quote_id, "revision": revision and revision.revision, "state": revision.state if revision else "",
        "possible": tried.possible, "currency": order.currency, "net": tried.net, "tax": tried.tax, "balance": tried.balance,
        "lines": tried.lines,
    }  # fmt: skip
    return ChangeOut(row).data
