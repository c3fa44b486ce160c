"""The file of a backup: a zip of the database and a manifest by which it is known to be whole, ours, and not too new.

The signing key is not in it, nor are the sign-ins that were open: whoever holds the file reads the shop's records, but cannot
pass for someone who is signed in. After a restore everyone signs in again.
"""

import hashlib
import json
import os
import sqlite3
import struct
import zlib
from collections.abc import Iterator, Set
from contextlib import closing
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, BinaryIO
from zipfile import ZIP_DEFLATED, BadZipFile, ZipFile, ZipInfo

from django.db.migrations.loader import MigrationLoader

FORMAT = "fabjobs-backup/1"
DATABASE, MANIFEST = "fabjobs.sqlite3", "manifest.json"
FIRST_MIGRATION = ("fabjobs", "0001_initial")
LARGEST_MANIFEST = 100_000  # bytes
MOST_SHRUNK = 200  # a shop's database shrinks ten- to thirtyfold; a file that claims more is made to fill the disk
BLOCK = 1 << 20
FASTEST = 1  # deflate's quickest level: half the time for a tenth more in size
# Every way in which reading a zip that is not whole goes wrong, but for the disk's own errors.
DAMAGE = (BadZipFile, zlib.error, struct.error, EOFError, ValueError, LookupError, RuntimeError, OverflowError)

Migration = tuple[str, str]


class BackupRefused(Exception):
    """The file can't be restored; the text says in one line why."""


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself: when it was made, the migrations of its database, its size [bytes] and SHA-256."""

    made_at: datetime
    migrations: tuple[Migration, ...]
    size: int
    sha256: str

    def as_json(self) -> str:
        part = {"name": DATABASE, "size": self.size, "sha256": self.sha256}
        content = {**asdict(self), "made_at": self.made_at.astimezone(UTC).isoformat(), "parts": [part]}
        del content["size"], content["sha256"]
        return json.dumps({"format": FORMAT, **content}, indent=1)


def known_migrations() -> frozenset[Migration]:
    """The migrations that this fabjobs has."""
    return frozenset(MigrationLoader(None).disk_migrations)


def write_backup(database: Path, into: Path, made_at: datetime) -> Manifest:
    """Pack a database that nobody writes to, and see that the disk has it. Raises OSError."""
    migrations = migrations_in(database)
    with database.open("rb") as content:
        digest = hashlib.file_digest(content, "sha256").hexdigest()
    manifest = Manifest(made_at, migrations, database.stat().st_size, digest)
    handle = os.open(into, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(handle, "wb") as file:
        with ZipFile(file, "w", ZIP_DEFLATED, compresslevel=FASTEST) as archive, database.open("rb") as content:
            archive.writestr(_member(MANIFEST), manifest.as_json())
            with archive.open(_member(DATABASE), "w", force_zip64=True) as packed:
                for block in iter(lambda: content.read(BLOCK), b""):
                    packed.write(block)
        file.flush()
        os.fsync(file.fileno())
    return manifest


def read_manifest(file: Path, known: Set[Migration]) -> Manifest:
    """What a backup says of itself, once its every byte was read and fits. Nothing is written. Raises `BackupRefused`.

    known: the migrations that this fabjobs has; a backup with others is of a newer one.
    """
    with _opened(file) as content:
        manifest = _manifest_of(content, file, known)
        for _ in _database_in(content, file, manifest):
            pass
    return manifest


def unpack_database(file: Path, into: Path, manifest: Manifest) -> None:
    """Write the database of a backup to a new file and check it inside. Raises `BackupRefused`, OSError."""
    with _opened(file) as content, into.open("xb") as database:
        for block in _database_in(content, file, manifest):
            database.write(block)
        database.flush()
        os.fsync(database.fileno())
    if fault := fault_in_database(into):
        raise BackupRefused(f"{file.name} is damaged: {fault}")
    if migrations_in(into) != manifest.migrations:
        raise BackupRefused(f"{file.name} is damaged: its manifest is of another database")


def migrations_in(database: Path) -> tuple[Migration, ...]:
    """The migrations that a database has had, in order. Raises `sqlite3.Error`."""
    with closing(_just_read(database)) as rows:
        return tuple(rows.execute("SELECT app, name FROM django_migrations ORDER BY app, name"))


def fault_in_database(database: Path) -> str:
    """What is wrong inside a database that nobody writes to; nothing where it is sound."""
    try:
        with closing(_just_read(database)) as rows:
            (said,) = rows.execute("PRAGMA integrity_check(1)").fetchone()
            if said != "ok":
                return str(said).replace("\n", " ")
            if lost := rows.execute("PRAGMA foreign_key_check").fetchone():
                return f"a row of {lost[0]} belongs to nothing"
            rows.execute("SELECT 1 FROM fabjobs_job LIMIT 1")
    except sqlite3.Error as error:
        return str(error)
    return ""


def _just_read(database: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{database.absolute().as_uri()}?mode=ro&immutable=1", uri=True)


def _member(name: str) -> ZipInfo:
    """Dated always the same: a zip knows no year before 1980, and a computer without a clock battery may be there."""
    member = ZipInfo(name)
    member.compress_type = ZIP_DEFLATED
    member.external_attr = 0o600 << 16
    return member


def _opened(file: Path) -> BinaryIO:
    if not file.is_file():
        raise BackupRefused(f"{file} is {'not a file' if file.exists() else 'not there'}: give the path of a backup")
    try:
        return file.open("rb")
    except OSError as error:
        raise BackupRefused(f"cannot read {file} ({error.strerror})") from None


def _manifest_of(content: BinaryIO, file: Path, known: Set[Migration]) -> Manifest:
    is_zip = content.read(4) == b"PK\x03\x04"
    try:
        with ZipFile(content) as archive:
            if sorted(archive.namelist()) != sorted((DATABASE, MANIFEST)):
                raise BackupRefused(f"{file.name} is not a backup of fabjobs")
            if archive.getinfo(MANIFEST).file_size > LARGEST_MANIFEST:
                raise BackupRefused(f"{file.name} is not a backup of fabjobs: its manifest is too large")
            said = json.loads(archive.read(MANIFEST))
    except (*DAMAGE, OSError) as error:
        if not is_zip:
            raise BackupRefused(f"{file.name} is not a backup of fabjobs") from None
        raise BackupRefused(f"{file.name} is damaged or cut short ({_in_a_line(error)})") from None
    return _read(said, file, known)


def _read(said: Any, file: Path, known: Set[Migration]) -> Manifest:
    """The manifest in this JSON value."""
    stated = said.get("format") if isinstance(said, dict) else None
    if not isinstance(stated, str) or not stated.startswith("fabjobs-backup/"):
        raise BackupRefused(f"{file.name} is not a backup of fabjobs")
    if stated != FORMAT:
        raise BackupRefused(f"{file.name} was made by a newer fabjobs ({stated[:40]!r}): update this one first")
    try:
        (part,) = said["parts"]
        manifest = Manifest(
            made_at=datetime.fromisoformat(said["made_at"]).astimezone(UTC),
            migrations=tuple((str(app), str(name)) for app, name in said["migrations"]),
            size=int(part["size"]),
            sha256=str(part["sha256"]),
        )
    except (*DAMAGE, TypeError):
        raise BackupRefused(f"{file.name} is damaged: its manifest can't be read") from None
    if FIRST_MIGRATION not in manifest.migrations:
        raise BackupRefused(f"{file.name} is not a backup of fabjobs")
    if newer := sorted(set(manifest.migrations) - known):
        raise BackupRefused(
            f"{file.name} was made by a newer fabjobs ({'.'.join(newer[0])[:80]!r}): update this one first"
        )
    return manifest


def _database_in(content: BinaryIO, file: Path, manifest: Manifest) -> Iterator[bytes]:
    """The database, block by block. Raises `BackupRefused` at the first that does not belong, or at the end."""
    digest, left = hashlib.sha256(), manifest.size
    if manifest.size > MOST_SHRUNK * file.stat().st_size:
        raise BackupRefused(f"{file.name} is refused: it would unpack to {manifest.size:,} bytes")
    try:
        with ZipFile(content) as archive:
            if archive.getinfo(DATABASE).compress_type != ZIP_DEFLATED:
                raise BadZipFile("packed in another way")
            with archive.open(DATABASE) as packed:
                while block := packed.read(BLOCK):
                    left -= len(block)
                    if left < 0:
                        raise BadZipFile("longer than its manifest says")
                    digest.update(block)
                    yield block
    except (*DAMAGE, OSError) as error:
        raise BackupRefused(f"{file.name} is damaged or cut short ({_in_a_line(error)})") from None
    if left or digest.hexdigest() != manifest.sha256:
        raise BackupRefused(f"{file.name} is damaged: its database is not the one that was packed")


def _in_a_line(error: Exception) -> str:
    return " ".join(str(error).split()) or type(error).__name__
