"""Backups: made while people work, kept so many, one a day while the shop runs, and what the home page says of them."""

import contextlib
import logging
import os
import re
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from threading import Event, Thread
from typing import Self

from django.conf import settings
from django.db import connections
from django.utils import timezone

from fabjobs.safekeeping.backup_file import fault_in_database, known_migrations, read_manifest, write_backup

KEPT = 14
OLD = timedelta(days=2)
CHECKED_EVERY = 3600.0  # [s]
CHECKED_UNOWNED = 60.0  # [s] while nobody has claimed the shop: its first backup comes soon after
NAME = re.compile(r"fabjobs-(\d{4}-\d\d-\d\d-\d{4})(?:-(\d+))?\.backup\Z")
STAMP = "%Y-%m-%d-%H%M"
MAKING = ".making-"
TROUBLE = "backup-trouble.txt"
log = logging.getLogger(__name__)


class BackupFailed(Exception):
    """No backup was made; the text says in one line why. Those there were are all still there."""


@dataclass(frozen=True, slots=True, order=True)
class Backup:
    """A backup file, known by its name: when it was made, by the shop's clock, and which of that minute it is."""

    made_at: datetime
    place: int
    file: Path

    @classmethod
    def of(cls, file: Path) -> Self | None:
        named = NAME.match(file.name)
        if not named or not file.is_file():
            return None
        with contextlib.suppress(ValueError):  # a name such as fabjobs-2026-99-99-9999.backup is not ours
            made_at = timezone.make_aware(datetime.strptime(named[1], STAMP))  # noqa: DTZ007 - the shop's own zone
            return cls(made_at, int(named[2] or 1), file)
        return None


@dataclass(frozen=True, slots=True)
class Standing:
    """How the shop stands: its newest backup, whether that is old, and why the last try failed if it did."""

    newest: Backup | None
    is_old: bool
    trouble: str

    @property
    def is_fine(self) -> bool:
        return self.newest is not None and not self.is_old and not self.trouble


def database_file() -> Path:
    """The database that this process works with."""
    return Path(str(connections["default"].settings_dict["NAME"]))


def folder() -> Path:
    """Where the daily backups go."""
    return Path(settings.BACKUPS or settings.DATA / "backups")


def takes_for_a_while(place: Path) -> int:
    """What tonight's backup takes of the disk that a folder is on, at most [bytes]; nothing where backups go to another disk.

    It writes a copy of the database, then the backup's own file, which photos make nearly as large.
    """
    try:
        there = folder() if folder().exists() else folder().parent
        if there.stat().st_dev != place.stat().st_dev:
            return 0
        return 2 * database_file().stat().st_size
    except OSError:
        return 0  # no such disk, or no file: nothing is written there tonight


def backups_in(place: Path) -> list[Backup]:
    """The backups in a folder, the newest first; none where there is no such folder."""
    try:
        found = [Backup.of(file) for file in place.iterdir()]
    except OSError:
        return []
    return sorted((backup for backup in found if backup), reverse=True)


def standing(now: datetime) -> Standing:
    """How the shop stands with its daily backups. A name from the future, by a clock that was wrong, says nothing."""
    newest = next((backup for backup in backups_in(folder()) if backup.made_at <= now + timedelta(hours=1)), None)
    trouble = ""
    with contextlib.suppress(OSError):
        trouble = (settings.DATA / TROUBLE).read_text(encoding="utf-8").strip()
    return Standing(newest, newest is not None and now - newest.made_at > OLD, trouble)


def make_backup(*, database: Path, into: Path, keep: int, now: datetime) -> Backup:
    """A backup of the database as it is at one moment, checked; older ones beyond `keep` go. Raises `BackupFailed`.

    It gets its name only when it is whole and the disk has it, and nothing older goes before. The folder is made, the
    one around it is not: where a disk is not mounted, the copies would land on the disk that they are to outlive.
    """
    if not database.is_file():
        raise BackupFailed(f"there is no shop in {database.parent} yet: nothing to back up")
    try:
        into.mkdir(mode=0o700, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=MAKING, dir=into) as making:
            made = _make(database, Path(making), now)
            backup = _name(made, into, now)
        _sync(into)
        for old in [other for other in backups_in(into) if other.file != backup.file][keep - 1 :]:
            old.file.unlink(missing_ok=True)
        _sweep(into, now)
        if into == folder():
            (settings.DATA / TROUBLE).unlink(missing_ok=True)
    except FileNotFoundError:
        why = f"there is no folder {into.parent}: is that disk there?" if not into.parent.exists() else "it went away"
        raise BackupFailed(f"cannot write backups in {into} ({why})") from None
    except OSError as error:
        raise BackupFailed(f"cannot write backups in {into} ({error.strerror or error})") from None
    except sqlite3.Error as error:
        raise BackupFailed(f"cannot copy the database into {into} ({error})") from None
    return backup


def _make(database: Path, making: Path, now: datetime) -> Path:
    """The file of a backup, whole and read through once more, still under a name that nothing looks for."""
    copy, file = making / "copy.sqlite3", making / "file"
    with closing(sqlite3.connect(f"{database.absolute().as_uri()}?mode=rw", uri=True, timeout=20)) as rows:
        rows.execute("VACUUM INTO ?", [str(copy)])  # one read transaction: nobody waits for it, and no half of a write
    with closing(sqlite3.connect(copy)) as rows:
        rows.execute("PRAGMA secure_delete = ON")
        rows.execute("DELETE FROM django_session")
        rows.execute("DELETE FROM fabjobs_setupcode")
        rows.commit()
    if fault := fault_in_database(copy):
        raise BackupFailed(f"the database itself is damaged ({fault}): restore an older backup; all are kept")
    written = write_backup(copy, file, now)
    if read_manifest(file, known_migrations()) != written:
        raise BackupFailed(f"what was written in {making.parent} reads back as something else: check that disk")
    return file


def _name(made: Path, into: Path, now: datetime) -> Backup:
    """The backup under its dated name, one that is not taken."""
    stamp = timezone.localtime(now).strftime(STAMP)
    place = 1
    while (file := into / f"fabjobs-{stamp}{f'-{place}' if place > 1 else ''}.backup").exists():
        place += 1
    made.replace(file)
    return Backup(now, place, file)


def _sync(folder: Path) -> None:
    """See that the disk has the folder's names too, where the system lets a folder be synced."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(into: Path, now: datetime) -> None:
    """What a backup that was killed left behind, once it can't be one that is still being made."""
    for left in into.glob(f"{MAKING}*"):
        with contextlib.suppress(OSError):
            if now.timestamp() - left.stat().st_mtime > 24 * 3600:
                shutil.rmtree(left, ignore_errors=True)


def make_todays(now: datetime) -> Backup | None:
    """Today's backup, unless there is one or the shop has no owner yet. A failure is kept for the home page."""
    today = timezone.localdate(now)
    if any(timezone.localdate(backup.made_at) == today for backup in backups_in(folder())) or not _is_owned():
        return None
    try:
        return make_backup(database=database_file(), into=folder(), keep=KEPT, now=now)
    except BackupFailed as error:
        with contextlib.suppress(OSError):  # the same full disk, perhaps; the terminal has it
            (settings.DATA / TROUBLE).write_text(f"{error}\n", encoding="utf-8")
        raise


def _is_owned() -> bool:
    if not database_file().is_file():
        return False
    try:
        with closing(sqlite3.connect(f"{database_file().absolute().as_uri()}?mode=rw", uri=True, timeout=20)) as rows:
            return rows.execute("SELECT 1 FROM fabjobs_person LIMIT 1").fetchone() is not None
    except sqlite3.Error:
        return True  # whatever is wrong there, the backup will say it


@contextmanager
def one_a_day() -> Iterator[None]:
    """While this lasts, today's backup is made as soon as it is due, beside whatever else the process does."""
    over = Event()
    watch = Thread(target=_watch, args=(over,), name="backups", daemon=True)
    watch.start()
    try:
        yield
    finally:
        over.set()
        watch.join(timeout=5)


def _watch(over: Event) -> None:
    while True:
        owned = _is_owned()  # asked first: a shop claimed while this goes on has its backup at the next look
        try:
            make_todays(timezone.now())
        except BackupFailed as error:
            log.error("No backup was made today: %s", error)
        except Exception:
            log.exception("No backup was made today")
        if over.wait(CHECKED_EVERY if owned else CHECKED_UNOWNED):
            return
