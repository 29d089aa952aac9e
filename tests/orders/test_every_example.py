"""The annotated example of each kind of sail: class, pattern and list of boats, from the files to the papers."""

from __future__ import annotations

import json
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from costing.measurements import SailKind
from loft.catalogue import services
from tests import skerling

pytestmark = pytest.mark.django_db

SKERLING, FELLMERE = "skerling_13_2025.toml", "fellmere_28_2026.toml"
#: Kind of sail: its class's file, its pattern's, its list of boats, how many they are, what load_pattern warns of.
EXAMPLES = {
    SailKind.MAINSAIL: (SKERLING, "sk13_main_v3.toml", "skerling_batch_2026.csv", 12, ()),
    SailKind.HEADSAIL: (SKERLING, "sk13_jib_v1.toml", "skerling_jibs_2026.csv", 4, ()),
    SailKind.SYMMETRIC_SPINNAKER: (SKERLING, "sk13_spinnaker_v1.toml", "skerling_spinnakers_2026.csv", 3, ()),
    SailKind.ASYMMETRIC_SPINNAKER: (FELLMERE, "fm28_asymmetric_v1.toml", "fellmere_28_asymmetrics_2026.csv", 2, ()),
    SailKind.TRYSAIL: (FELLMERE, "fm28_trysail_v1.toml", "fellmere_28_trysails_2026.csv", 2, ("at most 2 characters",)),
    SailKind.STORM_JIB: (FELLMERE, "fm28_storm_jib_v1.toml", "fellmere_28_storm_jibs_2026.csv", 2, ("at most 1 characters",)),
}


def test_there_is_one_for_every_kind() -> None:
    assert set(EXAMPLES) == set(SailKind)


@pytest.mark.parametrize("kind", SailKind)
def test_it_loads_and_prices(kind: SailKind, tmp_path: Path) -> None:
    class_file, pattern_file, boats, count, warned = EXAMPLES[kind]
    services.load_class(text=skerling.text(class_file))
    for name in skerling.SUPPLIER_FILES:
        services.load_prices(text=skerling.text(name))
    services.load_house(text=skerling.text("larkfield_2026.toml"))
    report = services.load_pattern(text=skerling.text(pattern_file))
    assert len(report.warnings) == len(warned)
    assert all(words in said for words, said in zip(warned, report.warnings, strict=True))

    code = report.subject.split()[0]
    call_command("price_batch", code, str(skerling.FIXTURES / boats), out=tmp_path, on=skerling.PRICED_ON, stdout=StringIO())
    found = json.loads((tmp_path / "batch.json").read_text(encoding="utf-8"))
    assert len(found["sails"]) == count
    assert {design["pattern"] for design in found["designs"].values()} == {report.subject.replace(" version ", " v")}
    assert all(Decimal(sail["net"]) > Decimal(sail["cost"]) > 0 for sail in found["sails"])
    assert all((tmp_path / paper).stat().st_size for paper in ("quote.pdf", "cost-sheet.pdf", "work-sheets.pdf"))
