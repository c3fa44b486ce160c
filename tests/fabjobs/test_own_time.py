"""A person's own time on a page of its own: day by day, each entry with the way to where it is corrected."""

import re
import uuid
from datetime import date, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from fabjobs.models import Job, Person, Step, TimeEntry
from fabjobs.own_time import OwnTime
from fabjobs.services import time_correct, time_enter, timer_start

THURSDAY = date(2031, 5, 8)  # 1 January 2031 is a Wednesday, and 8 May the 127th day after it: 127 = 18 * 7 + 1
NOON = 12 * 60


@pytest.fixture
def steps(job: Job) -> list[Step]:
    return list(Step.objects.filter(fabrication__job=job))


@pytest.fixture
def hand(shop: object) -> Person:
    return Person.objects.create_user("jon", role="hand")


@pytest.fixture
def page(hand: Person) -> Client:
    client = Client()
    client.force_login(hand)
    return client


def log(step: Step, by: Person, day: date, minutes: float) -> TimeEntry:
    return time_enter(step=step, day=day, minutes=minutes, by=by, form_key=uuid.uuid4())


def at_noon(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, datetime.min.time())) + timedelta(minutes=NOON)


def test_days_and_weeks_are_summed_from_monday_on(steps: list[Step], hand: Person, owner: Person) -> None:
    monday = THURSDAY - timedelta(days=3)
    for day, minutes in (
        (THURSDAY, 20), (THURSDAY, 25), (monday, 60), (monday - timedelta(days=1), 90), (monday - timedelta(days=7), 30),
        (monday - timedelta(days=8), 400),
    ):  # fmt: skip
        log(steps[0], hand, day, minutes)
    log(steps[0], owner, THURSDAY, 300)
    own = OwnTime.of(hand, at_noon(THURSDAY))
    assert own.today.seconds == (20 + 25) * 60
    assert [week.monday for week in own.weeks] == [monday, monday - timedelta(days=7)]
    assert [week.seconds for week in own.weeks] == [(20 + 25 + 60) * 60, (90 + 30) * 60]
    assert [[one.day for one in week.days] for week in own.weeks] == [
        [THURSDAY, monday],
        [monday - timedelta(days=1), monday - timedelta(days=7)],
    ]
    assert [entry.seconds for entry in own.today.entries] == [20 * 60, 25 * 60]


def test_each_entry_leads_to_where_it_is_corrected(page: Client, steps: list[Step], hand: Person) -> None:
    entry = log(steps[2], hand, timezone.localdate(), 80)
    shown = page.get("/me/time").content.decode()
    link = re.search(rf'href="([^"#]*)#entry-{entry.pk}">Job 1, step {steps[2].position}<', shown)
    assert link
    assert "1 h 20 min" in shown
    step = page.get(link[1]).content.decode()
    assert f'id="entry-{entry.pk}"' in step
    assert f'action="/jobs/1/steps/{steps[2].pk}/time/{entry.pk}"' in step
    time_correct(entry=entry, was=80 * 60, seconds=70 * 60, reason="tea", by=hand, form_key=uuid.uuid4())
    assert "1 h 10 min" in page.get("/me/time").content.decode()


def test_nothing_of_anyone_else_stands_there_an_owners_neither(
    page: Client, signed_in: Client, steps: list[Step], hand: Person, owner: Person
) -> None:
    log(steps[0], owner, timezone.localdate(), 433)
    log(steps[1], hand, timezone.localdate(), 29)
    of_hand, of_owner = (client.get("/me/time").content.decode() for client in (page, signed_in))
    assert "29 min" in of_hand
    assert "7 h 13 min" not in of_hand
    assert "7 h 13 min" in of_owner
    assert ">29 min" not in of_owner


def test_a_timer_that_runs_is_told_and_counts_for_nothing_yet(page: Client, steps: list[Step], hand: Person) -> None:
    timer_start(step=steps[0], by=hand, form_key=uuid.uuid4())
    shown = page.get("/me/time").content.decode()
    assert "<b>running</b>" in shown
    assert "A timer that runs counts once it is stopped." in shown
    assert OwnTime.of(hand, timezone.now()).today.seconds == 0


def test_without_any_it_says_so_and_ones_own_page_leads_there(page: Client) -> None:
    assert 'href="/me/time"' in page.get("/me/").content.decode()
    assert page.get("/me/time").content.decode().count("None logged.") == 2


@pytest.mark.parametrize("count", [1, 12])
def test_however_much_was_logged_it_asks_the_same(
    page: Client, steps: list[Step], hand: Person, django_assert_num_queries: DjangoAssertNumQueries, count: int
) -> None:
    for number in range(count):
        log(steps[number], hand, timezone.localdate(), 10)
    page.get("/me/time")
    with django_assert_num_queries(5):  # session, person, shop, the timer of the bar, the entries
        page.get("/me/time")
