"""Every kill and race in full counts, on SQLite and then on PostgreSQL, and one table of the figures: `python -m tests.faults`.

DATABASE_URL       a PostgreSQL server to test on as well; without one only SQLite is tested, and the table says so
LOFT_BROKER_URL    a broker for the tests that need one
LOFT_FAULTS        full (the default here) or short
More arguments go to pytest.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

Row = dict[str, str]

_WORDS = {"passed": "holds", "failed": "MISSED", "skipped": "not tried"}


def main(arguments: Sequence[str]) -> int:
    """Run, print the table, and return 1 when a figure was missed or not tried."""
    postgres = os.environ.get("DATABASE_URL", "")
    with tempfile.TemporaryDirectory() as folder:
        figures = Path(folder) / "figures.jsonl"
        codes = [_run("", figures, arguments)]
        if postgres:
            codes.append(_run(postgres, figures, arguments))
        rows = [json.loads(line) for line in figures.read_text(encoding="utf-8").splitlines()] if figures.exists() else []
    print(_table(rows))
    if not postgres:
        print("PostgreSQL: not tried, DATABASE_URL is not set")
    return int(any(codes) or not postgres or any(row["verdict"] != "passed" for row in rows))


def _run(database: str, figures: Path, arguments: Sequence[str]) -> int:
    environment = {"LOFT_FAULTS": "full", **os.environ, "DATABASE_URL": database, "LOFT_FAULTS_FIGURES": str(figures)}
    command = [sys.executable, "-m", "pytest", "-q", str(Path(__file__).parent), *arguments]
    return subprocess.run(command, env=environment, check=False).returncode


def _table(rows: Sequence[Row]) -> str:
    """Figure, database, asked, measured, verdict; the rows of one figure together."""
    names = list(dict.fromkeys(row["what"] for row in rows))
    ordered = sorted(rows, key=lambda row: (names.index(row["what"]), row["database"] != "sqlite"))
    lines = [("figure", "database", "asked", "measured", "verdict"), ("---",) * 5]
    lines += [(row["what"], row["database"], row["asked"], row["measured"], _WORDS[row["verdict"]]) for row in ordered]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
