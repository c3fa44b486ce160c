"""Timers, time by hand and corrections. Every sum is worked out beside its check."""

import uuid
from collections.abc import Callable
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from fabjobs.making import running_timer, seconds_on
from fabjobs.models import Job, Person, Step, TimeCorrection, TimeEntry
from fabjobs.services import (
    SentBefore,
    StepChanged,
    TapOutOfTime,
    TimeChanged,
    TimerRanLong,
    time_correct,
    time_enter,
    timer_start,
    timer_stop,
)

pytestmark = pytest.mark.usefixtures("early_in_its_day")

Back = Callable[[TimeEntry, float], None]


@pytest.fixture
def steps(job: Job) -> list[Step]:
    return list(Step.objects.filter(fabrication__job=job))


@pytest.fixture
def other(shop: object) -> Person:
    return Person.objects.create_user("bo")


@pytest.fixture
def began() -> Back:
    """Sets a timer's start so many minutes back, as if it had run that long."""

    def back(entry: TimeEntry, minutes: float) -> None:
        TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(minutes=minutes))

    return back


def test_hours_keep_the_rate_they_were_logged_at(steps: list[Step], owner: Person) -> None:
    Step.objects.filter(pk=steps[0].pk).update(rate="51.20")  # after the step at hand was read
    running, entered = start(steps[0], owner), by_hand(steps[0], owner, 30)
    Step.objects.filter(pk=steps[0].pk).update(rate="60.00")
    timer_stop(by=owner, entry=running)
    kept = TimeEntry.objects.order_by("pk").values_list("pk", "rate")
    assert list(kept) == [(running.pk, Decimal("51.20")), (entered.pk, Decimal("51.20"))]


def start(step: Step, by: Person) -> TimeEntry:
    return timer_start(step=step, by=by, form_key=uuid.uuid4())


def by_hand(step: Step, by: Person, minutes: float, **given: Any) -> TimeEntry:
    given = {"day": date(2031, 5, 9), "form_key": uuid.uuid4(), **given}
    return time_enter(step=step, minutes=minutes, by=by, **given)


def test_a_timer_runs_until_it_is_stopped(steps: list[Step], owner: Person, began: Back) -> None:
    entry = start(steps[0], owner)
    assert (entry.seconds, entry.person, entry.by_hand) == (None, owner, False)
    began(entry, 25)
    assert timer_stop(by=owner, entry=entry).seconds == pytest.approx(25 * 60, abs=2)
    assert running_timer(owner) is None


def test_starting_another_stops_the_first_and_keeps_its_time(steps: list[Step], owner: Person, began: Back) -> None:
    first = start(steps[0], owner)
    began(first, 40)
    second = start(steps[1], owner)
    first.refresh_from_db()
    assert first.seconds == pytest.approx(40 * 60, abs=2)
    assert list(TimeEntry.objects.filter(person=owner, seconds=None)) == [second]


def test_two_people_each_run_their_own(steps: list[Step], owner: Person, other: Person) -> None:
    start(steps[0], owner)
    start(steps[0], other)
    assert TimeEntry.objects.filter(seconds=None).count() == 2


def test_the_database_allows_one_running_timer_a_person(steps: list[Step], owner: Person) -> None:
    start(steps[0], owner)
    with pytest.raises(IntegrityError), transaction.atomic():
        TimeEntry.objects.create(step=steps[1], person=owner, by=owner, started_at=timezone.now(), rate=42)


def test_the_same_form_starts_one_timer_and_none_after_it_was_stopped(steps: list[Step], owner: Person) -> None:
    key = uuid.uuid4()
    first = timer_start(step=steps[0], by=owner, form_key=key)
    assert timer_start(step=steps[0], by=owner, form_key=key) == first
    timer_stop(by=owner, entry=first)
    with pytest.raises(SentBefore, match="was stopped since"):
        timer_start(step=steps[0], by=owner, form_key=key)
    assert TimeEntry.objects.count() == 1


def test_starting_where_it_runs_already_changes_nothing(steps: list[Step], owner: Person, began: Back) -> None:
    first = start(steps[0], owner)
    began(first, 5)
    assert start(steps[0], owner) == first
    assert TimeEntry.objects.count() == 1


def test_stopping_twice_keeps_the_first_time(steps: list[Step], owner: Person, began: Back) -> None:
    entry = start(steps[0], owner)
    began(entry, 10)
    kept = timer_stop(by=owner, entry=entry).seconds
    began(entry, 50)
    assert timer_stop(by=owner, entry=entry).seconds == kept
    with pytest.raises(TapOutOfTime, match=r"stopped already, (at|on) .* Its time stays as it is"):
        timer_stop(by=owner, entry=entry, really=60, form_key=uuid.uuid4())
    entry.refresh_from_db()
    assert entry.seconds == kept
    assert timer_stop(by=owner, entry=entry, really=kept, form_key=uuid.uuid4()).seconds == kept
    assert not TimeCorrection.objects.exists()


def test_after_a_crash_the_timer_still_runs(steps: list[Step], owner: Person, began: Back) -> None:
    """Nothing about it is kept but its row, which a kill leaves."""
    began(start(steps[3], owner), 90)
    found = running_timer(Person.objects.get(pk=owner.pk))
    assert found is not None
    assert (found.entry.step, found.ran_long) == (steps[3], False)
    assert found.seconds == pytest.approx(90 * 60, abs=2)


def test_a_forgotten_timer_is_asked_about_and_its_count_kept_beside_the_answer(
    steps: list[Step], owner: Person, began: Back
) -> None:
    entry = start(steps[0], owner)
    began(entry, 17 * 60)
    with pytest.raises(TimerRanLong, match="Say how long the work really took"):
        timer_stop(by=owner, entry=entry)
    with pytest.raises(TimerRanLong):
        start(steps[1], owner)
    entry.refresh_from_db()
    assert entry.seconds is None
    assert TimeEntry.objects.count() == 1
    key = uuid.uuid4()
    for _ in range(2):
        assert timer_stop(by=owner, entry=entry, really=75 * 60, form_key=key).seconds == 75 * 60
    line = TimeCorrection.objects.get()
    assert line.was == pytest.approx(17 * 3600, abs=2)
    assert (line.now, line.by, line.reason) == (75 * 60, owner, "The timer ran on")


@pytest.mark.parametrize(("past", "asks"), [(-5, False), (5, True)])
def test_six_hours_is_where_it_asks(steps: list[Step], owner: Person, began: Back, past: int, asks: bool) -> None:
    """Directive 2003/88/EC, article 4: who works more than six hours has a break."""
    entry = start(steps[0], owner)
    began(entry, (6 * 3600 + past) / 60)
    if asks:
        with pytest.raises(TimerRanLong):
            timer_stop(by=owner, entry=entry)
    else:
        assert timer_stop(by=owner, entry=entry).seconds == pytest.approx(6 * 3600 - 5, abs=2)


def test_a_clock_that_was_set_back_makes_no_time_not_less(steps: list[Step], owner: Person, began: Back) -> None:
    entry = start(steps[0], owner)
    began(entry, -30)
    assert timer_stop(by=owner, entry=entry).seconds == 0


def test_no_timer_starts_on_a_step_that_is_no_longer_made(steps: list[Step], owner: Person) -> None:
    running = start(steps[1], owner)
    Step.objects.filter(pk=steps[0].pk).update(retired=True)
    with pytest.raises(StepChanged, match="no longer made"):
        start(steps[0], owner)
    running.refresh_from_db()
    assert running.seconds is None


def test_time_by_hand_lies_on_its_day_in_the_shops_own_time(steps: list[Step], owner: Person, settings: Any) -> None:
    settings.TIME_ZONE = "Pacific/Auckland"
    with timezone.override("Pacific/Auckland"):
        entry = by_hand(steps[0], owner, 80)
    assert entry.started_at == datetime(2031, 5, 9, 12, tzinfo=ZoneInfo("Pacific/Auckland"))
    assert (entry.seconds, entry.person, entry.by_hand) == (80 * 60, owner, True)


def test_time_by_hand_for_someone_else_says_who_wrote_it(steps: list[Step], owner: Person, other: Person) -> None:
    entry = by_hand(steps[0], owner, 30, person=other)
    assert (entry.person, entry.by) == (other, owner)


def test_the_same_form_makes_one_entry_also_after_a_correction(steps: list[Step], owner: Person) -> None:
    key = uuid.uuid4()
    entry = by_hand(steps[0], owner, 80, form_key=key)
    time_correct(entry=entry, was=4800, seconds=1200, reason="tea", by=owner, form_key=uuid.uuid4())
    assert by_hand(steps[0], owner, 80, form_key=key) == entry
    assert TimeEntry.objects.get().seconds == 1200
    with pytest.raises(SentBefore):
        by_hand(steps[0], owner, 81, form_key=key)
    with pytest.raises(SentBefore):
        by_hand(steps[0], owner, 80, form_key=key, day=date(2031, 5, 8))
    assert TimeEntry.objects.count() == 1


def test_a_correction_keeps_the_old_time_and_the_reason(steps: list[Step], owner: Person, other: Person) -> None:
    entry = by_hand(steps[0], owner, 80)
    time_correct(entry=entry, was=80 * 60, seconds=50 * 60, reason="tea", by=other, form_key=uuid.uuid4())
    time_correct(entry=entry, was=50 * 60, seconds=55 * 60, reason="short tea", by=owner, form_key=uuid.uuid4())
    entry.refresh_from_db()
    lines = [(line.was, line.now, line.reason, line.by) for line in entry.corrections.all()]
    assert lines == [(4800, 3000, "tea", other), (3000, 3300, "short tea", owner)]
    assert entry.seconds == 3300


def test_a_correction_of_a_time_that_is_no_longer_so_is_refused(
    steps: list[Step], owner: Person, other: Person
) -> None:
    entry = by_hand(steps[0], owner, 80)
    time_correct(entry=entry, was=4800, seconds=3000, reason="tea", by=other, form_key=uuid.uuid4())
    with pytest.raises(TimeChanged, match=r"^bo corrected this (on .* )?at .*, from 80 min to 50 min: tea$"):
        time_correct(entry=entry, was=4800, seconds=600, reason="x", by=owner, form_key=uuid.uuid4())
    entry.refresh_from_db()
    assert (entry.seconds, entry.corrections.count()) == (3000, 1)


def test_the_same_correction_twice_is_one(steps: list[Step], owner: Person) -> None:
    entry, key = by_hand(steps[0], owner, 80), uuid.uuid4()
    for _ in range(2):
        time_correct(entry=entry, was=4800, seconds=3000, reason="tea", by=owner, form_key=key)
    assert entry.corrections.count() == 1


def test_a_wrong_entry_is_taken_back_by_a_correction_to_nothing(steps: list[Step], owner: Person) -> None:
    entry = by_hand(steps[0], owner, 80)
    time_correct(entry=entry, was=4800, seconds=0, reason="another job", by=owner, form_key=uuid.uuid4())
    entry.refresh_from_db()
    assert entry.seconds == 0


def test_a_running_timer_is_not_corrected(steps: list[Step], owner: Person) -> None:
    entry = start(steps[0], owner)
    with pytest.raises(TimeChanged, match="still runs"):
        time_correct(entry=entry, was=0, seconds=60, reason="x", by=owner, form_key=uuid.uuid4())


def test_the_time_of_a_job_is_the_sum_of_its_entries(
    job: Job, steps: list[Step], owner: Person, other: Person, began: Back
) -> None:
    assert seconds_on(job, owner) == 0
    by_hand(steps[0], owner, 80)
    by_hand(steps[5], other, 20)
    entry = by_hand(steps[5], owner, 60)
    time_correct(entry=entry, was=3600, seconds=1800, reason="tea", by=owner, form_key=uuid.uuid4())
    began(start(steps[2], owner), 15)  # still runs: not counted yet
    Step.objects.filter(pk=steps[0].pk).update(retired=True)  # work under an earlier revision counts
    assert seconds_on(job, owner) == (80 + 20 + 30) * 60
