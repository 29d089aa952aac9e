"""The nesting library in a process of its own: `python -m loft.workshop.nesting_child` reads a task and prints the answer.

Task: {"height": mm, "seconds": float, "seed": int, "workers": 1, "items": [{"outline": [[x, y], ...], "angles": [deg, ...]}, ...]}.
Answer: {"spots": [[x, y, deg], ...]} in the order of the items. The library works in single precision and cannot be told to stop, so
whoever asks checks what comes back and ends this process when it is late.
"""

from __future__ import annotations

import json
import sys
from datetime import timedelta
from typing import Any

import spyrrow

#: Of the time, for finding short lays; the rest for pressing the best together (the library's own split).
_EXPLORING = 0.8


def solved(task: dict[str, Any]) -> dict[str, Any]:
    """Where the library puts each item."""
    items = [spyrrow.Item(str(n), [tuple(p) for p in item["outline"]], 1, item["angles"]) for n, item in enumerate(task["items"])]
    instance = spyrrow.StripPackingInstance("section", task["height"], items)
    workers = task["workers"]
    config = spyrrow.StripPackingConfig(early_termination=False, total_computation_time=1, num_workers=workers, seed=task["seed"])
    config.exploration_time = timedelta(seconds=_EXPLORING * task["seconds"])
    config.compression_time = timedelta(seconds=(1 - _EXPLORING) * task["seconds"])
    found = {int(one.id): one for one in instance.solve(config).placed_items}
    return {"spots": [[*found[n].translation, round(found[n].rotation) % 360] for n in range(len(items))]}


if __name__ == "__main__":
    json.dump(solved(json.load(sys.stdin)), sys.stdout)
