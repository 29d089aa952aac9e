"""How long the paper takes in a warm process; run as a program, prints medians against what is asked."""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

from loft.documents import cost_sheet_pdf, lay_svg, quote_pdf, sail_svg, tickets_pdf
from tests.documents import sample

ASKED_QUOTE_MS = 60.0


def median_ms(work: Callable[[], object], rounds: int = 15) -> float:
    """The median time of a piece of work, ms, after one run to warm up."""
    work()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times)


if __name__ == "__main__":
    quote, ticket, cost, design = sample.quote_document(), sample.ticket(1), sample.cost_sheet(), sample.first_design()
    asked = f"  (asked: at most {ASKED_QUOTE_MS:.0f} ms)"
    print(f"documents: quote of 12 boats        median {median_ms(lambda: quote_pdf(quote)):6.1f} ms{asked}")
    print(f"documents: three sheets of a ticket median {median_ms(lambda: tickets_pdf([ticket])):6.1f} ms")
    print(f"documents: cost sheet of 12 boats   median {median_ms(lambda: cost_sheet_pdf(cost)):6.1f} ms")
    print(f"documents: sail and lay as SVG      median {median_ms(lambda: (sail_svg(design), lay_svg(design))):6.1f} ms")
