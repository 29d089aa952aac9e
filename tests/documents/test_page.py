"""Papers drawn at the same time by several threads, as the service does."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest

from loft.documents import layout, page

# Each text uses other letters, so that each paper needs another subset of the typeface.
TEXTS = tuple("".join(chr(first + i) for i in range(60)) for first in range(0x100, 0x180, 4))


def _paper(text: str) -> bytes:
    return page.render([page.Sheet(story=[layout.text(text, layout.BODY)], foot="", running=("", ""))], title="t", author="a")


@pytest.fixture
def restless_threads() -> Iterator[None]:
    """Threads that take turns after each few instructions, so that one that is not guarded is caught."""
    usual = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    yield
    sys.setswitchinterval(usual)


def test_papers_drawn_at_once_are_the_same_as_one_after_another(restless_threads: None) -> None:
    alone = [_paper(text) for text in TEXTS]
    with ThreadPoolExecutor(8) as threads:
        together = list(threads.map(_paper, TEXTS * 4))
    assert [a == b for a, b in zip(alone * 4, together, strict=True)] == [True] * len(together)
