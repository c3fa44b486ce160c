"""Who does what: people at work, what is due, hours left by the shop's own pace, likely finish; and the shop's week."""

import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from html import unescape
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

import calc
from fabjobs.models import Job, Person, ShopSettings, Step, TimeEntry
from fabjobs.models.shop import LONGEST_RUN
from fabjobs.services import SettingsAreStale, job_create, week_set
from fabjobs.views.who import JOBS_A_PAGE
from fabjobs.week import people_at_work, stamp_of_week
from fabjobs.who import TICKED_SHOWN, WhoDoesWhat
from fabjobs.work_left import Pace, paces
from tests.fabjobs.ticking import tick

FRIDAY = date(2031, 5, 9)  # as any calendar has it
NOW = timezone.make_aware(datetime.combine(FRIDAY, time(10)))
Making = Callable[..., Job]


@pytest.fixture
def mate(shop: ShopSettings) -> Person:
    return Person.objects.create_user("bo")


@pytest.fixture
def making(plan: calc.Plan, owner: Person) -> Making:
    """A job that has just these steps to do: standard minutes by kind."""

    def make(due_day: date | None = None, **minutes: float) -> Job:
        job = job_create(plan=plan, due_day=due_day, by=owner)
        steps = Step.objects.filter(fabrication__job=job)
        steps.update(retired=True)
        for kind, of_kind in minutes.items():
            first = steps.filter(kind=kind)[:1].get()
            Step.objects.filter(pk=first.pk).update(retired=False, minutes=of_kind)
        return job

    return make


def done(job: Job, kind: str, took: float, by: Person, *, at: datetime = NOW - timedelta(days=40)) -> Step:
    """Tick the job's step of this kind, with so many minutes logged on it."""
    step = Step.objects.get(fabrication__job=job, kind=kind, retired=False)
    Step.objects.filter(pk=step.pk).update(done_at=at, done_by=by)
    log(step, by, took, at=at)
    return step


def log(step: Step, by: Person, minutes: float | None, *, at: datetime = NOW) -> TimeEntry:
    """Time on a step from then on [min]; None: the timer runs."""
    seconds = None if minutes is None else round(minutes * 60)
    return TimeEntry.objects.create(step=step, person=by, by=by, started_at=at, seconds=seconds, rate=40)


def who(now: datetime = NOW) -> WhoDoesWhat:
    return WhoDoesWhat.of(ShopSettings.current(), now)


def words_of(page: bytes) -> str:
    """What a page says, spaces as one."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page.decode())).split())


# What is due, and when it is likely done


def test_jobs_are_taken_by_due_day_then_number_by_all_hands(making: Making, mate: Person) -> None:
    making(None, weld=480)
    making(FRIDAY, cut=600, weld=600)
    making(date(2031, 5, 14), cut=600)
    making(date(2031, 5, 8), cut=240)
    making(FRIDAY, cut=60)
    # Two people of 40 h: 16 h a day. 4 h, 24 h, 25 h, 35 h and 43 h are worked off by Friday, Monday, Monday, Tuesday, Tuesday
    found = who()
    assert [(job.number, job.minutes) for job in found.jobs] == [(4, 240), (2, 1200), (5, 60), (3, 600), (1, 480)]
    assert [job.likely and job.likely.day for job in found.jobs] == [9, 12, 12, 13, 13]
    assert [job.number for job in found.late] == [4, 2, 5]
    assert (found.minutes, found.week_hours, found.likely) == (2580, 80, date(2031, 5, 13))


def test_what_was_logged_today_is_no_longer_there_to_be_worked(making: Making, owner: Person) -> None:
    job = making(FRIDAY, cut=300)  # 5 h, of 8 h a day
    assert who().likely == FRIDAY
    step = Step.objects.get(fabrication__job=job, retired=False)
    log(step, owner, 240, at=NOW - timedelta(hours=5))  # 4 h are left
    assert who().likely == date(2031, 5, 12)
    TimeEntry.objects.update(started_at=NOW - timedelta(days=1))
    assert who().likely == FRIDAY
    assert who(NOW + timedelta(days=1)).likely == date(2031, 5, 12)  # nobody works on Saturday


def test_after_the_days_end_the_next_day_counts(making: Making, owner: Person, mate: Person) -> None:
    making(None, cut=240)  # 4 h; the day ends at 17:00
    for hour, minute, day in ((15, 0, 9), (15, 1, 12), (16, 59, 12), (18, 0, 12), (23, 59, 12)):
        assert who(timezone.make_aware(datetime.combine(FRIDAY, time(hour, minute)))).likely == date(2031, 5, day)
    ShopSettings.objects.update(day_end=time(20, 30))
    assert who(timezone.make_aware(datetime.combine(FRIDAY, time(18, 0)))).likely == FRIDAY
    # One person has worked 7 of 8 h by three, the other nothing: 1 h and 5 h are left
    step = Step.objects.get(retired=False)
    log(step, owner, 420, at=NOW - timedelta(hours=3))
    three = timezone.make_aware(datetime.combine(FRIDAY, time(15, 30)))
    assert who(three).likely == FRIDAY
    Step.objects.filter(pk=step.pk).update(minutes=361)
    assert who(three).likely == date(2031, 5, 12)


def test_the_shops_days_and_hours_count(making: Making, owner: Person, mate: Person) -> None:
    making(None, cut=600)
    ShopSettings.objects.update(work_days=0b0100000)  # Saturday alone
    Person.objects.filter(pk=mate.pk).update(week_hours=0)
    Person.objects.filter(pk=owner.pk).update(week_hours=5)
    assert who().likely == date(2031, 5, 17)  # 5 h on the 10th, 5 h on the 17th
    Person.objects.filter(pk=owner.pk).update(is_active=False)
    assert who().likely is None


def test_a_retired_or_ticked_step_is_nothing_left_and_a_finished_job_is_gone(making: Making, owner: Person) -> None:
    job, other = making(FRIDAY, cut=60, weld=90), making(FRIDAY, cut=60)
    done(job, "cut", 10, owner)
    done(other, "cut", 10, owner)
    assert [(one.number, one.minutes) for one in who().jobs] == [(1, 90)]


def test_a_job_without_steps_is_in_hand_and_takes_no_time(signed_in: Client, making: Making) -> None:
    making(FRIDAY)
    assert [(one.number, one.minutes, one.likely) for one in who().jobs] == [(1, 0, FRIDAY)]
    assert "no steps planned" in signed_in.get("/who/").content.decode()


# The shop's own pace


def test_a_kind_that_took_longer_on_five_jobs_is_reckoned_longer(making: Making, owner: Person) -> None:
    for place in range(5):
        job = making(None, cut=60, weld=60, mark=60)
        done(job, "cut", 90, owner)
        done(job, "mark", 0, owner)  # ticked, but nobody timed it
        if place < 4:
            done(job, "weld", 30, owner)
        else:
            log(Step.objects.get(fabrication__job=job, kind="weld", retired=False), owner, 999)  # not ticked
    assert {one.kind: (one.timed.jobs, one.timed.pace) for one in paces(NOW)} == {"cut": (5, 1.5), "weld": (4, None)}
    Step.objects.filter(done_at=None).update(retired=True)
    making(FRIDAY, cut=60, weld=60, mark=60)
    assert who().jobs[-1].standard == 180
    assert who().jobs[-1].minutes == 60 * 1.5 + 60 + 60


def test_a_pace_is_the_sum_over_all_and_of_the_last_year(making: Making, owner: Person) -> None:
    for took in (20, 40, 60, 80, 100):
        done(making(None, cut=60), "cut", took, owner)
    done(making(None, cut=60), "cut", 1000, owner, at=NOW - timedelta(days=370))
    (pace,) = paces(NOW)
    # (20 + 40 + 60 + 80 + 100) min of 5 x 60 min
    assert (pace.timed.expected, pace.timed.taken, pace.timed.jobs, pace.timed.pace) == (300, 300, 5, 1.0)


def test_two_steps_and_two_entries_of_one_job_are_one_job(making: Making, owner: Person) -> None:
    job = making(None, cut=60)
    step = done(job, "cut", 30, owner)
    log(step, owner, 45, at=NOW - timedelta(days=30))
    (pace,) = paces(NOW)
    assert pace == Pace("cut", type(pace.timed)(60, 75, 1))


def test_the_page_says_from_how_many_jobs_or_that_they_are_too_few(
    signed_in: Client, making: Making, owner: Person
) -> None:
    now = timezone.now()
    for _ in range(4):
        done(making(None, cut=60), "cut", 90, owner, at=now - timedelta(days=3))
    assert "No kind of work has time on it from five jobs yet" in words_of(signed_in.get("/who/").content)
    done(making(None, cut=60), "cut", 90, owner, at=now - timedelta(days=3))
    page = words_of(signed_in.get("/who/").content)
    assert "cut 5 h 00 min 7 h 30 min 1.50 5 jobs" in page  # 5 x 60 min, 5 x 90 min


# People


def test_a_person_runs_ticks_and_logs(making: Making, owner: Person, mate: Person) -> None:
    job = making(FRIDAY, cut=60, weld=60, mark=60)
    cut = done(job, "cut", 30, owner, at=NOW - timedelta(hours=1))
    done(job, "mark", 60, owner, at=NOW - timedelta(days=1))  # Thursday
    weld = Step.objects.get(fabrication__job=job, kind="weld", retired=False)
    log(weld, owner, 600, at=NOW - timedelta(days=5))  # Sunday, another week
    log(weld, mate, None, at=NOW - timedelta(minutes=45))
    bo, edda = who().people
    assert (edda.running, edda.ticked, edda.logged.today, edda.logged.week) == (None, [cut], 1800, 5400)
    assert bo.running is not None
    assert (bo.running.entry.step, bo.running.seconds, bo.running.ran_long) == (weld, 2700, False)
    assert (bo.ticked, bo.logged.today, bo.logged.week) == ([], 2700, 2700)


def test_a_timer_that_runs_past_midnight_counts_for_the_day_it_was_begun_as_once_it_is_stopped(
    making: Making, owner: Person
) -> None:
    """From 22:00, five hours past the end of that day, to half past midnight: 2.5 h."""
    late = timezone.make_aware(datetime.combine(FRIDAY, time(22)))
    entry = log(Step.objects.get(fabrication__job=making(FRIDAY, cut=60), retired=False), owner, None, at=late)
    for seconds in (None, 9000):
        TimeEntry.objects.filter(pk=entry.pk).update(seconds=seconds)
        (edda,) = who(late + timedelta(hours=2.5)).people
        assert (edda.logged.today, edda.logged.week) == (0, 9000)


def test_a_timer_that_ran_on_is_told_and_counts_for_nothing(signed_in: Client, making: Making, owner: Person) -> None:
    job = making(FRIDAY, cut=60)
    began = timezone.now() - timedelta(hours=LONGEST_RUN, minutes=1)
    log(Step.objects.get(fabrication__job=job, retired=False), owner, None, at=began)
    (edda,) = who(timezone.now()).people
    assert edda.running is not None
    assert edda.running.ran_long
    assert edda.logged.week == 0
    page = words_of(signed_in.get("/who/").content)
    assert "most likely forgotten. It counts for nothing here until edda says how long the work took." in page


def test_a_tick_taken_back_is_none_and_only_the_newest_are_named(signed_in: Client, job: Job, owner: Person) -> None:
    steps = list(Step.objects.filter(fabrication__job=job)[: TICKED_SHOWN + 2])
    for step in steps:
        tick(step, owner)
    tick(steps[-1], owner, done=False)
    (edda,) = who(timezone.now()).people
    assert (len(edda.ticked), len(edda.newest), edda.more) == (TICKED_SHOWN + 1, TICKED_SHOWN, 1)
    assert f"{TICKED_SHOWN + 1} steps ticked today, the newest" in words_of(signed_in.get("/who/").content)


def test_who_is_gone_from_the_shop_is_not_shown(owner: Person, mate: Person) -> None:
    Person.objects.filter(pk=mate.pk).update(is_active=False)
    assert [one.person for one in who().people] == [owner]


# The page


def test_late_jobs_are_told_plainly(signed_in: Client, making: Making) -> None:
    today = timezone.localdate()
    due = today - timedelta(days=3)
    making(due, cut=60)
    page = words_of(signed_in.get("/who/").content)
    likely = who(timezone.now()).likely
    assert likely is not None
    assert f"due {due:%a} {due.day} {due:%b}, likely {likely:%a} {likely.day} {likely:%b}" in page
    assert f"{likely:%a} {likely.day} {likely:%b}: late" in page


def test_an_empty_shop(signed_in: Client) -> None:
    page = words_of(signed_in.get("/who/").content)
    assert "All likely done nothing in hand" in page
    assert "Nothing is in hand." in page


def test_without_hours_no_day_is_told(signed_in: Client, making: Making, owner: Person) -> None:
    making(FRIDAY, cut=60)
    Person.objects.update(week_hours=0)
    page = words_of(signed_in.get("/who/").content)
    assert "Nobody has hours in the week, so no day can be told." in page
    assert "likely much later" in page


def test_in_hand_leads_there_and_stays_the_place(signed_in: Client, job: Job) -> None:
    assert 'href="/who/"' in signed_in.get("/").content.decode()
    page = signed_in.get("/who/").content.decode()
    assert '<a href="/" aria-current="page">In hand</a>' in page


def test_everybodys_hours_and_the_shops_pace_stand_there(signed_in: Client, making: Making, owner: Person) -> None:
    for _ in range(5):
        done(making(None, weld=60), "weld", 95, owner, at=timezone.now() - timedelta(days=40))
    job = making(timezone.localdate(), cut=60)
    log(Step.objects.get(fabrication__job=job, retired=False, kind="cut"), owner, 77, at=timezone.now())
    shown = words_of(signed_in.get("/who/").content)
    assert "1 h 17 min today, 1 h 17 min of 40 h this week" in shown
    assert "Hours in the week 40 h" in shown
    assert "weld 5 h 00 min 7 h 55 min 1.58 5 jobs" in shown  # 5 x 95 min
    assert "Corrected by the shop's own record" in shown
    assert "Left in hand 1 h 00 min" in shown
    assert "No timer runs." in shown


@pytest.mark.parametrize("count", [1, 50])
def test_queries_do_not_grow_with_the_jobs(
    signed_in: Client, making: Making, owner: Person, mate: Person, count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:  # fmt: skip
    jobs = [making(FRIDAY, cut=60, weld=60) for _ in range(count)]
    for person, job in zip((owner, mate), jobs, strict=False):
        log(Step.objects.get(fabrication__job=job, kind="cut", retired=False), person, None, at=timezone.now())
    for job in jobs:
        tick(Step.objects.get(fabrication__job=job, kind="weld", retired=False), owner)
    # session, person, shop, running timers, ticked steps, logged time, people, paces, steps left, jobs in hand, own timer,
    # which timer its start stopped
    with django_assert_num_queries(12) as asked:
        answer = signed_in.get("/who/")
    assert len(answer.context["page"]) == min(count, JOBS_A_PAGE)
    assert not any('"plan"' in query["sql"] or '"sheet"' in query["sql"] for query in asked.captured_queries)


def test_wrong_method_or_signed_out(signed_in: Client) -> None:
    assert signed_in.post("/who/").status_code == 405
    assert Client().get("/who/")["Location"] == "/sign-in?next=/who/"


# The week


def week(**change: Any) -> dict[str, Any]:
    people = people_at_work()
    form = {"days": ["0", "1", "2", "3", "5"], "seen": stamp_of_week(ShopSettings.current(), people)}
    form["day_end"] = "16:30"
    return {**form, **{f"hours_{person.pk}": "38.5" for person in people}, **change}


def test_the_week_is_kept(signed_in: Client, owner: Person, mate: Person) -> None:
    page = signed_in.get("/settings/week").content.decode()
    assert page.count(" checked>") == 5
    assert page.count('value="40"') == 2
    assert 'value="17:00"' in page
    for _ in range(2):
        assert signed_in.post("/settings/week", week(**{f"hours_{mate.pk}": "0"}))["Location"] == "/who/"
    shop = ShopSettings.objects.get()
    assert (shop.weekdays, shop.day_end) == ({0, 1, 2, 3, 5}, time(16, 30))
    assert list(Person.objects.order_by("pk").values_list("week_hours", flat=True)) == [38.5, 0]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"days": []}, "Choose one day of the week at least."),
        ({"days": ["7"]}, "Select a valid choice"),
        ({"day_end": "half past four"}, "Give the hour as 17:00."),
        ({"day_end": ""}, "Not given: give the hour as 17:00."),
        ({"hours": "-1"}, "greater than or equal to 0"),
        ({"hours": "100.5"}, "less than or equal to 100"),
        ({"hours": ""}, "Not given: 0 for somebody who does not work at the bench."),
        ({"hours": "many"}, "Enter a number."),
        ({"hours": "nan"}, "Enter a number."),
        ({"seen": ""}, "That form was not whole."),
    ],
)
def test_a_week_that_makes_no_sense_is_told(
    signed_in: Client, owner: Person, change: dict[str, Any], words: str
) -> None:
    if "hours" in change:
        change = {f"hours_{owner.pk}": change["hours"]}
    answer = signed_in.post("/settings/week", week(**change))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    owner.refresh_from_db()
    assert owner.week_hours == 40


def test_a_week_that_was_changed_meanwhile_is_not_overwritten(signed_in: Client, owner: Person) -> None:
    form = week()
    Person.objects.filter(pk=owner.pk).update(week_hours=20)
    answer = signed_in.post("/settings/week", form)
    assert answer.status_code == 409
    assert "Someone changed this while your form was open" in answer.content.decode()
    owner.refresh_from_db()
    assert owner.week_hours == 20
    with pytest.raises(SettingsAreStale):
        week_set(work_days=1, day_end=time(17), hours={owner.pk: 1.0}, seen="old")


@pytest.mark.parametrize(
    ("rows", "change"),
    [(ShopSettings, {"work_days": days}) for days in (0, 128)]
    + [(Person, {"week_hours": hours}) for hours in (-1, 101)],
)
def test_the_rows_keep_their_rules(owner: Person, rows: Any, change: dict[str, Any]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        rows.objects.update(**change)
