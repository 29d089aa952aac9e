"""Whatever bytes come as a list of boats, the answer is sails or a list of problems."""

from __future__ import annotations

import contextlib

from hypothesis import given, settings
from hypothesis import strategies as st

from costing.errors import InputError
from loft.customers import boats_csv
from tests import skerling

BATCH = (skerling.FIXTURES / "skerling_batch_2026.csv").read_bytes()
PIECES = st.sampled_from(
    [b",", b";", b"\t", b'"', b"\n", b"\r", b"\x00", b"\xff", b"\xef\xbb\xbf", b"5'", b"1e9", b"no ", b":", "²٣\u202e".encode()]
)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.integers(0, len(BATCH)), st.integers(0, 9), PIECES), max_size=6), st.integers(0, len(BATCH)))
def test_a_list_damaged_in_any_place(damage: list[tuple[int, int, bytes]], end: int) -> None:
    data = BATCH[:end] if end % 3 == 0 else BATCH
    for place, dropped, piece in damage:
        data = data[:place] + piece + data[place + dropped :]
    with contextlib.suppress(InputError):
        sails = boats_csv.read_boats(data, pattern=skerling.house().pattern)
        assert sails and all(s.boat and s.owner and s.path.startswith("row ") for s in sails)
        assert all(size >= 0 for s in sails for size in s.sizes.values())
