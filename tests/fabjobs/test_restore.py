"""Restoring: a file that is not whole, ours and of this age is refused before anything is touched."""

import io
import itertools
import json
import os
import re
import shutil
import signal
import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from hashlib import sha256
from multiprocessing import get_context
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZIP_LZMA, ZipFile

import pytest
from hypothesis import HealthCheck, example, given
from hypothesis import settings as trials
from hypothesis import strategies as st
from pytest_django import DjangoDbBlocker

from fabjobs.safekeeping import folder_lock
from fabjobs.safekeeping.backup_file import BackupRefused, known_migrations, read_manifest, unpack_database
from fabjobs.safekeeping.backups import make_backup
from fabjobs.safekeeping.folder_lock import FolderInUse
from fabjobs.safekeeping.restoring import restore_backup
from tests.fabjobs.databases import manage, rows_of, working_with

NOON = datetime(2031, 5, 9, 12, 0, tzinfo=UTC)
Restore = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture(scope="session")
def whole(migrated: Path, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The bytes of a good backup."""
    return make_backup(database=migrated, into=tmp_path_factory.mktemp("whole"), keep=1, now=NOON).file.read_bytes()


@pytest.fixture(scope="session")
def content_of(tmp_path_factory: pytest.TempPathFactory) -> Callable[[bytes], bytes]:
    """The database in a backup's bytes. Raises `BackupRefused`."""
    folder = tmp_path_factory.mktemp("content")

    def read(content: bytes) -> bytes:
        file, database = folder / "any.backup", folder / "database"
        file.write_bytes(content)
        database.unlink(missing_ok=True)
        unpack_database(file, database, read_manifest(file, known_migrations()))
        return database.read_bytes()

    return read


def parts_of(whole: bytes) -> tuple[dict[str, Any], bytes]:
    with ZipFile(io.BytesIO(whole)) as archive:
        return json.loads(archive.read("manifest.json")), archive.read("fabjobs.sqlite3")


def packed(manifest: Any, database: bytes, *, how: int = ZIP_DEFLATED, more: tuple[str, ...] = ()) -> bytes:
    """A zip as a backup is, of any parts."""
    made = io.BytesIO()
    with ZipFile(made, "w", how) as archive:
        archive.writestr("manifest.json", manifest if isinstance(manifest, str) else json.dumps(manifest))
        archive.writestr("fabjobs.sqlite3", database)
        for name in more:
            archive.writestr(name, "more")
    return made.getvalue()


def held_or_refused(damaged: bytes, whole: bytes, content_of: Callable[[bytes], bytes]) -> None:
    """What came out, if anything did, is what went in; else one line says why not."""
    try:
        content = content_of(damaged)
    except BackupRefused as error:
        refused = str(error)
    else:
        assert content == parts_of(whole)[1]
        return
    assert refused
    assert "\n" not in refused


def told(content: bytes, content_of: Callable[[bytes], bytes]) -> str:
    with pytest.raises(BackupRefused) as refused:
        content_of(content)
    assert "\n" not in str(refused.value)
    return str(refused.value)


QUICK = trials(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@QUICK
@given(place=st.floats(0, 1, exclude_max=True), flip=st.integers(1, 255), from_end=st.integers(0, 400))
@example(place=0.0, flip=1, from_end=0)
def test_a_byte_that_is_another_is_refused_or_harmless(
    whole: bytes, content_of: Callable[[bytes], bytes], place: float, flip: int, from_end: int
) -> None:
    for at in (int(place * len(whole)), len(whole) - 1 - from_end):  # the directory at the end is small and matters
        damaged = bytearray(whole)
        damaged[at] ^= flip
        held_or_refused(bytes(damaged), whole, content_of)


@QUICK
@given(
    cut=st.floats(0, 1, exclude_max=True), start=st.floats(0, 1, exclude_max=True), filling=st.sampled_from(b"\0\xff P")
)
def test_a_file_cut_short_or_with_a_hole_is_refused_or_harmless(
    whole: bytes, content_of: Callable[[bytes], bytes], cut: float, start: float, filling: int
) -> None:
    first, last = sorted((int(start * len(whole)), int(cut * len(whole))))
    for damaged in (
        whole[:last],
        whole[:first] + whole[last:],
        whole[:first] + bytes([filling]) * (last - first) + whole[last:],
    ):
        held_or_refused(damaged, whole, content_of)


def test_a_whole_one_is_read(whole: bytes, content_of: Callable[[bytes], bytes]) -> None:
    assert content_of(whole) == parts_of(whole)[1]


def test_what_is_foreign_is_refused_in_words(
    whole: bytes, content_of: Callable[[bytes], bytes], migrated: Path
) -> None:
    manifest, database = parts_of(whole)
    no_backup = "is not a backup of fabjobs"
    foreign_migrations = {**manifest, "migrations": [["auth", "0001_initial"]]}
    for content in (
        b"", b"PK", b"a letter", migrated.read_bytes(), packed("{}", b""), packed("[]", database),
        packed({"format": "other/1"}, database), packed({"format": 1}, database), packed(foreign_migrations, database),
        packed(manifest, database, more=("../../outside",)), packed(manifest, database, more=("/etc/outside",)),
        packed(" " * 200_000, database),
    ):  # fmt: skip
        assert no_backup in told(content, content_of)
    for broken in (
        "",
        "{",
        "nan",
        "[" * 100_000 + "]" * 100_000,
        "\ud800".encode("utf-16", "surrogatepass").decode("latin-1"),
    ):
        assert re.search("is damaged|is not a backup", told(packed(broken[:90_000], database), content_of))


def test_a_manifest_that_does_not_fit_is_refused(whole: bytes, content_of: Callable[[bytes], bytes]) -> None:
    manifest, database = parts_of(whole)
    (part,) = manifest["parts"]
    for change in (
        {"parts": []}, {"parts": [part, part]}, {"parts": None}, {"parts": [{}]}, {"made_at": "noon"}, {"made_at": 5},
        {"migrations": 7}, {"migrations": [["fabjobs"]]}, {"parts": [{**part, "size": "many"}]},
        {"parts": [{**part, "size": part["size"] + 1}]}, {"parts": [{**part, "size": part["size"] - 1}]},
        {"parts": [{**part, "size": -1}]}, {"parts": [{**part, "sha256": "0" * 64}]}, {"parts": [{**part, "sha256": None}]},
        {"migrations": manifest["migrations"][:-1]},
    ):  # fmt: skip
        assert "is damaged" in told(packed({**manifest, **change}, database), content_of), change


def test_a_newer_one_is_refused_by_name(whole: bytes, content_of: Callable[[bytes], bytes]) -> None:
    manifest, database = parts_of(whole)
    newer = {**manifest, "migrations": [*manifest["migrations"], ["fabjobs", "9999_of_next_year"]]}
    assert "newer fabjobs ('fabjobs.9999_of_next_year'): update" in told(packed(newer, database), content_of)
    assert "newer fabjobs ('fabjobs-backup/2')" in told(
        packed({**manifest, "format": "fabjobs-backup/2"}, database), content_of
    )


def forged(whole: bytes, database: bytes) -> bytes:
    """A backup whose manifest fits this database."""
    manifest, _ = parts_of(whole)
    part = {"name": "fabjobs.sqlite3", "size": len(database), "sha256": sha256(database).hexdigest()}
    return packed({**manifest, "parts": [part]}, database)


def test_what_would_fill_the_disk_is_refused_before_it_is_unpacked(
    whole: bytes, content_of: Callable[[bytes], bytes]
) -> None:
    bomb = forged(whole, b"\0" * 50_000_000)
    assert len(bomb) < 100_000
    assert "would unpack to 50,000,000 bytes" in told(bomb, content_of)
    manifest, _ = parts_of(whole)
    assert "damaged or cut short (longer than its manifest says)" in told(
        packed(manifest, b"\0" * 50_000_000), content_of
    )
    assert "packed in another way" in told(packed(*parts_of(whole), how=ZIP_LZMA), content_of)


def test_a_database_that_is_damaged_inside_is_refused(
    whole: bytes, content_of: Callable[[bytes], bytes], database: Path
) -> None:
    sound = parts_of(whole)[1]
    spoiled = sound[: 4096 * 5] + os.urandom(4096 * 10) + sound[4096 * 15 :]
    assert "is damaged" in told(forged(whole, spoiled), content_of)
    assert "is damaged: file is not a database" in told(forged(whole, os.urandom(8192)), content_of)
    with closing(sqlite3.connect(database)) as rows:
        rows.execute("PRAGMA foreign_keys = OFF")
        rows.execute("DROP TABLE fabjobs_job")
        rows.commit()
    assert "is damaged: no such table" in told(forged(whole, database.read_bytes()), content_of)


# The command.


@pytest.fixture
def restore(tmp_path: Path) -> Restore:
    def run(*arguments: str, answer: str = "", to: str = "data") -> "subprocess.CompletedProcess[str]":
        return manage("restore", *arguments, data=tmp_path / to, answer=answer)

    return run


@pytest.fixture
def file(whole: bytes, tmp_path: Path) -> Path:
    file = tmp_path / "fabjobs-2031-05-09-1200.backup"
    file.write_bytes(whole)
    return file


@pytest.fixture
def data(migrated: Path, tmp_path: Path) -> Path:
    """A shop that has changed since the backup, its last words still in SQLite's log as after a power cut."""
    data = tmp_path / "data"
    data.mkdir()
    work = tmp_path / "work.sqlite3"
    shutil.copy(migrated, work)
    with closing(sqlite3.connect(work)) as rows:
        rows.execute("PRAGMA journal_mode=WAL")
        rows.execute("UPDATE fabjobs_person SET first_name = 'changed since'")
        rows.commit()
        for tail in ("", "-wal", "-shm"):
            shutil.copy(f"{work}{tail}", data / f"fabjobs.sqlite3{tail}")
    assert (data / "fabjobs.sqlite3-wal").stat().st_size > 0
    return data


def everything(data: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in data.iterdir() if path.name != folder_lock.LOCK_FILE}


def test_the_shop_is_as_it_was_and_what_was_there_is_kept(
    restore: Restore, file: Path, data: Path, migrated: Path
) -> None:
    done = restore(str(file), "--yes")
    assert (done.returncode, done.stderr) == (0, "")
    assert rows_of(data / "fabjobs.sqlite3") == rows_of(migrated)
    (aside,) = data.glob("fabjobs-before-*-1.sqlite3")
    assert done.stdout.splitlines()[1:] == [f"What was there is kept in {aside}"]
    assert rows_of(aside)["fabjobs_person"] != rows_of(migrated)["fabjobs_person"]
    assert "changed since" in str(rows_of(aside)["fabjobs_person"])
    assert {path.name for path in data.iterdir()} == {"fabjobs.sqlite3", aside.name, folder_lock.LOCK_FILE}
    assert (data / "fabjobs.sqlite3").stat().st_mode & 0o077 == 0


def test_over_a_ruined_database_its_log_is_kept_too(restore: Restore, file: Path, data: Path, migrated: Path) -> None:
    (data / "fabjobs.sqlite3").write_bytes(b"ruined" * 5000)
    log = (data / "fabjobs.sqlite3-wal").read_bytes()
    assert restore(str(file), "--yes").returncode == 0
    assert rows_of(data / "fabjobs.sqlite3") == rows_of(migrated)
    (aside,) = data.glob("fabjobs-before-*-1.sqlite3")
    assert aside.read_bytes() == b"ruined" * 5000
    assert aside.with_name(aside.name + "-wal").read_bytes() == log


def test_into_a_new_computer_and_twice(restore: Restore, file: Path, tmp_path: Path, migrated: Path) -> None:
    data = tmp_path / "data"
    done = restore(str(file), answer="yes\n")
    assert (done.returncode, done.stderr) == (0, "")
    assert "a shop without a name yet, 0 jobs." in done.stdout
    assert rows_of(data / "fabjobs.sqlite3") == rows_of(migrated)
    assert restore(str(file), "--yes").returncode == 0
    assert len(list(data.glob("fabjobs-before-*"))) == 1


def test_a_link_that_was_used_since_opens_nothing_again(restore: Restore, migrated: Path, tmp_path: Path) -> None:
    """It was open when the backup was made; one that was withdrawn by then keeps its moment."""
    shop = Path(shutil.copy(migrated, tmp_path / "shop.sqlite3"))
    with closing(sqlite3.connect(shop)) as rows:
        rows.executemany(
            "INSERT INTO fabjobs_invitation (form_key, by_id, at, name, role, hashed, until, withdrawn_at)"
            " VALUES (?, 1, '2031-05-08', 'Ida', 'owner', ?, '2031-05-15', ?)",
            [("a" * 32, "1" * 64, None), ("b" * 32, "2" * 64, "2031-05-09 10:00:00")],
        )
        rows.commit()
    made = make_backup(database=shop, into=tmp_path / "kept", keep=1, now=NOON)
    assert restore(str(made.file), "--yes").returncode == 0
    with closing(sqlite3.connect(tmp_path / "data" / "fabjobs.sqlite3")) as rows:
        found = [moment for (moment,) in rows.execute("SELECT withdrawn_at FROM fabjobs_invitation ORDER BY hashed")]
    assert found[1] == "2031-05-09 10:00:00"
    assert datetime.fromisoformat(found[0]) > datetime(2020, 1, 1)  # noqa: DTZ001 - as the database keeps it, by UTC


@pytest.mark.parametrize("answer", ["", "no\n", "y\n", "\n"])
def test_not_agreed_is_not_restored(restore: Restore, file: Path, data: Path, answer: str) -> None:
    before = everything(data)
    done = restore(str(file), answer=answer)
    assert (done.returncode, done.stderr) == (
        1, "CommandError: not restored, nothing was changed: type yes, or give --yes\n",
    )  # fmt: skip
    assert everything(data) == before


def test_refused_in_one_line_before_anything_is_touched(
    restore: Restore, file: Path, data: Path, tmp_path: Path, whole: bytes
) -> None:
    cut = tmp_path / "cut.backup"
    cut.write_bytes(whole[:-100])
    before = everything(data)
    for wrong, words in (
        (cut, "cut.backup is damaged or cut short"),
        (tmp_path / "nowhere.backup", "is not there: give the path of a backup"),
        (tmp_path, "is not a file: give the path of a backup"),
        (data / "fabjobs.sqlite3", "is not a backup of fabjobs"),
    ):
        done = restore(str(wrong), "--yes")
        assert (done.returncode, done.stdout) == (1, "")
        assert done.stderr.startswith("CommandError: ")
        assert words in done.stderr
        assert done.stderr.endswith("Nothing was changed.\n")
        assert len(done.stderr.splitlines()) == 1
    assert everything(data) == before
    assert restore(str(cut), "--yes", to="new").returncode == 1
    assert not (tmp_path / "new").exists()


def test_refused_while_the_shop_runs(restore: Restore, file: Path, data: Path) -> None:
    before = everything(data)
    with folder_lock.shared(data):
        done = restore(str(file), "--yes")
    assert done.returncode == 1
    assert (
        done.stderr
        == f"CommandError: the shop in {data} is running: stop it first (Ctrl-C where it runs). Nothing was changed.\n"
    )
    assert everything(data) == before
    assert restore(str(file), "--yes").returncode == 0


def _restore_until(call: int, file: Path, database: Path, links: bool) -> None:
    """In a process of its own: restore, and be killed at one of the calls that change what the disk holds."""
    calls = itertools.count()

    def killed_at(real: Callable[..., Any]) -> Callable[..., Any]:
        def maybe(*arguments: Any, **named: Any) -> Any:
            if next(calls) == call:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*arguments, **named)

        return maybe

    def no_link(*_: Any) -> None:
        raise OSError("this disk knows no second names")

    os.link = killed_at(os.link if links else no_link)
    os.replace, os.fsync = killed_at(os.replace), killed_at(os.fsync)
    shutil.copy2 = killed_at(shutil.copy2)
    with working_with(database):
        restore_backup(file, database=database, agree=lambda _: True, now=NOON)
    os._exit(0)


@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("ruined", [True, False])
def test_killed_at_any_moment_the_shop_is_the_old_or_the_new_one_whole(
    file: Path, data: Path, migrated: Path, django_db_blocker: DjangoDbBlocker, links: bool, ruined: bool
) -> None:
    database = data / "fabjobs.sqlite3"
    if ruined:
        database.write_bytes(b"ruined" * 5000)
    before, new = everything(data), rows_of(migrated)
    ended: list[bool] = []
    with django_db_blocker.unblock():
        for call in range(20):
            for path in data.glob("fabjobs*"):
                path.unlink()
            for name, content in before.items():
                (data / name).write_bytes(content)
            process = get_context("fork").Process(target=_restore_until, args=(call, file, database, links))
            process.start()
            process.join(30)
            asides = list(data.glob("fabjobs-before-*.sqlite3"))
            if ruined:
                is_new = database.read_bytes() != before["fabjobs.sqlite3"]
                assert not is_new or [path.read_bytes() for path in asides] == [before["fabjobs.sqlite3"]]
            else:
                is_new = rows_of(database) == new
                assert is_new or "changed since" in str(rows_of(database)["fabjobs_person"])
                assert not is_new or "changed since" in str([rows_of(path) for path in asides])
            assert not is_new or rows_of(database) == new
            ended.append(is_new)
            if process.exitcode == 0:
                break
        with working_with(database):
            restore_backup(file, database=database, agree=lambda _: True, now=NOON)
    assert ended[0] is False
    assert ended[-1] is True
    assert len(ended) > 3
    assert rows_of(database) == new
    assert not list(data.glob(".restoring-*"))


# Who holds the folder.


def test_many_may_share_a_folder_and_one_has_it_alone(tmp_path: Path) -> None:
    with folder_lock.shared(tmp_path), folder_lock.shared(tmp_path), pytest.raises(FolderInUse, match="is running"):
        folder_lock.alone(tmp_path).__enter__()
    with folder_lock.alone(tmp_path):
        for again in (folder_lock.shared, folder_lock.alone):
            with pytest.raises(FolderInUse):
                again(tmp_path).__enter__()
    with folder_lock.alone(tmp_path):
        pass


def _hold(folder: str, held: Callable[[], Any], wait: Callable[[], Any]) -> None:
    with folder_lock.shared(Path(folder)):
        held()
        wait()


def test_a_process_that_is_killed_lets_go(tmp_path: Path) -> None:
    context = get_context("fork")
    held, never = context.Event(), context.Event()
    process = context.Process(target=_hold, args=(str(tmp_path), held.set, never.wait))
    process.start()
    assert held.wait(30)
    with pytest.raises(FolderInUse), folder_lock.alone(tmp_path):
        pass
    process.kill()
    process.join(30)
    with folder_lock.alone(tmp_path):
        pass


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(FolderInUse, match="cannot write in the data folder"), folder_lock.shared(tmp_path / "nowhere"):
        pass
