"""Putting a backup back: first everything that can be refused is, then one rename puts it in place of what was there.

At every moment the database file is the old one or the new one, whole: a restore that is killed can be run again.
"""

import contextlib
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.core.management import call_command
from django.db import connections
from django.utils import timezone

from fabjobs.safekeeping import folder_lock
from fabjobs.safekeeping.backup_file import DATABASE, BackupRefused, known_migrations, read_manifest, unpack_database
from fabjobs.safekeeping.backups import STAMP

MAKING = ".restoring-"
OPEN = "used_by_id IS NULL AND withdrawn_at IS NULL"  # of an invitation
WITH_IT = ("-wal", "-shm")  # what SQLite keeps beside a database that was not closed


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restore did: from when the data is, and where the data that was there is now (None: there was none)."""

    made_at: datetime
    aside: Path | None


@dataclass(frozen=True, slots=True)
class Held:
    """What a backup holds, for the person to know it by."""

    made_at: datetime
    shop: str
    jobs: int


class NotAgreed(Exception):
    """The person said no."""


def restore_backup(file: Path, *, database: Path, agree: Callable[[Held], bool], now: datetime) -> Restored:
    """Put a backup in place of the database. Raises `BackupRefused`, `FolderInUse`, `NotAgreed`; then nothing changed.

    agree: asked once all is ready, with what the backup holds.
    """
    manifest = read_manifest(file, known_migrations())
    try:
        database.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        _see_that_it_fits(file, manifest.size, database.parent)
        with (
            folder_lock.alone(database.parent),
            tempfile.TemporaryDirectory(prefix=MAKING, dir=database.parent) as making,
        ):
            _sweep(database.parent, but=Path(making))
            new = Path(making) / DATABASE
            unpack_database(file, new, manifest)
            _migrate(new)
            _close_links(new, now)
            if not agree(_held(new, manifest.made_at)):
                raise NotAgreed
            return Restored(manifest.made_at, _put_in_place(new, database, now))
    except OSError as error:
        raise BackupRefused(f"cannot write in {database.parent} ({error.strerror or error})") from None


def _see_that_it_fits(file: Path, size: int, place: Path) -> None:
    if (free := shutil.disk_usage(place).free) < 2 * size:
        raise BackupRefused(f"{file.name} needs {2 * size / 1e6:.0f} MB free in {place}; there are {free / 1e6:.0f} MB")


def _migrate(new: Path) -> None:
    """Bring an unpacked database up to date, so that what is put in place is ready to serve."""
    with _working_with(new):
        call_command("migrate", verbosity=0, interactive=False)
    with closing(sqlite3.connect(new)) as rows:  # one file again, with nothing beside it
        rows.execute("PRAGMA journal_mode = DELETE")


def _close_links(new: Path, now: datetime) -> None:
    """Withdraw the invitations that were open: one of them may have been used or withdrawn since, and would open again."""
    moment = now.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S.%f")  # as Django keeps it
    with closing(sqlite3.connect(new)) as rows:
        rows.execute(f"UPDATE fabjobs_invitation SET withdrawn_at = ? WHERE {OPEN}", [moment])  # noqa: S608 - a constant
        rows.commit()


@contextmanager
def _working_with(database: Path) -> Iterator[None]:
    """This process's database is another file for a while."""
    connection = connections["default"]
    connection.close()
    usual = connection.settings_dict["NAME"]
    connection.settings_dict["NAME"] = str(database)
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = usual


def _held(database: Path, made_at: datetime) -> Held:
    with closing(sqlite3.connect(database)) as rows:
        (jobs,) = rows.execute("SELECT count(*) FROM fabjobs_job").fetchone()
        shop = rows.execute("SELECT name FROM fabjobs_shopsettings").fetchone()
    return Held(made_at, str(shop[0]) if shop else "a shop without a name yet", int(jobs))


def _sweep(folder: Path, *, but: Path) -> None:
    """What a restore that was killed left behind; nobody else is in the folder now."""
    for left in folder.glob(f"{MAKING}*"):
        if left != but:
            shutil.rmtree(left, ignore_errors=True)


def _put_in_place(new: Path, database: Path, now: datetime) -> Path | None:
    """One rename, after the old data has a second name that keeps it."""
    _fsync(new)
    if not database.exists():
        for tail in WITH_IT:  # of a database that someone took away; played into this one they would ruin it
            _beside(database, tail).unlink(missing_ok=True)
        os.replace(new, database)
        return None
    aside = _free_name(database, now)
    _settle(database)
    try:
        os.link(database, aside)
    except OSError:  # a disk that knows no second names
        shutil.copy2(database, aside)
        _fsync(aside)
    for tail in WITH_IT:
        with contextlib.suppress(FileNotFoundError):
            os.replace(_beside(database, tail), _beside(aside, tail))
    os.replace(new, database)
    return aside


def _settle(database: Path) -> None:
    """Have SQLite take what waits in its log into the old database; if that can't be, the log is kept beside it."""
    with contextlib.suppress(sqlite3.Error), closing(sqlite3.connect(database, timeout=5)) as rows:
        rows.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _free_name(database: Path, now: datetime) -> Path:
    stamp = timezone.localtime(now).strftime(STAMP)
    place = 1
    while (aside := database.with_name(f"{database.stem}-before-{stamp}-{place}{database.suffix}")).exists():
        place += 1
    return aside


def _beside(database: Path, tail: str) -> Path:
    return database.with_name(database.name + tail)


def _fsync(file: Path) -> None:
    with file.open("rb+") as content:
        os.fsync(content.fileno())
