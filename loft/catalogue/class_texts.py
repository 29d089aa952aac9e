"""A new text of a class's rules against the one before it: of the same edition where it corrects that one, else of the edition before."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import QuerySet

from costing.errors import problem
from costing.rules import ClassRule
from loft.catalogue import differences, formats, trying
from loft.catalogue.models import PatternVersion, RuleEdition


def refuse_wrong_number(rule: ClassRule, standing: RuleEdition | None) -> None:
    """A corrected text is numbered after the one that stands; InputError where there is none, or its number is another."""
    if standing is None and rule.correction:
        said = f"edition {rule.edition} of class {rule.code} is not loaded, so there is nothing to correct: leave correction out"
        raise problem("class.correction", "nothing_to_correct", said)
    if standing is not None and rule.correction != standing.correction + 1:
        stands = f"corrected text {standing.correction}" if standing.correction else "the first text"
        said = f"of edition {rule.edition} {stands} stands: the next one has correction = {standing.correction + 1}"
        raise problem("class.correction", "wrong_number", said)


def against_before(rule: ClassRule, standing: RuleEdition | None, others: QuerySet[RuleEdition]) -> tuple[str, ...]:
    """What changes, in sentences. standing: the text that is corrected; others: the other editions as they stand."""
    before = standing or others.filter(valid_from__lt=rule.valid_from).order_by("-valid_from").first()
    if before is None:
        return ()
    what = f"the text of edition {before.edition} that stood so far" if standing else f"edition {before.edition}"
    changes = tuple(differences.class_changes(formats.read_class(before.source), rule))
    return (f"against {what}:", *(f"  {said}" for said in changes or ("nothing changes",)))


def patterns_against(rule: ClassRule, text: str) -> Iterator[str]:
    """Of the patterns of a corrected edition, each one's newest version, why no sail of it could be quoted by the corrected text."""
    newest = {row.code: row for row in PatternVersion.objects.filter(class_code=rule.code).order_by("code", "version")}
    for row in newest.values():
        if formats.read_pattern(row.source).edition == rule.edition:
            _, problems = trying.tried(row.source, text)
            yield from (f"{row} cannot be quoted by this text: {p.path}: {p.message}" for p in problems)
