"""A process that is killed as it writes: what it had acknowledged is there, and the database is whole."""

import os
import random
import signal
import sqlite3
import sys
from contextlib import closing
from datetime import date
from pathlib import Path
from uuid import UUID, uuid5

import pytest
from pytest_django import DjangoDbBlocker

import calc
from fabjobs.models import Person, Step, Tick, TimeEntry
from fabjobs.services import job_create
from fabjobs.services.steps import step_tick
from fabjobs.services.time import time_enter
from tests.fabjobs.databases import working_with

KILLS = 50
DAY = date(2031, 5, 9)
NAMES = UUID(int=9)


def _write_until_killed(database: Path, turn: int, say: int) -> None:
    """In a process of its own: tick and log time without end; a line after each commit says what is now kept."""
    with working_with(database):
        by, steps = Person.objects.get(username="edda"), list(Step.objects.all())
        for place in range(10_000):
            step, key = steps[place % len(steps)], uuid5(NAMES, f"{turn}-{place}")
            if place % 2:
                time_enter(step=step, day=DAY, minutes=place + 1, by=by, form_key=key)
            else:
                step.refresh_from_db()
                step_tick(step=step, version=step.version, done=step.done_at is None, by=by, form_key=key)
            os.write(say, f"{key} {step.pk}\n".encode())


def _killed(database: Path, turn: int, after: int) -> list[str]:
    """The lines of a process that was killed once it had said so many, and whatever it said before it died."""
    hear, say = os.pipe()
    pid = os.fork()
    if pid == 0:  # the child never comes back into the test
        try:
            os.close(hear)
            _write_until_killed(database, turn, say)
        finally:
            sys.stderr.write("the writing process ended by itself\n")
            os._exit(1)
    os.close(say)
    heard = b""
    with os.fdopen(hear, "rb", buffering=0) as lines:
        while heard.count(b"\n") < after and (more := lines.read(4096)):
            heard += more
        os.kill(pid, signal.SIGKILL)
        while more := lines.read(4096):
            heard += more
    _, status = os.waitpid(pid, 0)
    assert os.WIFSIGNALED(status), "it was to be killed while it wrote"
    return heard.decode().splitlines()


@pytest.fixture
def one_job(database: Path, django_db_blocker: DjangoDbBlocker, plan: calc.Plan) -> Path:
    with django_db_blocker.unblock(), working_with(database):
        job_create(plan=plan, due_day=None, by=Person.objects.get())
    return database


def test_killed_fifty_times_as_it_wrote(one_job: Path, django_db_blocker: DjangoDbBlocker) -> None:
    chance = random.Random(3)  # noqa: S311 - a test's own course
    acknowledged: list[tuple[UUID, int]] = []
    with django_db_blocker.unblock():
        for turn in range(KILLS):
            for line in _killed(one_job, turn, after=chance.randrange(1, 12)):
                key, step = line.split()
                acknowledged.append((UUID(key), int(step)))
        with closing(sqlite3.connect(one_job)) as rows:
            assert rows.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert rows.execute("PRAGMA foreign_key_check").fetchall() == []
        with working_with(one_job):
            ticks = set(Tick.objects.values_list("form_key", "step"))
            entries = set(TimeEntry.objects.values_list("form_key", "step"))
            assert len(acknowledged) >= KILLS
            assert len(set(acknowledged)) == len(acknowledged)
            assert set(acknowledged) <= ticks | entries
            # A kill may fall between a commit and its line: at most one write more than was said, each time.
            assert len(ticks) + len(entries) <= len(acknowledged) + KILLS
            for step in Step.objects.all():
                its = [tick.done for tick in step.ticks.order_by("pk")]
                assert step.version == len(its)
                assert (step.done_at is not None) == (its[-1] if its else False)
