"""The worker as a process of its own, over a real data folder: it looks, it ends with the shop, it may be killed."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django_tasks_db.models import DBTaskResult
from pytest_django import DjangoDbBlocker

import calc
from fabjobs.improving import STOPPED
from fabjobs.models import Improvement, Person
from fabjobs.safekeeping import folder_lock
from fabjobs.services import improvement_ask, job_create
from tests.conftest import SHEET
from tests.fabjobs.databases import HOUSE, manage, soon, working_with
from tests.fabjobs.test_improve import PAN

Worker = Callable[..., "subprocess.Popen[str]"]
MANY: dict[str, Any] = {**SHEET, "quantity": 6}  # a long look at 24 blanks takes longer than it takes to kill it


@pytest.fixture
def data(migrated: Path, tmp_path: Path) -> Path:
    """A data folder with a shop of one person."""
    folder = tmp_path / "shop"
    folder.mkdir()
    shutil.copy(migrated, folder / "fabjobs.sqlite3")
    return folder


@pytest.fixture
def shop(data: Path, django_db_blocker: DjangoDbBlocker) -> Iterator[Path]:
    """This test works with the shop's database too."""
    with django_db_blocker.unblock(), working_with(data / "fabjobs.sqlite3"):
        yield data


@pytest.fixture
def work(data: Path) -> Iterator[Worker]:
    """Runs the worker as `start` does; none outlives the test."""
    running = []

    def run(*arguments: str) -> "subprocess.Popen[str]":
        kept = {name: value for name, value in os.environ.items() if not name.startswith("FABJOBS_")}
        process = subprocess.Popen(
            [sys.executable, "-W", "error", "manage.py", "work", *arguments], cwd=HOUSE, text=True,
            env={**kept, "FABJOBS_DATA": str(data)},
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip
        running.append(process)
        return process

    yield run
    for process in running:
        process.kill()
        process.communicate()


def ask(sheet: dict[str, Any]) -> Improvement:
    by = Person.objects.get()
    job = job_create(plan=calc.plan(sheet), due_day=None, by=by)
    return improvement_ask(fabrication=job.fabrications.get(), by=by, form_key=uuid4())


def test_it_looks_for_what_was_asked_before_and_after_it_began(shop: Path, work: Worker) -> None:
    first = ask(PAN)
    worker = work("--beside")
    assert soon(lambda: not Improvement.objects.filter(ended_at=None).exists())
    assert folder_lock.has_worker(shop)
    second = ask({**PAN, "quantity": 2})
    assert soon(lambda: not Improvement.objects.filter(ended_at=None).exists())
    for asked in (first, second):
        asked.refresh_from_db()
        assert asked.plan is not None
        assert asked.plan == calc.plan({**asked.revision.sheet, "making": asked.sheet["making"]}).as_json()
        assert asked.sheet["making"] == {**asked.revision.sheet["making"], "effort": "long"}
    assert soon(lambda: set(DBTaskResult.objects.values_list("status", flat=True)) == {"SUCCESSFUL"})
    out, errors = worker.communicate(timeout=20)  # closes its standard input, as the end of the shop does
    assert (worker.returncode, out, errors) == (0, "", "")
    assert not folder_lock.has_worker(shop)


def test_killed_as_it_looked_the_next_one_tells_so(shop: Path, work: Worker) -> None:
    asked = ask(MANY)
    worker = work("--beside")
    assert soon(lambda: Improvement.objects.filter(started_at__isnull=False).exists())
    worker.kill()
    worker.wait(20)
    asked.refresh_from_db()
    assert asked.is_open
    work("--beside")
    assert soon(lambda: not Improvement.objects.filter(ended_at=None).exists())
    asked.refresh_from_db()
    assert (asked.error, asked.plan) == (STOPPED, None)
    assert soon(lambda: DBTaskResult.objects.get().status == "FAILED")


def test_the_end_of_the_shop_ends_a_look_at_once(shop: Path, work: Worker) -> None:
    ask(MANY)
    worker = work("--beside")
    assert soon(lambda: Improvement.objects.filter(started_at__isnull=False).exists())
    _, errors = worker.communicate(timeout=10)
    assert (worker.returncode, errors) == (0, "")


def test_as_a_service_it_says_so_and_stops_when_told(shop: Path, work: Worker) -> None:
    worker = work()
    assert worker.stdout is not None
    assert (
        worker.stdout.readline()
        == f"Works for the shop in {shop}. Ctrl-C stops it after the look in hand, twice at once.\n"
    )
    with pytest.raises(folder_lock.FolderInUse), folder_lock.alone(shop):
        pass
    assert soon(lambda: folder_lock.has_worker(shop))
    worker.terminate()
    _, errors = worker.communicate(timeout=20)
    assert (worker.returncode, errors) == (0, "")


def test_there_is_one_at_a_time(shop: Path, work: Worker) -> None:
    work("--beside")
    assert soon(lambda: folder_lock.has_worker(shop))
    second = manage("work", data=shop)
    assert (second.returncode, second.stdout) == (1, "")
    assert second.stderr == (
        f"CommandError: a worker works in {shop} already: one is enough (`start` brings its own)\n"
    )


def test_a_folder_without_a_shop_is_told_in_a_line(tmp_path: Path) -> None:
    done = manage("work", data=tmp_path / "bare")
    assert done.returncode == 1
    assert done.stderr.startswith("CommandError: the database in")
    assert done.stderr.endswith("run manage.py start or migrate first\n")
    assert len(done.stderr.splitlines()) == 1


def test_a_look_whose_task_was_lost_before_it_began_is_asked_for_again(shop: Path, work: Worker) -> None:
    asked = ask(PAN)
    DBTaskResult.objects.update(status="FAILED")  # as a worker that ended between taking it up and beginning leaves it
    work("--beside")
    assert soon(lambda: not Improvement.objects.filter(ended_at=None).exists())
    asked.refresh_from_db()
    assert asked.plan is not None
    assert DBTaskResult.objects.count() == 2
