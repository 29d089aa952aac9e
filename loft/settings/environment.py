"""What the settings read from the environment, and the keys that are made on the first run."""

from __future__ import annotations

import os
import re
import secrets
from pathlib import Path
from urllib.parse import urlsplit

_TRUE = {"1", "true", "yes", "on"}
_FALSE = {"", "0", "false", "no", "off"}
_LOOPBACK = ("localhost", "127.0.0.1", "[::1]")


def flag(name: str, default: bool = False) -> bool:
    """A yes-or-no variable; ValueError for a word that is neither, so that a typing error is not read as "no"."""
    word = os.environ.get(name)
    if word is None:
        return default
    if word.strip().lower() in _TRUE:
        return True
    if word.strip().lower() in _FALSE:
        return False
    raise ValueError(f"{name}={word!r}: write one of 1, true, yes, on, 0, false, no, off")


def words(name: str) -> list[str]:
    """A variable with values separated by commas; empty when it is not set."""
    return [word.strip() for word in os.environ.get(name, "").split(",") if word.strip()]


def limits(name: str, usual: dict[str, tuple[int, int]]) -> dict[str, tuple[int, int]]:
    """Rates like "costly=120/60", each changing one of the usual ones; ValueError for anything else."""
    changed = dict(usual)
    for word in words(name):
        found = re.fullmatch(r"(\w+)=([1-9][0-9]*)/([1-9][0-9]*)", word)
        if found is None or found[1] not in usual:
            raise ValueError(f"{name}: {word!r} is not like costly=120/60; there are {', '.join(usual)}")
        changed[found[1]] = (int(found[2]), int(found[3]))
    return changed


def is_loopback(url: str) -> bool:
    """Whether an address is served to this machine alone, so that cookies may travel without TLS."""
    host = urlsplit(url).hostname or ""
    return host in {"localhost", "127.0.0.1", "::1"}


def allowed_hosts(base_url: str) -> list[str]:
    """The host names that requests may ask for: the public one, those of LOFT_ALLOWED_HOSTS and loopback."""
    public = urlsplit(base_url).hostname
    asked = words("LOFT_ALLOWED_HOSTS")
    return list(dict.fromkeys([*asked, *([public] if public else []), *_LOOPBACK]))


def kept_key(path: Path) -> str:
    """The key in a file, made on the first run: 64 random bytes, readable by the owner alone.

    The key is written whole under a name of its own and then linked into place, which fails if another process was
    faster: nobody ever reads half a key, and all processes agree on one.
    """
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_name(f".{path.name}.{secrets.token_hex(8)}")
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(secrets.token_urlsafe(64))
        try:
            os.link(draft, path)
        except FileExistsError:
            pass
        finally:
            draft.unlink()
    return path.read_text(encoding="ascii").strip()
