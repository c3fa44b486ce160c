"""Who uses the data folder: the shop while it runs shares it, a restore has it alone; and whether a worker works in it. A
crash lets go of it by itself.

A lock is SQLite's own, on an empty file beside the database: alike on every system, and dropped with its process.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

LOCK_FILE, WORKER_FILE = "in-use.lock", "worker.lock"
PATIENCE = (
    5.0  # [s] that a worker waits for the one before it to be gone, or for someone who looks whether there is one
)


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
def only_worker(folder: Path) -> Iterator[None]:
    """Be the one worker in this folder. Raises `FolderInUse` where there is one already."""
    refusal = f"a worker works in {folder} already: one is enough (`start` brings its own)"
    with _locked(folder, "BEGIN EXCLUSIVE", refusal, file=WORKER_FILE, patience=PATIENCE):
        yield


def has_worker(folder: Path) -> bool:
    """Whether a worker lives that works in this folder."""
    if not (folder / WORKER_FILE).exists():
        return False
    try:
        with _locked(folder, "BEGIN", "", file=WORKER_FILE):
            return False
    except FolderInUse:
        return True


@contextmanager
def _locked(folder: Path, begin: str, refusal: str, *, file: str = LOCK_FILE, patience: float = 0.0) -> Iterator[None]:
    try:
        lock = sqlite3.connect(folder / file, timeout=patience, isolation_level=None, check_same_thread=False)
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
