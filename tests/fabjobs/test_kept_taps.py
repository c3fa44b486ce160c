"""Taps that a device kept: dated and timed by when they were tapped, within bounds; what became of each is told it."""

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from fabjobs.models import Job, Person, ShopSettings, Step, Tick, TimeEntry
from fabjobs.services import TapOutOfTime, TimerRanLong, step_tick, time_correct, time_enter, timer_start, timer_stop
from tests.conftest import PASSWORD
from tests.fabjobs.ticking import tick

HOUR = 3600
Htmx = Callable[..., dict[str, str]]


@pytest.fixture
def steps(job: Job) -> list[Step]:
    return list(Step.objects.filter(fabrication__job=job))


@pytest.fixture
def other(shop: object) -> Person:
    return Person.objects.create_user("bo", password=PASSWORD)


def start(step: Step, by: Person, ago: float = 0.0) -> TimeEntry:
    return timer_start(step=step, by=by, form_key=uuid.uuid4(), ago=ago)


def seconds_since(moment: Any) -> float:
    return float((timezone.now() - moment).total_seconds())


# --- ticks


def test_a_tick_is_dated_when_it_was_tapped_and_says_that_it_was_sent_later(steps: list[Step], owner: Person) -> None:
    done = step_tick(step=steps[0], version=0, done=True, by=owner, form_key=uuid.uuid4(), ago=2 * HOUR)
    line = Tick.objects.get()
    assert seconds_since(done.done_at) == pytest.approx(2 * HOUR, abs=2)
    assert line.when == line.tapped_at == done.done_at
    assert seconds_since(line.at) == pytest.approx(0, abs=2)


def test_a_tick_sent_at_once_says_nothing_of_it(steps: list[Step], owner: Person) -> None:
    step_tick(step=steps[0], version=0, done=True, by=owner, form_key=uuid.uuid4(), ago=4)
    line = Tick.objects.get()
    assert (line.tapped_at, line.when) == (None, line.at)


@pytest.mark.parametrize(("ago", "dated"), [(-HOUR, 0), (8 * 24 * HOUR, 7 * 24 * HOUR), (1e9, 7 * 24 * HOUR)])
def test_no_tick_lies_ahead_or_more_than_a_week_back(
    steps: list[Step], owner: Person, ago: float, dated: float
) -> None:
    done = step_tick(step=steps[0], version=0, done=True, by=owner, form_key=uuid.uuid4(), ago=ago)
    assert seconds_since(done.done_at) == pytest.approx(dated, abs=2)


def test_a_kept_tick_sent_again_is_one_though_the_time_since_is_another(steps: list[Step], owner: Person) -> None:
    key = uuid.uuid4()
    for ago in (60, 90):
        step_tick(step=steps[0], version=0, done=True, by=owner, form_key=key, ago=ago)
    assert seconds_since(Tick.objects.get().when) == pytest.approx(60, abs=2)


# --- timers


def test_a_start_counts_from_when_it_was_tapped_and_stops_the_other_then(steps: list[Step], owner: Person) -> None:
    first = start(steps[0], owner, ago=50 * 60)
    second = start(steps[1], owner, ago=20 * 60)
    first.refresh_from_db()
    assert first.seconds == pytest.approx((50 - 20) * 60, abs=2)
    assert seconds_since(second.started_at) == pytest.approx(20 * 60, abs=2)


@pytest.mark.usefixtures("early_in_its_day")
def test_a_stop_counts_until_it_was_tapped(steps: list[Step], owner: Person) -> None:
    entry = start(steps[0], owner, ago=3 * HOUR)
    assert timer_stop(by=owner, entry=entry, ago=HOUR).seconds == pytest.approx(2 * HOUR, abs=2)


@pytest.mark.usefixtures("early_in_its_day")
def test_a_forgotten_timer_is_asked_about_by_what_it_ran_until_the_tap(steps: list[Step], owner: Person) -> None:
    ShopSettings.objects.update(timer_hours=12)
    entry = start(steps[0], owner)
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(hours=16))
    with pytest.raises(TimerRanLong):
        timer_stop(by=owner, entry=entry, ago=3 * HOUR)  # 13 h
    assert timer_stop(by=owner, entry=entry, ago=6 * HOUR).seconds == pytest.approx(10 * HOUR, abs=2)


def test_twelve_hours_are_the_most_that_a_timer_counts_back(steps: list[Step], owner: Person) -> None:
    with pytest.raises(TapOutOfTime, match=r"more than 12 hours .* log the time by hand"):
        start(steps[0], owner, ago=12 * HOUR + 5)
    assert not TimeEntry.objects.exists()
    entry = start(steps[0], owner, ago=12 * HOUR - 5)
    with pytest.raises(TapOutOfTime, match=r"more than 12 hours .* Say how long the work took"):
        timer_stop(by=owner, entry=entry, ago=12 * HOUR + 5)
    entry.refresh_from_db()
    assert entry.seconds is None


def test_no_timer_is_stopped_before_it_began(steps: list[Step], owner: Person) -> None:
    entry = start(steps[0], owner)
    with pytest.raises(TapOutOfTime, match="before the timer began"):
        timer_stop(by=owner, entry=entry, ago=HOUR)
    entry.refresh_from_db()
    assert entry.seconds is None
    assert (
        timer_stop(by=owner, entry=entry, ago=5).seconds == 0
    )  # as taps in a row are not all equally long on their way


def test_a_start_from_before_another_that_was_sent_first_starts_nothing(
    steps: list[Step], owner: Person, other: Person
) -> None:
    """On another device; else its time would be counted twice."""
    late = start(steps[0], owner, ago=10 * 60)
    start(steps[2], other, ago=5 * 60)  # what others time is nothing to it
    with pytest.raises(TapOutOfTime, match=r"You started another timer .*, after this tap\. Nothing was started"):
        start(steps[1], owner, ago=30 * 60)
    timer_stop(by=owner, entry=late)
    with pytest.raises(TapOutOfTime, match="after this tap"):
        start(steps[1], owner, ago=30 * 60)
    assert TimeEntry.objects.filter(person=owner).count() == 1


def test_a_start_from_while_another_ran_that_is_stopped_by_now_starts_nothing(steps: list[Step], owner: Person) -> None:
    """It ran from 60 to 20 min ago on another device: from 40 min ago on, 20 min would be counted twice."""
    first = start(steps[0], owner, ago=60 * 60)
    timer_stop(by=owner, entry=first, ago=20 * 60)
    with pytest.raises(TapOutOfTime, match=r"ran until .*, past this tap\. Nothing was started"):
        start(steps[1], owner, ago=40 * 60)
    begun = start(steps[1], owner, ago=20 * 60 + 5).started_at  # a moment out of turn
    assert seconds_since(begun) == pytest.approx(20 * 60, abs=2)


def test_a_forgotten_timer_keeps_no_start_away_from_after_what_it_really_was(steps: list[Step], owner: Person) -> None:
    """It was answered for after the tap, with 10 min of 60."""
    first = start(steps[0], owner, ago=60 * 60)
    timer_stop(by=owner, entry=first, really=10 * 60, form_key=uuid.uuid4())
    assert seconds_since(start(steps[1], owner, ago=30 * 60).started_at) == pytest.approx(30 * 60, abs=2)


def test_taps_a_moment_out_of_turn_follow_one_another(steps: list[Step], owner: Person) -> None:
    first = start(steps[0], owner, ago=60)
    second = start(steps[1], owner, ago=62)
    first.refresh_from_db()
    assert (first.seconds, second.started_at) == (0, first.started_at)


def test_time_by_hand_of_the_day_keeps_no_timer_from_starting(steps: list[Step], owner: Person) -> None:
    time_enter(step=steps[0], day=timezone.localdate() + timedelta(days=1), minutes=5, by=owner, form_key=uuid.uuid4())
    assert start(steps[1], owner, ago=60).seconds is None


def test_a_kept_stop_sent_again_is_taken_and_one_for_another_moment_told(steps: list[Step], owner: Person) -> None:
    entry = start(steps[0], owner, ago=2 * HOUR)
    timer_stop(by=owner, entry=entry, ago=HOUR)
    assert timer_stop(by=owner, entry=entry, ago=HOUR + 3).seconds == pytest.approx(HOUR, abs=2)
    time_correct(entry=entry, was=entry.seconds or 0, seconds=60, reason="tea", by=owner, form_key=uuid.uuid4())
    assert timer_stop(by=owner, entry=entry, ago=HOUR).seconds == 60
    with pytest.raises(TapOutOfTime, match=r"stopped already, (on .* )?at .*\. Its time stays as it is\."):
        timer_stop(by=owner, entry=entry, ago=HOUR / 2)
    assert timer_stop(by=owner, entry=entry).seconds == 60  # tapped just now, on a page that was old


# --- what the pages take and answer


@pytest.fixture
def send(owner: Person, htmx: Htmx) -> Callable[..., Any]:
    """A kept tap as a device sends it, under the session of whoever is signed in."""
    client = Client()
    client.force_login(owner)

    def sent(path: str, *, by: Person = owner, session: Client = client, **fields: Any) -> Any:
        data = {"form_key": uuid.uuid4(), **fields}
        return session.post(path, data, headers={**htmx("http://testserver/jobs/1/"), "Tap-By": str(by.pk)})

    return sent


def ticking(step: Step, **given: Any) -> dict[str, Any]:
    return {"version": 0, "revision": step.revision_id, "done": "1", **given}


def test_a_kept_tick_and_timer_are_taken(steps: list[Step], send: Callable[..., Any]) -> None:
    path = f"/jobs/1/steps/{steps[0].pk}"
    ticked = send(f"{path}/tick", **ticking(steps[0], ago="600.250"))
    assert (ticked.status_code, ticked["Tap"]) == (200, "taken")
    assert seconds_since(Tick.objects.get().when) == pytest.approx(600, abs=3)
    assert send(f"{path}/timer", ago="300")["Tap"] == "taken"
    entry = TimeEntry.objects.get()
    stopped = send(f"/timer/{entry.pk}/stop", ago="60")
    assert stopped["Tap"] == "taken"
    entry.refresh_from_db()
    assert entry.seconds == pytest.approx(240, abs=3)


def test_the_page_of_a_step_tells_a_tick_that_was_sent_later(
    steps: list[Step], signed_in: Client, owner: Person
) -> None:
    step_tick(step=steps[0], version=0, done=True, by=owner, form_key=uuid.uuid4(), ago=600)
    page = signed_in.get(f"/jobs/1/steps/{steps[0].pk}/").content.decode()
    section = page[page.index('id="ticks"') :].partition("</section>")[0]
    assert "Ticked by edda" in section
    assert ", sent at" in section


@pytest.mark.parametrize("ago", ["soon", "-1", "nan", "inf", "1e400", "99999999999"])
def test_how_long_ago_is_a_number_of_seconds(steps: list[Step], send: Callable[..., Any], ago: str) -> None:
    path = f"/jobs/1/steps/{steps[0].pk}"
    entry = start(steps[1], Person.objects.get(username="edda"))
    answers = [
        send(f"{path}/tick", **ticking(steps[0], ago=ago)),
        send(f"{path}/timer", ago=ago),
        send(f"/timer/{entry.pk}/stop", ago=ago),
    ]
    assert [(answer.status_code, answer["Tap"]) for answer in answers] == [(422, "refused")] * 3
    assert all("That form was not whole." in answer.content.decode() for answer in answers)
    assert not Tick.objects.exists()
    assert TimeEntry.objects.get().seconds is None


def test_who_was_there_first_is_told_and_the_tap_refused(
    steps: list[Step], send: Callable[..., Any], other: Person
) -> None:
    tick(steps[0], other)
    refused = send(f"/jobs/1/steps/{steps[0].pk}/tick", **ticking(steps[0], ago="600"))
    assert (refused.status_code, refused["Tap"]) == (409, "refused")
    assert "bo ticked this" in refused.content.decode()


def test_a_tap_that_counted_and_was_undone_since_is_told_so(
    steps: list[Step], send: Callable[..., Any], other: Person
) -> None:
    given = ticking(steps[0], form_key=uuid.uuid4())
    assert send(f"/jobs/1/steps/{steps[0].pk}/tick", **given)["Tap"] == "taken"  # an answer that never came
    tick(steps[0], other, done=False)
    again = send(f"/jobs/1/steps/{steps[0].pk}/tick", **given)
    assert again["Tap"] == "refused"
    assert "Your tap had counted before that." in again.content.decode()
    assert Tick.objects.count() == 2


def test_what_timers_refuse_is_refused(steps: list[Step], send: Callable[..., Any], owner: Person) -> None:
    path = f"/jobs/1/steps/{steps[0].pk}/timer"
    old = send(path, ago=str(13 * HOUR))
    assert (old.status_code, old["Tap"]) == (409, "refused")
    assert "more than 12 hours" in old.content.decode()
    entry = start(steps[1], owner)
    early = send(f"/timer/{entry.pk}/stop", ago=str(HOUR))
    assert (early.status_code, early["Tap"]) == (409, "refused")
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(hours=13))
    there = f"/timer/?at={steps[0].pk}&back=&start=on"
    for asks, to in ((send(path), there), (send(f"/timer/{entry.pk}/stop"), "/timer/")):
        assert (asks["HX-Redirect"], asks["Tap"]) == (to, "refused")
        assert "Say how long the work really took." in asks.content.decode()


@pytest.mark.parametrize("path", ["/jobs/1/steps/999999/tick", "/jobs/77/steps/1/tick", "/timer/999999/stop"])
def test_what_is_not_there_is_refused(job: Job, send: Callable[..., Any], path: str) -> None:
    answer = send(path)
    assert (answer.status_code, answer["Tap"]) == (404, "refused")


def test_a_tap_is_kept_until_its_own_person_is_signed_in(
    steps: list[Step], send: Callable[..., Any], owner: Person, other: Person
) -> None:
    path = f"/jobs/1/steps/{steps[0].pk}/tick"
    nobody, bo = Client(), Client()
    bo.force_login(other)
    for session in (nobody, bo):
        kept = send(path, session=session, **ticking(steps[0]))
        assert kept["Tap"] == "keep"
        assert kept["HX-Redirect"].startswith("/sign-in?next=")
    plain = bo.post(path, ticking(steps[0]), headers={"Tap-By": str(owner.pk)})
    assert (plain.status_code, plain["Tap"]) == (302, "keep")
    assert send(path, by=other, **ticking(steps[0]))["Tap"] == "keep"
    assert not Tick.objects.exists()


@pytest.mark.parametrize("by", ["", "0", "edda", "1; drop", "-1"])
def test_a_tap_by_nobody_is_kept(steps: list[Step], signed_in: Client, htmx: Htmx, by: str) -> None:
    sent = ticking(steps[0], form_key=uuid.uuid4())
    answer = signed_in.post(f"/jobs/1/steps/{steps[0].pk}/tick", sent, headers={**htmx(), "Tap-By": by})
    assert answer["Tap"] == "keep"
    assert not Tick.objects.exists()


def test_a_page_whose_token_is_out_of_date_keeps_the_tap(steps: list[Step], owner: Person, htmx: Htmx) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    sent = ticking(steps[0], form_key=uuid.uuid4())
    headers = {**htmx(), "Tap-By": str(owner.pk)}
    answer = client.post(f"/jobs/1/steps/{steps[0].pk}/tick", sent, headers=headers)
    assert (answer.status_code, answer["Tap"]) == (403, "keep")


def test_a_server_that_fails_keeps_the_tap(
    steps: list[Step], owner: Person, htmx: Htmx, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(**_: object) -> None:
        raise RuntimeError("no room on the disk")

    monkeypatch.setattr("fabjobs.views.steps.step_tick", fail)
    client = Client(raise_request_exception=False)
    client.force_login(owner)
    sent = ticking(steps[0], form_key=uuid.uuid4())
    headers = {**htmx(), "Tap-By": str(owner.pk)}
    answer = client.post(f"/jobs/1/steps/{steps[0].pk}/tick", sent, headers=headers)
    assert (answer.status_code, answer["Tap"]) == (500, "keep")


def test_a_form_without_a_kept_tap_is_answered_as_ever(steps: list[Step], signed_in: Client, htmx: Htmx) -> None:
    sent = ticking(steps[0], form_key=uuid.uuid4())
    answer = signed_in.post(f"/jobs/1/steps/{steps[0].pk}/tick", sent, headers=htmx())
    assert answer.status_code == 200
    assert "Tap" not in answer


def test_pages_say_whose_taps_they_keep_and_of_what(signed_in: Client, steps: list[Step], owner: Person) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    assert f'<body data-person="{owner.pk}" data-who="edda">' in page
    assert page.count('data-keep="Job 1, step 1"') == 2  # its tick and its timer
    assert '<script type="module" src="/static/fabjobs/kept/start.js"></script>' in page
    assert "<body>" in Client().get("/sign-in").content.decode()
