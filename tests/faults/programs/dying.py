"""The web application, killed at one chosen point: LOFT_DIE_AT="loft.common.idempotency:_keep" dies where that function would begin."""

from __future__ import annotations

import importlib
import os
import signal
from typing import Any, NoReturn

from loft.wsgi import application

__all__ = ["application"]


def _die(*args: Any, **kwargs: Any) -> NoReturn:
    os.kill(os.getpid(), signal.SIGKILL)
    raise AssertionError("a killed process went on")


_module, _, _function = os.environ["LOFT_DIE_AT"].partition(":")
_owner = importlib.import_module(_module)
assert callable(getattr(_owner, _function)), f"{_module} has no function {_function}"
setattr(_owner, _function, _die)
