"""The settings of a test run: the service's own, with a place of its own for files and a database of its own."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

_VAR = tempfile.mkdtemp(prefix="loft-test-")
atexit.register(shutil.rmtree, _VAR, ignore_errors=True)
(Path(_VAR) / "static").mkdir()
os.environ["LOFT_VAR"] = _VAR
os.environ.setdefault("LOFT_LOG_LEVEL", "WARNING")
# The tests of load draft and draw more in a minute than a person does.
os.environ.setdefault("LOFT_LIMITS", "costly=100000/60,drawn=100000/60,link_drawn=100000/60")
# A broker is for the tests that ask for one; all others must not talk to it.
TEST_BROKER_URL = os.environ.pop("LOFT_BROKER_URL", "")

from loft.settings import *  # noqa: E402, F403
from loft.settings import DATABASES  # noqa: E402

# SQLite in a file, as in service: child processes and threads of a test then see the same rows under the same locking.
_SQLITE = DATABASES["default"]["ENGINE"].endswith("sqlite3")
DATABASES["default"]["TEST"] = {"NAME": str(Path(_VAR) / "test.sqlite3") if _SQLITE else f"test_loft_{os.getpid()}"}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
