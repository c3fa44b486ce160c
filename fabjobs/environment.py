"""What the settings read from outside: environment variables, the kept secret key, the local time zone."""

import contextlib
import os
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.core.exceptions import ImproperlyConfigured
from django.core.management.utils import get_random_secret_key

KEY_FILE = "secret.key"


def switch(name: str) -> bool:
    """An on/off variable; unset is off, anything unclear is refused."""
    text = os.environ.get(name, "").strip().lower()
    if text in {"", "0", "no", "off", "false"}:
        return False
    if text in {"1", "yes", "on", "true"}:
        return True
    raise ImproperlyConfigured(f"{name} must be 1 or 0 (got {text!r})")


def names(name: str) -> list[str]:
    """A list separated by commas."""
    return [part.strip() for part in os.environ.get(name, "").split(",") if part.strip()]


def secret_key(folder: Path) -> str:
    """The key from the environment or the data folder, else one for this process alone.

    Reading makes nothing, so `plan` works where nothing may be written; `keep_secret_key` makes the file.
    """
    given = os.environ.get("FABJOBS_SECRET_KEY", "")
    if given:
        return given
    try:
        kept = (folder / KEY_FILE).read_text(encoding="ascii").strip()
    except OSError:
        return get_random_secret_key()
    if len(kept) < 50:
        raise ImproperlyConfigured(f"{folder / KEY_FILE} is damaged: delete it and start again")
    return kept


def keep_secret_key(folder: Path, key: str) -> str:
    """Write the key where only its owner reads it, unless one is there already; return the one to use."""
    if os.environ.get("FABJOBS_SECRET_KEY"):
        return key
    try:
        handle = os.open(folder / KEY_FILE, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return secret_key(folder)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(key)
    return key


def time_zone() -> str:
    """FABJOBS_TZ, else this machine's own zone where its name can be read, else UTC."""
    wanted = os.environ.get("FABJOBS_TZ", "")
    if wanted:
        if not _is_zone(wanted):
            raise ImproperlyConfigured(f"FABJOBS_TZ must be a zone such as Europe/Oslo (got {wanted!r})")
        return wanted
    return next((zone for zone in (os.environ.get("TZ", ""), *_system_zones()) if _is_zone(zone)), "UTC")


def _system_zones() -> list[str]:
    zones = []
    with contextlib.suppress(OSError, UnicodeDecodeError):
        zones.append(Path("/etc/timezone").read_text(encoding="ascii").strip())
    _, found, name = os.path.realpath("/etc/localtime").partition("zoneinfo/")
    if found:
        zones.append(name)
    return zones


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True
