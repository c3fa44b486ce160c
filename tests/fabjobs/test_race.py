"""Many at one job at once, on a real database file: nothing that was acknowledged is lost, and nobody is turned away."""

import random
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, timedelta
from multiprocessing import get_context
from multiprocessing.queues import Queue
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import OperationalError
from pytest_django import DjangoDbBlocker

import calc
from fabjobs.heading import Heading
from fabjobs.models import Fabrication, Job, Person, Revision, Step, StepNote, Tick, TimeEntry
from fabjobs.services import JobIsStale, job_change, job_create
from fabjobs.services.steps import StepChanged, note_add, step_tick
from fabjobs.services.time import time_enter, timer_start, timer_stop
from tests.conftest import SHEET
from tests.fabjobs.databases import working_with

PROCESSES, TURNS = 8, 40
DAY = date(2031, 5, 9)


@dataclass
class Acknowledged:
    """What a process was told is stored, by form key; and what it was refused for, in words."""

    ticks: list[tuple[UUID, int, bool]] = field(default_factory=list)
    entries: list[tuple[UUID, int]] = field(default_factory=list)
    timers: list[tuple[UUID, int]] = field(default_factory=list)
    notes: list[UUID] = field(default_factory=list)
    revisions: list[UUID] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    locked: list[str] = field(default_factory=list)


def _work(
    database: str, name: str, plans: list[calc.Plan], together: Callable[[], Any], out: "Queue[Acknowledged]"
) -> None:
    """In a process of its own: a person who ticks, times, notes and changes the one job, each form sent twice."""
    told = Acknowledged()
    with working_with(Path(database)):
        by, job = Person.objects.get(username=name), Job.objects.get()
        chance = random.Random(name)  # noqa: S311 - a test's own course
        together()
        try:
            for turn in range(TURNS):
                try:
                    _one_turn(turn, by, job, plans, chance, told)
                except OperationalError as error:
                    told.locked.append(str(error))
                except (StepChanged, JobIsStale) as refusal:
                    told.refused.append(str(refusal))
        finally:
            out.put(told)


def _one_turn(
    turn: int, by: Person, job: Job, plans: list[calc.Plan], chance: random.Random, told: Acknowledged
) -> None:
    # Not the cuts: a sheet that is cut into can't be laid out anew, and then nobody could change the drain.
    step = chance.choice(list(Step.objects.filter(fabrication__job=job, retired=False).exclude(kind="cut")[:12]))
    key, done = uuid4(), step.done_at is None
    if turn % 10 == 9:
        _change(by, job, chance.choice(plans), told)
    elif turn % 4 == 0:
        entry = timer_start(step=step, by=by, form_key=key)
        timer_start(step=step, by=by, form_key=key)
        for _ in range(2):
            timer_stop(by=by, entry=entry)
        told.timers.append((entry.form_key, step.pk))
    elif turn % 4 == 1:
        for _ in range(2):
            time_enter(step=step, day=DAY + timedelta(turn), minutes=12, by=by, form_key=key)
        told.entries.append((key, step.pk))
    elif turn % 4 == 2:
        note_add(step=step, text=f"{by}, {turn}", by=by, form_key=key)
        told.notes.append(key)
    else:
        step_tick(step=step, version=step.version, done=done, by=by, form_key=key)
        told.ticks.append((key, step.pk, done))
        with suppress(StepChanged):  # another may have been there between the two taps
            step_tick(step=step, version=step.version, done=done, by=by, form_key=key)


def _change(by: Person, job: Job, plan: calc.Plan, told: Acknowledged) -> None:
    fabrication, key = Fabrication.objects.get(job=job), uuid4()
    last = fabrication.revisions.latest("number")
    job.refresh_from_db()
    for _ in range(2):
        job_change(
            fabrication=fabrication, plan=plan, heading=Heading.of(job), started_from=last.number,
            job_version=job.version, reason="drain moved", by=by, form_key=key,
        )  # fmt: skip
    told.revisions.append(key)


@pytest.fixture
def one_job(database: Path, django_db_blocker: DjangoDbBlocker, plan: calc.Plan) -> Path:
    """A database file with one job and a person for each process."""
    with django_db_blocker.unblock(), working_with(database):
        people = [Person.objects.create(username=f"person-{place}") for place in range(PROCESSES)]
        job_create(plan=plan, due_day=None, by=people[0])
    return database


def test_nothing_is_lost_and_nobody_is_turned_away(
    one_job: Path, django_db_blocker: DjangoDbBlocker, plan: calc.Plan
) -> None:
    moved = calc.plan({**SHEET, "shape": {**SHEET["shape"], "low_point": [520, 170]}})
    context = get_context("fork")
    together, out = context.Barrier(PROCESSES), context.Queue()
    with django_db_blocker.unblock():
        workers = [
            context.Process(target=_work, args=(str(one_job), f"person-{place}", [plan, moved], together.wait, out))
            for place in range(PROCESSES)
        ]
        for worker in workers:
            worker.start()
        told = [out.get(timeout=100) for _ in workers]
        for worker in workers:
            worker.join(30)
        assert [worker.exitcode for worker in workers] == [0] * PROCESSES
        with working_with(one_job):
            _check(told)


def _check(told: list[Acknowledged]) -> None:
    def all_of(name: str) -> list[Any]:
        return [line for one in told for line in getattr(one, name)]

    assert all_of("locked") == []
    ticks, entries, timers = all_of("ticks"), all_of("entries"), all_of("timers")
    assert min(map(len, (ticks, entries, timers, all_of("notes"), all_of("revisions")))) > 0
    assert len(ticks) + len(entries) + len(timers) + len(all_of("notes")) + len(all_of("revisions")) + len(
        all_of("refused")
    ) == PROCESSES * TURNS  # fmt: skip
    # Every acknowledged line is there once, and no line that was not acknowledged.
    assert Counter(Tick.objects.values_list("form_key", "step", "done")) == Counter(ticks)
    assert Counter(TimeEntry.objects.filter(by_hand=True).values_list("form_key", "step")) == Counter(entries)
    assert Counter(TimeEntry.objects.filter(by_hand=False).values_list("form_key", "step")) == Counter(timers)
    assert Counter(StepNote.objects.values_list("form_key", flat=True)) == Counter(all_of("notes"))
    assert Counter(Revision.objects.exclude(form_key=None).values_list("form_key", flat=True)) == Counter(
        all_of("revisions")
    )
    # Nothing was written over unseen: versions count the ticks, revisions count up, and each step says its newest tick.
    assert not TimeEntry.objects.filter(seconds=None).exists()
    numbers = list(Revision.objects.values_list("number", flat=True))
    assert sorted(numbers) == list(range(1, len(all_of("revisions")) + 2))
    for step in Step.objects.all():
        its = list(step.ticks.order_by("pk"))
        assert step.version == len(its)
        assert (step.done_at is not None) == (its[-1].done if its else False)
        assert [tick.done for tick in its] == [place % 2 == 0 for place in range(len(its))]
