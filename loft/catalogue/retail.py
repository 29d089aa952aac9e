"""Storing the loft's own price lists: a version is never edited, a later one replaces it from its first day on."""

from __future__ import annotations

from django.contrib.auth.models import User

from costing.errors import Collector
from costing.prices.retail import RetailList
from loft.catalogue import formats, services
from loft.catalogue.models import Material, PatternVersion, RetailVersion


def load_retail(*, text: str, dry_run: bool = False, by: User | None = None) -> services.LoadReport:
    """Store a retail list. InputError: what is wrong in the file, another content under the same version, days that overlap, a pattern
    or cloth or option that the loft does not have."""
    listed = formats.read_retail(text)
    subject = f"Prices of {listed.class_code}, {listed.reference}"
    same = RetailVersion.objects.filter(class_code=listed.class_code, season=listed.season, version=listed.version).first()
    if same is not None:
        return services.unchanged(subject, same.source, listed, formats.read_retail, "retail.version", dry_run)
    others = RetailVersion.objects.filter(class_code=listed.class_code)
    periods = {f"list {o.season}, version {o.version}": (o.valid_from, o.valid_to) for o in others.filter(valid_from=listed.valid_from)}
    services.refuse_overlap(periods, listed.valid_from, listed.valid_to, "retail")
    _check_known(listed)
    row = RetailVersion(
        class_code=listed.class_code, season=listed.season, version=listed.version, valid_from=listed.valid_from,
        valid_to=listed.valid_to, **services.kept(text),
    )  # fmt: skip
    offers = sum(len(entry.offers) for entry in listed.entries)
    details = (f"in force from {listed.valid_from}", f"{len(listed.entries)} sails, {offers} offers")
    return services.store(row, subject, details, dry_run, by=by)


def _check_known(listed: RetailList) -> None:
    """Every entry names a pattern of the class, a cloth of it, and options of its table."""
    wrong = Collector()
    newest = {row.code: row for row in PatternVersion.objects.filter(class_code=listed.class_code).order_by("version")}
    cloths = set(Material.objects.filter(role="body").values_list("code", flat=True))
    for i, entry in enumerate(listed.entries):
        if entry.pattern not in newest:
            message = f"{entry.pattern!r} is no pattern of {listed.class_code}; there are {', '.join(newest) or 'none'}"
            wrong.add(f"entries[{i}].pattern", "unknown_pattern", message)
            continue
        pattern = formats.read_pattern(newest[entry.pattern].source)
        if entry.cloth not in cloths & set(pattern.cloths):
            message = f"{pattern.name} is made from {', '.join(pattern.cloths)}, not from {entry.cloth!r}"
            wrong.add(f"entries[{i}].cloth", "unknown_cloth", message)
        known = [o.code for o in pattern.options]
        for k, option in enumerate(entry.options):
            if option.option not in known:
                message = f"{pattern.name} has no option {option.option!r}; there are {', '.join(known)}"
                wrong.add(f"entries[{i}].options[{k}].option", "unknown_option", message)
    wrong.raise_if_any()
