"""Rules of the house that no import contract can express."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps
from django.db import models

ROOT = Path(__file__).parent.parent
CALCULATION = sorted((ROOT / "costing").rglob("*.py"))

# The same order as the import contract in pyproject.toml: a table may point at tables of its own app and of those below.
LEVEL = {"orders": 5, "workshop": 4, "customers": 4, "catalogue": 3, "jobs": 2, "common": 1, "auth": 0}


def pointers() -> Iterator[tuple[str, str, str]]:
    """Every link from one table of ours to another table: (field, from app, to app)."""
    for model in apps.get_models():
        if not model.__module__.startswith("loft."):
            continue
        for field in model._meta.get_fields():
            if isinstance(field, models.ForeignKey | models.ManyToManyField) and isinstance(field.remote_field.model, type):
                yield f"{model._meta.label}.{field.name}", model._meta.app_label, field.remote_field.model._meta.app_label


def may_point(source: str, target: str) -> bool:
    return source == target or LEVEL[target] < LEVEL[source]


def test_tables_point_the_same_way_as_imports() -> None:
    found = list(pointers())
    assert len(found) > 10
    assert [field for field, source, target in found if not may_point(source, target)] == []


def test_the_direction_rule_can_fail() -> None:
    assert not may_point("workshop", "orders")
    assert not may_point("workshop", "customers")
    assert may_point("orders", "workshop")


def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


# What reads the clock, a file, the environment or chance: (written on what, called what).
IMPURE_METHODS = {"now", "today", "utcnow", "read_text", "read_bytes", "write_text", "write_bytes", "getenv", "urlopen"}
IMPURE_FUNCTIONS = {"open", "input", "exec", "eval", "__import__", "breakpoint", "print"}


def impure(tree: ast.Module) -> Iterator[str]:
    """Every call in a module whose result depends on more than its arguments."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        called = node.func
        if isinstance(called, ast.Name) and called.id in IMPURE_FUNCTIONS:
            yield f"line {node.lineno}: {called.id}()"
        if isinstance(called, ast.Attribute):
            seeded = called.attr == "Random" and bool(node.args)
            from_random = isinstance(called.value, ast.Name) and called.value.id == "random" and not seeded
            if called.attr in IMPURE_METHODS or from_random:
                yield f"line {node.lineno}: .{called.attr}()"


@pytest.mark.parametrize("path", CALCULATION, ids=[str(path.relative_to(ROOT)) for path in CALCULATION])
def test_the_calculation_reads_no_clock_no_file_and_no_chance(path: Path) -> None:
    assert list(impure(parsed(path))) == []


IMPURE = ["from datetime import date\ndate.today()", "open('x')", "path.read_text()", "import random\nrandom.random()", "random.Random()"]


@pytest.mark.parametrize("source", IMPURE)
def test_the_purity_check_can_fail(source: str) -> None:
    assert len(list(impure(ast.parse(source)))) == 1


def test_a_seeded_generator_is_pure() -> None:
    assert list(impure(ast.parse("import random\nrandom.Random(7)"))) == []


def test_no_model_hides_work_in_save_and_none_orders_by_default() -> None:
    ours = [model for model in apps.get_models() if model.__module__.startswith("loft.")]
    assert [model._meta.label for model in ours if "save" in vars(model)] == []
    assert [model._meta.label for model in ours if model._meta.ordering] == []


def test_files_stay_short() -> None:
    files = [path for folder in ("costing", "loft") for path in (ROOT / folder).rglob("*.py") if "migrations" not in path.parts]
    assert len(files) > 100
    lengths = {str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines()) for path in files}
    assert {name: length for name, length in lengths.items() if length > 350} == {}
