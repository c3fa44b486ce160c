"""Backups: whole and of one moment while people work, kept so many, and told of at home."""

import os
import resource
import shutil
import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from multiprocessing import get_context
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone

from fabjobs.models import Job, Person
from fabjobs.safekeeping import backups
from fabjobs.safekeeping.backup_file import known_migrations, read_manifest, unpack_database
from fabjobs.safekeeping.backups import BackupFailed, make_backup, make_todays, one_a_day, standing
from tests.fabjobs.databases import manage, refused, rows_of

NOON = datetime(2031, 5, 9, 12, 0, tzinfo=UTC)


def made(database: Path, into: Path, *, keep: int = 14, now: datetime = NOON) -> Path:
    return make_backup(database=database, into=into, keep=keep, now=now).file


def unpacked(file: Path, into: Path) -> Path:
    unpack_database(file, into, read_manifest(file, known_migrations()))
    return into


def test_a_backup_holds_every_row_but_the_open_sign_ins(database: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(database)) as rows:
        rows.execute("INSERT INTO django_session VALUES ('the-key-in-a-cookie', 'data', '2032-01-01')")
        rows.execute("INSERT INTO fabjobs_setupcode VALUES (1, 'hashed-code', 5)")
        rows.commit()
    file = made(database, tmp_path / "backups")
    before, after = rows_of(database), rows_of(unpacked(file, tmp_path / "copy"))
    assert before.pop("django_session")
    assert before.pop("fabjobs_setupcode")
    assert after.pop("django_session") == after.pop("fabjobs_setupcode") == []
    assert after == before
    assert len(before["fabjobs_person"]) == 1
    content = (tmp_path / "copy").read_bytes()
    assert b"the-key-in-a-cookie" not in content
    assert b"hashed-code" not in content


def test_it_is_named_by_the_shops_clock_and_is_its_owners_alone(database: Path, tmp_path: Path) -> None:
    first, second = (made(database, tmp_path / "new") for _ in range(2))
    stamp = timezone.localtime(NOON).strftime("%Y-%m-%d-%H%M")
    assert first.name == f"fabjobs-{stamp}.backup"
    assert second.name == f"fabjobs-{stamp}-2.backup"
    assert first.stat().st_mode & 0o077 == first.parent.stat().st_mode & 0o077 == 0
    assert sorted(first.parent.iterdir()) == sorted([first, second])
    with ZipFile(first) as archive:
        assert sorted(archive.namelist()) == ["fabjobs.sqlite3", "manifest.json"]


def test_so_many_are_kept_the_newest_and_nothing_that_is_not_a_backup_goes(database: Path, tmp_path: Path) -> None:
    into = tmp_path / "backups"
    into.mkdir()
    others = ["fabjobs-2026-99-99-9999.backup", "notes.txt", "fabjobs-2031-05-01-1200.backup.part", "old.backup"]
    for name in others:
        (into / name).write_text("someone's own")
    (into / "fabjobs-2001-01-01-0000.backup").mkdir()
    files = [made(database, into, keep=3, now=NOON + timedelta(days=day)) for day in range(5)]
    files.append(made(database, into, keep=3, now=NOON + timedelta(days=4)))
    left = {file.name for file in into.iterdir()}
    assert left == {*others, "fabjobs-2001-01-01-0000.backup", *(file.name for file in files[-3:])}


def test_a_clock_that_was_wrong_does_not_cost_the_new_one(database: Path, tmp_path: Path) -> None:
    into = tmp_path / "backups"
    future = made(database, into, now=NOON + timedelta(days=900))
    now = made(database, into, keep=1)
    assert now.exists()
    assert not future.exists()


def _move_money(database: str, stop: Callable[[], bool], started: Callable[[], Any]) -> None:
    """In a process of its own: rewrite the captions of both people again and again, in one transaction, always alike."""
    with closing(sqlite3.connect(database, timeout=20, isolation_level=None)) as rows:
        started()
        turn = 0
        while not stop():
            turn += 1
            rows.execute("BEGIN IMMEDIATE")
            rows.execute("UPDATE fabjobs_person SET first_name = ?", [f"{os.getpid()}-{turn}"])
            rows.execute(
                "INSERT INTO django_content_type (app_label, model) VALUES (?, 'a'), (?, 'b')",
                [f"{os.getpid()}-{turn}"] * 2,
            )
            rows.execute("COMMIT")


def test_while_others_write_a_backup_is_of_one_moment(database: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(database)) as rows:
        rows.execute("PRAGMA journal_mode=WAL")
        rows.execute(
            "INSERT INTO fabjobs_person (id, username, password, first_name, last_name, email, is_superuser, is_staff,"
            " is_active, date_joined, role, session_epoch) SELECT 2, 'second', password, first_name, last_name, email,"
            " is_superuser, is_staff, is_active, date_joined, role, session_epoch FROM fabjobs_person"
        )
        rows.commit()
    context = get_context("fork")
    stop, together = context.Event(), context.Barrier(4)
    writers = [context.Process(target=_move_money, args=(str(database), stop.is_set, together.wait)) for _ in range(3)]
    for writer in writers:
        writer.start()
    together.wait(30)
    try:
        files = [made(database, tmp_path / "backups") for _ in range(6)]
    finally:
        stop.set()
        for writer in writers:
            writer.join(30)
    assert [writer.exitcode for writer in writers] == [0, 0, 0]
    lines = []
    for place, file in enumerate(files):
        with closing(sqlite3.connect(unpacked(file, tmp_path / f"copy-{place}"))) as rows:
            names = {name for (name,) in rows.execute("SELECT first_name FROM fabjobs_person")}
            pairs = rows.execute(
                "SELECT app_label, count(*) FROM django_content_type WHERE model IN ('a', 'b') GROUP BY 1"
            )
            counts = dict(pairs.fetchall())
        assert len(names) == 1
        assert set(counts.values()) <= {2}
        assert names <= {*counts, ""}
        lines.append(len(counts))
    assert lines == sorted(lines)
    assert lines[0] < lines[-1], "nobody wrote meanwhile"


def test_a_damaged_database_is_told_and_no_backup_goes(database: Path, tmp_path: Path) -> None:
    into = tmp_path / "backups"
    good = made(database, into, keep=1)
    with database.open("rb+") as content:
        content.seek(4096 * 3)
        content.write(b"\xff" * 4096 * 20)
    with pytest.raises(BackupFailed):
        made(database, into, keep=1, now=NOON + timedelta(days=1))
    assert list(into.iterdir()) == [good]


def test_rows_that_belong_to_nothing_are_told(database: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(database)) as rows:
        rows.execute("INSERT INTO fabjobs_fabrication (job_id, name, position) VALUES (99, 'Tray', 1)")
        rows.commit()
    with pytest.raises(BackupFailed, match="a row of fabjobs_fabrication belongs to nothing"):
        made(database, tmp_path / "backups")
    assert list((tmp_path / "backups").iterdir()) == []


def test_what_a_killed_backup_left_is_swept_a_day_later(database: Path, tmp_path: Path) -> None:
    left, fresh = (tmp_path / "backups" / name for name in (".making-old", ".making-new"))
    for folder in (left, fresh):
        folder.mkdir(parents=True)
        (folder / "copy.sqlite3").write_text("half")
    os.utime(left, (NOON.timestamp() - 90_000,) * 2)
    os.utime(fresh, (NOON.timestamp() - 60,) * 2)
    made(database, tmp_path / "backups")
    assert not left.exists()
    assert fresh.exists()


# The command.

Command = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture
def backup(database: Path, tmp_path: Path) -> Command:
    data = tmp_path / "data"
    data.mkdir()
    shutil.copy(database, data / "fabjobs.sqlite3")

    def run(*arguments: str, largest: int | None = None, **variables: str) -> "subprocess.CompletedProcess[str]":
        def limit() -> None:
            if largest is not None:
                resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))

        place = Path(variables.pop("FABJOBS_DATA", data))
        return manage("backup", *arguments, data=place, variables=variables, preexec_fn=limit)

    return run


def test_the_command_says_where_the_file_is(backup: Command, tmp_path: Path) -> None:
    done = backup()
    assert (done.returncode, done.stderr) == (0, "")
    (file,) = (tmp_path / "data" / "backups").iterdir()
    assert done.stdout.startswith(f"{file} (")
    elsewhere = backup(FABJOBS_BACKUPS=str(tmp_path / "disk"))
    assert elsewhere.stdout.startswith(str(tmp_path / "disk"))
    chosen = backup("--to", str(tmp_path / "stick"), "--keep", "1")
    assert chosen.stdout.startswith(str(tmp_path / "stick"))


def test_a_number_to_keep_that_makes_no_sense(backup: Command, tmp_path: Path) -> None:
    done = backup("--keep", "0")
    assert done.returncode == 2
    assert "(got 0)" in done.stderr
    assert not (tmp_path / "data" / "backups").exists()


@pytest.mark.parametrize("keep", ["-1", "x", "٣", "1.5"])
def test_no_other_number_to_keep_will_do(keep: str) -> None:
    assert f"(got {keep})" in refused("backup", "--keep", keep)


def test_a_disk_that_takes_no_more_is_told_in_one_line_and_nothing_is_left(backup: Command, tmp_path: Path) -> None:
    good = backup()
    assert good.returncode == 0
    for largest in (10_000, 200_000):
        done = backup("--keep", "1", largest=largest)
        assert (done.returncode, done.stdout) == (1, "")
        assert done.stderr.startswith("CommandError: cannot ")
        assert len(done.stderr.splitlines()) == 1
    assert len(list((tmp_path / "data" / "backups").iterdir())) == 1


def test_a_folder_that_is_none_is_told_in_one_line(backup: Command, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    for place in (tmp_path / "file", tmp_path / "file" / "below"):
        done = backup("--to", str(place))
        assert done.returncode == 1
        assert done.stderr.startswith(f"CommandError: cannot write backups in {place} (")
        assert len(done.stderr.splitlines()) == 1


def test_a_disk_that_is_not_mounted_is_told_in_one_line_and_nothing_is_made(backup: Command, tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    by_hand, daily = backup("--to", str(disk / "shop")), backup(FABJOBS_BACKUPS=str(disk / "shop"))
    for done in (by_hand, daily):
        assert done.returncode == 1
        assert done.stderr == (
            f"CommandError: cannot write backups in {disk / 'shop'} (there is no folder {disk}: is that disk there?)\n"
        )
    assert not disk.exists()


def test_without_a_shop_there_is_nothing_to_back_up(backup: Command, tmp_path: Path) -> None:
    done = backup(FABJOBS_DATA=str(tmp_path / "nowhere"))
    assert done.returncode == 1
    assert done.stderr == f"CommandError: there is no shop in {tmp_path / 'nowhere'} yet: nothing to back up\n"
    assert not (tmp_path / "nowhere").exists()


# One a day, and home.


@pytest.fixture
def in_the_shop(database: Path, settings: Any, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The shop's data folder, its database a file of this test's own."""
    settings.DATA.mkdir()
    shutil.copy(database, settings.DATA / "fabjobs.sqlite3")
    monkeypatch.setattr(backups, "database_file", lambda: settings.DATA / "fabjobs.sqlite3")
    return Path(settings.DATA)


def test_one_is_made_each_day(in_the_shop: Path) -> None:
    days = [NOON, NOON + timedelta(hours=1), NOON + timedelta(days=1), NOON + timedelta(days=1, minutes=5)]
    assert [make_todays(now) is not None for now in days] == [True, False, True, False]
    assert len(backups.backups_in(in_the_shop / "backups")) == 2


def test_a_shop_without_an_owner_has_nothing_to_lose(in_the_shop: Path) -> None:
    with closing(sqlite3.connect(in_the_shop / "fabjobs.sqlite3")) as rows:
        rows.execute("DELETE FROM fabjobs_person")
        rows.commit()
    assert make_todays(NOON) is None
    assert not (in_the_shop / "backups").exists()


def test_while_the_shop_runs_the_days_backup_is_made_beside_it(in_the_shop: Path) -> None:
    with one_a_day():
        for _ in range(200):
            if backups.backups_in(in_the_shop / "backups"):
                break
            subprocess.run(["sleep", "0.05"], check=True)
    assert len(backups.backups_in(in_the_shop / "backups")) == 1


def test_the_first_backup_comes_soon_after_the_shop_is_claimed(
    in_the_shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(backups, "CHECKED_UNOWNED", 0.05)
    with closing(sqlite3.connect(in_the_shop / "fabjobs.sqlite3")) as rows:
        (owner,) = rows.execute("SELECT * FROM fabjobs_person").fetchall()
        rows.execute("DELETE FROM fabjobs_person")
        rows.commit()
        with one_a_day():
            subprocess.run(["sleep", "0.3"], check=True)
            assert not (in_the_shop / "backups").exists()
            rows.execute(f"INSERT INTO fabjobs_person VALUES ({', '.join('?' * len(owner))})", owner)  # noqa: S608 - marks
            rows.commit()
            for _ in range(200):
                if backups.backups_in(in_the_shop / "backups"):
                    break
                subprocess.run(["sleep", "0.05"], check=True)
    assert len(backups.backups_in(in_the_shop / "backups")) == 1


def test_a_failure_is_logged_shown_and_forgotten_once_one_is_made(
    in_the_shop: Path, signed_in: Client, job: Job, settings: Any, caplog: pytest.LogCaptureFixture
) -> None:
    settings.BACKUPS = in_the_shop / "disk"
    settings.BACKUPS.write_text("no folder")
    with one_a_day():
        pass
    assert "No backup was made today: cannot write backups in" in caplog.text
    page = signed_in.get("/").content.decode()
    assert "<strong>No backup could be made:</strong> cannot write backups in" in page
    assert "Put that right, then run" in page
    settings.BACKUPS.unlink()
    assert make_todays(timezone.now())
    assert "backup" not in signed_in.get("/").content.decode()


def test_home_says_when_there_is_none_or_an_old_one(signed_in: Client, job: Job, settings: Any) -> None:
    assert "There is no backup of this shop yet." in signed_in.get("/").content.decode()
    now = timezone.localtime()
    place = settings.DATA / "backups"
    place.mkdir(parents=True)
    (place / f"fabjobs-{now + timedelta(days=40):%Y-%m-%d-%H%M}.backup").write_text("by a clock that was wrong")
    assert "There is no backup of this shop yet." in signed_in.get("/").content.decode()
    old = now - timedelta(days=2, hours=2)
    (place / f"fabjobs-{old:%Y-%m-%d-%H%M}.backup").write_text("old")
    page = signed_in.get("/").content.decode()
    assert f"The last backup is of {old.day} {old:%b %Y %H:%M}." in page
    assert "manage.py backup" in page
    (place / f"fabjobs-{now - timedelta(days=1, hours=20):%Y-%m-%d-%H%M}.backup").write_text("yesterday's")
    assert "backup" not in signed_in.get("/").content.decode()
    assert standing(timezone.now()).is_fine


def test_an_empty_shop_is_not_nagged(signed_in: Client) -> None:
    assert "backup" not in signed_in.get("/").content.decode()


def test_the_database_that_is_backed_up_is_the_one_in_use(owner: Person) -> None:
    assert str(backups.database_file()) == connection.settings_dict["NAME"]
