"""Speed of the exposure report: 10,000 open quotes of 30 bought cost lines each, reading and sorting included.

Run: python -m tests.bench.bench_exposure (DATABASE_URL chooses the database; a test database of its own is made and dropped).
"""

from __future__ import annotations

import os
import random
import statistics
import sys
import warnings
from datetime import timedelta
from time import perf_counter

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
os.environ.setdefault("LOFT_LOG_LEVEL", "ERROR")
warnings.filterwarnings("ignore", "No directory at")

import django  # noqa: E402

django.setup()

from django.db import connection  # noqa: E402

from loft.catalogue import services as catalogue  # noqa: E402
from loft.catalogue.models import Material  # noqa: E402
from loft.orders import exposure  # noqa: E402
from loft.orders.models import FrozenCost, FrozenCostLine, Quote, Revision  # noqa: E402
from tests import desk  # noqa: E402

QUOTES, LINES, RUNS = 10_000, 30, 7
BOUND_MS, AIM_MS = 1000, 400


def main() -> int:
    """Print the median beside its bound; 1 when it was missed."""
    connection.creation.create_test_db(verbosity=0)
    try:
        return _measure()
    finally:
        connection.creation.destroy_test_db(str(connection.settings_dict["NAME"]), verbosity=0)


def _measure() -> int:
    catalogue.load_prices(text=_supplier_list())
    _fill(random.Random(6))
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    taken = [_run() for _ in range(RUNS)]
    median = statistics.median(taken)
    what = f"exposure, {QUOTES:,} quotes x {LINES} lines, {connection.vendor}"
    print(f"{what:52} {median:7.1f} ms   (at most {BOUND_MS} ms, aim {AIM_MS}){'' if median <= BOUND_MS else '   MISSED'}")
    return int(median > BOUND_MS)


def _run() -> float:
    start = perf_counter()
    report = exposure.exposure(on=desk.TODAY, now=desk.NOW, currency="GBP")
    ms = (perf_counter() - start) * 1000
    if len(report.honoured) != QUOTES or not report.lost_minor:
        raise SystemExit(f"{len(report.honoured)} quotes, {report.lost_minor} lost: the report did not see what was stored")
    return ms


def _supplier_list() -> str:
    head = '[list]\nsupplier = "Bench"\nversion = "1"\nvalid_from = 2026-01-05\ncurrency = "GBP"\n'
    row = '[[rows]]\nrow = {n}\nmaterial = "M{n}"\ntheir_code = "B{n}"\nunit = "m"\nbreaks = [{{ from = 0, cost = {a} }}, {{ from = 50, cost = {b} }}, {{ from = 80, cost = {c} }}]\n'  # noqa: E501
    return head + "".join(row.format(n=n, a=n + 2.2, b=n + 1.1, c=n + 0.55) for n in range(1, LINES + 1))


def _fill(dice: random.Random) -> None:
    customer = desk.association()
    keys = list(Material.objects.values_list("pk", flat=True))
    Quote.objects.bulk_create([Quote(number=n + 1, customer=customer, created_at=desk.NOW) for n in range(QUOTES)], batch_size=500)
    revisions = Revision.objects.bulk_create([_revision(pk) for pk in Quote.objects.values_list("pk", flat=True)], batch_size=500)
    heads = [FrozenCost(revision=r, cost_minor=60_000, passed_minor=3_050, end_of_roll_e3=30) for r in revisions]
    FrozenCost.objects.bulk_create(heads, batch_size=500)
    lines = (_line(head, place, key, dice) for head in heads for place, key in enumerate(keys))
    FrozenCostLine.objects.bulk_create(lines, batch_size=2000)


def _revision(quote_pk: int) -> Revision:
    return Revision(
        quote_id=quote_pk, revision=1, state="issued", pattern_code="P", boats="", sails=1, currency="GBP", net_minor=130_000,
        gross_minor=156_000, below_floor=False, snapshot=b"x", drafted_at=desk.NOW, issued_at=desk.NOW, pdf=b"x", pdf_sha256="x",
        valid_until=desk.TODAY + timedelta(days=30), expires_at=desk.NOW + timedelta(days=30),
    )  # fmt: skip


def _line(head: FrozenCost, place: int, material: int, dice: random.Random) -> FrozenCostLine:
    quantity = dice.randint(1, 100_000)
    role = {0: 1, 1: 1, LINES - 1: 2}.get(place, 0)
    return FrozenCostLine(
        frozen=head, kind=0, sails=1, material_id=material, role=role, quantity_e3=quantity, together_e3=quantity,
        amount_minor=dice.randint(1, 200_000),
    )  # fmt: skip


if __name__ == "__main__":
    sys.exit(main())
