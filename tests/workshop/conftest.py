from __future__ import annotations

import pytest

from tests import desk


@pytest.fixture
def loft(db: None) -> None:
    """The invented loft's catalogue and profile."""
    desk.load_catalogue()
