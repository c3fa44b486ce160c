"""Who uses the data folder: the shop while it runs shares it, a restore has it alone. A crash lets go of it by itself.

The lock is SQLite's own, on an empty file beside the database: alike on every system, and dropped with its process.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

LOCK_FILE = "in-use.lock"


class FolderInUse(Exception):
    """Someone else has the data folder in a way that rules this use out."""


@contextmanager
def shared(folder: Path) -> Iterator[None]:
    """Hold the folder as a running shop does. Raises `FolderInUse` while something is being restored into it."""
    with _locked(folder, "BEGIN", f"something is being restored into {folder}: wait until that has ended"):
        yield


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Hold the folder for a restore. Raises `FolderInUse` while a shop runs over it or a backup is being made."""
    with _locked(folder, "BEGIN EXCLUSIVE", f"the shop in {folder} is running: stop it first (Ctrl-C where it runs)"):
        yield


@contextmanager
def _locked(folder: Path, begin: str, refusal: str) -> Iterator[None]:
    try:
        lock = sqlite3.connect(folder / LOCK_FILE, timeout=0, isolation_level=None, check_same_thread=False)
    except sqlite3.Error as error:
        raise FolderInUse(f"cannot write in the data folder {folder} ({error})") from None
    with closing(lock):
        try:
            lock.execute(begin)
            lock.execute("SELECT count(*) FROM sqlite_master").fetchone()  # takes the shared lock, kept until the end
        except sqlite3.Error as error:
            busy = error.sqlite_errorcode == sqlite3.SQLITE_BUSY
            raise FolderInUse(refusal if busy else f"cannot lock the data folder {folder} ({error})") from None
        yield
