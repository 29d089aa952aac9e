"""Prints what the database holds, as figures to compare: quotes, the sums of their money, and one hash over papers and snapshots."""

from __future__ import annotations

import hashlib
import json
import os
import sys

import django


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "loft.settings")
    django.setup()
    from loft.orders.models import AcceptanceLink, Quote, Revision

    net = gross = 0
    digest = hashlib.sha256()
    for row in Revision.objects.order_by("pk").iterator(chunk_size=200):
        net, gross = net + row.net_minor, gross + row.gross_minor
        digest.update(bytes(row.snapshot) + bytes(row.pdf or b"") + row.pdf_sha256.encode())
    for fingerprint in AcceptanceLink.objects.order_by("pk").values_list("token_sha256", flat=True).iterator():
        digest.update(fingerprint.encode())
    figures = {"quotes": Quote.objects.count(), "net": net, "gross": gross, "sha256": digest.hexdigest()}
    json.dump(figures, sys.stdout, sort_keys=True)


if __name__ == "__main__":
    main()
