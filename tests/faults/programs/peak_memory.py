"""`manage.py`, which prints at its end how much memory it held at most: `python -m tests.faults.programs.peak_memory backup FILE`.

The last line is the peak of this program alone in MB (VmHWM of /proc, so on Linux only), or 0 where the system does not say.
"""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

import django


def main(arguments: list[str]) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "loft.settings")
    django.setup()
    from django.core.management import call_command

    call_command(*arguments)
    print(_peak_mb())


def _peak_mb() -> int:
    status = Path("/proc/self/status")
    found = re.search(r"VmHWM:\s+(\d+) kB", status.read_text(encoding="ascii")) if status.exists() else None
    return int(found[1]) // 1000 if found else 0


if __name__ == "__main__":
    main(sys.argv[1:])
