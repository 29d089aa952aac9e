"""Every kill and race in full counts, on SQLite and on PostgreSQL, and one table of the figures: `python -m tests.faults`.

    --only NAME     only the files with this in their name; may be given more than once
    --database ...  sqlite or postgresql alone
    --short         the few tries of an everyday test run

DATABASE_URL, LOFT_BROKER_URL and LOFT_REDIS_URL name PostgreSQL, RabbitMQ and Redis; without them the usual ports of this machine are
tried. Every file runs alone, in databases and queues of its own. The code is 1 when a figure was missed or could not be measured.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path

from tests.faults import figures, runs
from tests.faults.figures import Row, Verdict

#: How long a file may take, in full and short, seconds.
USUAL_LIMITS = (900, 300)
LIMITS = {
    "test_api_against_its_description": (3600, 600),
    "test_money_agrees": (1800, 300),
    "test_revisions_at_once": (1800, 300),
    "test_worker_kills": (1800, 300),
    "test_backup_of_many": (1200, 300),
}


def main(arguments: Sequence[str]) -> int:
    """Run, print the table, and return 1 when a figure was missed or could not be measured."""
    asked = _arguments(arguments)
    files = [file for file in sorted(Path(__file__).parent.glob("test_*.py")) if not asked.only or any(n in file.stem for n in asked.only)]
    if not files:
        print(f"no file has {' or '.join(asked.only)} in its name")
        return 2
    databases = {"sqlite": "", "postgresql": runs.part(runs.POSTGRES)}
    shared = {"LOFT_FAULTS": "short" if asked.short else "full", **{name: runs.part(name) for name in (runs.BROKER, runs.REDIS)}}
    rows: list[Row] = []
    for name in (asked.database,) if asked.database else databases:
        if name == "postgresql" and not databases[name]:
            rows.append(Row("everything", name, "", "no server answers: set DATABASE_URL", Verdict.NOT_TRIED, 0))
            continue
        for file in files:
            rows += _run(file, name, {**os.environ, **shared, runs.POSTGRES: databases[name]}, short=asked.short)
    print(figures.table(rows))
    return int(any(row.wrong for row in rows))


def _arguments(arguments: Sequence[str]) -> Namespace:
    parser = ArgumentParser(prog="python -m tests.faults", description="Kills and races, and one table of their figures.")
    parser.add_argument("--only", action="append", metavar="NAME", help="only the files with this in their name")
    parser.add_argument("--database", choices=("sqlite", "postgresql"), help="only this one")
    parser.add_argument("--short", action="store_true", help="a few tries of each")
    return parser.parse_args(arguments)


def _run(file: Path, database: str, environment: dict[str, str], *, short: bool) -> list[Row]:
    """Run one file on one database, say how it goes, and return its rows."""
    within_s = LIMITS.get(file.stem, USUAL_LIMITS)[short]
    about = f"{database}, {file.stem}"
    _say(f"{about}: begins, at most {within_s} s")
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "figures.jsonl"
        told = {**environment, "LOFT_FAULTS_FIGURES": str(kept)}
        ended = runs.run(file, told, Path(folder) / "log", within_s=within_s, alive=lambda seconds: _say(f"{about}: {seconds} s so far"))
        rows = figures.read(kept)
    if ended.code is None:
        rows.append(Row(file.stem, database, "an end", f"stopped after {within_s} s", Verdict.BROKEN, ended.seconds))
    elif ended.code and not any(row.wrong for row in rows):
        rows.append(Row(file.stem, database, "all its tests pass", f"pytest ended with {ended.code}", Verdict.BROKEN, ended.seconds))
    for row in rows:
        _say(f"{row.place}, {file.stem}: {row.verdict}: {row.found}")
    if any(row.wrong for row in rows):
        print(ended.printed[-6000:], flush=True)
    return rows


def _say(words: str) -> None:
    print(f"{time.strftime('%H:%M:%S')}  {words}", flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
