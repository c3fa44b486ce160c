"""Ticks and notes: one line a form, nothing lost, who came second told who came first."""

import uuid
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone
from django.utils.formats import date_format

import calc
from fabjobs import planning
from fabjobs.models import Job, Person, Revision, Step, StepNote, Tick, TimeEntry
from fabjobs.services import SentBefore, StepChanged, note_add, step_tick, time_enter, timer_start
from tests.fabjobs.ticking import tick


@pytest.fixture
def step(job: Job) -> Step:
    return Step.objects.filter(fabrication__job=job, kind="cut")[0]


@pytest.fixture
def other(shop: object) -> Person:
    return Person.objects.create_user("bo")


def test_a_tick_says_who_and_when_and_counts_up_the_version(step: Step, owner: Person) -> None:
    before = timezone.now()
    ticked = step_tick(step=step, version=0, done=True, by=owner, form_key=uuid.uuid4())
    assert (ticked.version, ticked.done_by) == (1, owner)
    assert ticked.done_at is not None
    assert before <= ticked.done_at <= timezone.now()
    assert [(line.done, line.by) for line in Tick.objects.all()] == [(True, owner)]


def test_a_tick_taken_back_leaves_both_lines(step: Step, owner: Person) -> None:
    tick(step, owner)
    undone = tick(step, owner, done=False)
    assert (undone.done_at, undone.done_by, undone.version) == (None, None, 2)
    assert list(step.ticks.values_list("done", flat=True)) == [True, False]


def test_the_same_form_twice_is_one_tick_and_answers_alike(step: Step, owner: Person) -> None:
    key = uuid.uuid4()
    answers = [step_tick(step=step, version=0, done=True, by=owner, form_key=key, note="n") for _ in range(2)]
    assert [(answer.version, answer.done_by) for answer in answers] == [(1, owner), (1, owner)]
    assert (Tick.objects.count(), StepNote.objects.count()) == (1, 1)


def test_who_comes_second_is_told_who_came_first_and_nothing_is_written(
    step: Step, owner: Person, other: Person
) -> None:
    tick(step, other)
    clock = date_format(timezone.localtime(step.ticks.get().at), "H:i")
    with pytest.raises(StepChanged, match=f"^bo ticked this (on .* )?at {clock}\\. ") as told:
        step_tick(step=step, version=0, done=True, by=owner, form_key=uuid.uuid4(), note="half of it")
    assert told.value.step.done_by == other
    assert (Tick.objects.count(), StepNote.objects.count()) == (1, 0)


def test_a_tick_of_another_day_is_told_with_its_day(step: Step, owner: Person, other: Person) -> None:
    tick(step, other)
    tick(step, other, done=False)
    long_ago = timezone.now() - timedelta(days=400)
    Tick.objects.update(at=long_ago)
    day = date_format(timezone.localtime(long_ago), "j M Y")
    with pytest.raises(StepChanged, match=f"^bo took the tick back on {day} at "):
        step_tick(step=step, version=0, done=True, by=owner, form_key=uuid.uuid4())


def test_a_step_of_another_revision_is_read_again_before_it_is_ticked(
    step: Step, owner: Person, plan: calc.Plan
) -> None:
    seen = step.revision_id
    planning.store(fabrication=step.fabrication, plan=plan, by=owner)
    with pytest.raises(StepChanged, match=r"edda made revision 2 at .*Read the step as it is now"):
        step_tick(step=step, version=0, revision=seen, done=True, by=owner, form_key=uuid.uuid4())
    now = Revision.objects.get(number=2).pk
    assert step_tick(step=step, version=0, revision=now, done=True, by=owner, form_key=uuid.uuid4()).done_at


def test_a_retired_step_takes_no_tick(step: Step, owner: Person) -> None:
    Step.objects.filter(pk=step.pk).update(retired=True)
    with pytest.raises(StepChanged, match="no longer made"):
        step_tick(step=step, version=0, done=True, by=owner, form_key=uuid.uuid4())
    assert not Tick.objects.exists()


def test_a_form_of_one_step_does_not_tick_another(job: Job, step: Step, owner: Person) -> None:
    key = uuid.uuid4()
    step_tick(step=step, version=0, done=True, by=owner, form_key=key)
    second = Step.objects.filter(fabrication__job=job, kind="cut")[1]
    with pytest.raises(SentBefore):
        step_tick(step=second, version=0, done=True, by=owner, form_key=key)
    second.refresh_from_db()
    assert second.done_at is None


def test_a_note_is_kept_once_a_form(step: Step, owner: Person) -> None:
    key = uuid.uuid4()
    first, again = (note_add(step=step, text="blade swapped", by=owner, form_key=key) for _ in range(2))
    assert first == again
    with pytest.raises(SentBefore, match="sent already and made: blade swapped"):
        note_add(step=step, text="blade swapped twice", by=owner, form_key=key)
    assert [(note.text, note.by) for note in step.notes.all()] == [("blade swapped", owner)]


def test_a_tick_whose_line_cannot_be_written_is_no_tick(
    step: Step, owner: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(**_: object) -> None:
        raise RuntimeError("no room on the disk")

    monkeypatch.setattr(Tick.objects, "create", fail)
    with pytest.raises(RuntimeError):
        step_tick(step=step, version=0, done=True, by=owner, form_key=uuid.uuid4())
    step.refresh_from_db()
    assert (step.done_at, step.version) == (None, 0)
    assert not connection.needs_rollback


def test_a_step_that_a_revision_took_away_takes_nothing(step: Step, owner: Person) -> None:
    """A step without work on it goes with its row; who still has it on the screen is told."""
    gone = Step.objects.get(pk=step.pk)
    Step.objects.filter(pk=step.pk).delete()
    key = uuid.uuid4()
    with pytest.raises(StepChanged, match=r"edda made revision 1 .*no longer made"):
        step_tick(step=gone, version=0, done=True, by=owner, form_key=key)
    with pytest.raises(StepChanged, match="no longer made"):
        note_add(step=gone, text="n", by=owner, form_key=key)
    with pytest.raises(StepChanged, match="no longer made"):
        timer_start(step=gone, by=owner, form_key=key)
    with pytest.raises(StepChanged, match="no longer made"):
        time_enter(step=gone, day=timezone.localdate(), minutes=5, by=owner, form_key=key)
    assert not Tick.objects.exists()
    assert not StepNote.objects.exists()
    assert not TimeEntry.objects.exists()
