"""Trying a pattern against what is loaded, before it is stored for good."""

from __future__ import annotations

from functools import lru_cache

from costing.cloth import Make, Table
from costing.errors import Collector, Problem
from costing.quote import Pattern, trial
from costing.rules import ClassRule
from loft.catalogue import selectors
from loft.catalogue.models import HouseStandard, SupplierList


def tried(pattern_text: str, class_text: str) -> tuple[trial.Tried, tuple[Problem, ...]]:
    """What a trial of the pattern says, and why no sail of it could be quoted; by the newest house file and every list."""
    house = HouseStandard.objects.order_by("-valid_from").values_list("source", flat=True).first()
    lists = tuple(SupplierList.objects.order_by("valid_from", "pk").values_list("source", flat=True))
    return _tried(pattern_text, class_text, house or "", lists)


def proposed(pattern: Pattern, rule: ClassRule) -> Make:
    """A pattern's making with the seams that are proposed for it; InputError where no sail can be drawn."""
    lists = tuple(SupplierList.objects.order_by("valid_from", "pk").values_list("source", flat=True))
    return trial.propose(pattern, _bench(rule, "", lists))


@lru_cache(maxsize=32)
def _tried(pattern_text: str, class_text: str, house_text: str, list_texts: tuple[str, ...]) -> tuple[trial.Tried, tuple[Problem, ...]]:
    wrong = Collector()
    bench = _bench(selectors.read_class(class_text), house_text, list_texts)
    said = trial.try_pattern(selectors.read_pattern(pattern_text), bench, wrong)
    return said, tuple(wrong)


def _bench(rule: ClassRule, house_text: str, list_texts: tuple[str, ...]) -> trial.Bench:
    files = [selectors.read_prices(text) for text in list_texts]  # the oldest first: a cloth is what its newest list describes
    own = selectors.read_house(house_text) if house_text else None
    return trial.Bench(
        class_rule=rule,
        cloths={cloth.code: cloth for file in files for cloth in file.cloths},
        lists=tuple(file.prices for file in files),
        labour=own.labour if own else None,
        table=own.table if own else Table(),
        names={code: name for file in files for code, name in file.names.items()},
    )
