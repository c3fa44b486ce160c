"""When a timer is asked about: after so many hours, at the end of the day; and what the bar says of it, and of one stopped."""

import uuid
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils import timezone

from fabjobs.forgotten import day_end_after, why_asked
from fabjobs.making import running_timer
from fabjobs.models import Job, Person, ShopSettings, Step, TimeEntry
from fabjobs.services import TimerRanLong, timer_start, timer_stop
from tests.fabjobs.test_settings_page import shop_form

pytestmark = pytest.mark.usefixtures("early_in_its_day")

NOON = datetime(2031, 5, 9, 12, tzinfo=UTC)


@pytest.fixture
def steps(job: Job) -> list[Step]:
    return list(Step.objects.filter(fabrication__job=job))


def set_shop(shop: ShopSettings, hours: int | None, ends: time) -> None:
    shop.timer_hours, shop.day_end = hours, ends
    shop.full_clean()
    shop.save()


@pytest.mark.parametrize(
    ("hours", "ends", "ran", "why"),
    [
        (6, time(23), timedelta(hours=6), ""),
        (6, time(23), timedelta(hours=6, seconds=1), "More than 6 hours."),
        (1, time(23), timedelta(minutes=61), "More than 1 hour."),
        (6, time(17, 30), timedelta(hours=5, minutes=29), ""),
        (6, time(17, 30), timedelta(hours=5, minutes=30), "It ran past 17:30, when the day ends."),
        (None, time(0), timedelta(hours=11, minutes=59), ""),
        (None, time(0), timedelta(hours=12), "It ran past 00:00, when the day ends."),
        (6, time(10), timedelta(hours=2), ""),  # who begins once the day has ended works on
    ],
)
def test_when_it_is_asked(shop: ShopSettings, hours: int | None, ends: time, ran: timedelta, why: str) -> None:
    set_shop(shop, hours, ends)
    with timezone.override("UTC"):
        assert why_asked(NOON, NOON + ran) == why


def test_the_days_end_is_by_the_shops_clock_also_where_that_is_put_forward() -> None:
    """Summer time began on 30 March 2031 at 2:00 in Oslo: 18:00 is 17:00 of Greenwich before it, 16:00 from that day on."""
    with timezone.override("Europe/Oslo"):
        evening = datetime(2031, 3, 29, 19, tzinfo=ZoneInfo("Europe/Oslo"))
        assert day_end_after(evening, time(18)).astimezone(UTC) == datetime(2031, 3, 30, 16, tzinfo=UTC)


@pytest.mark.parametrize("hours", [0, 25])
def test_hours_that_are_no_part_of_a_day(shop: ShopSettings, hours: int) -> None:
    with pytest.raises(ValidationError, match="A timer is asked about after 1 to 24 hours"):
        set_shop(shop, hours, time(17))


def ran(entry: TimeEntry, minutes: float) -> TimeEntry:
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(minutes=minutes))
    entry.refresh_from_db()
    return entry


def start(step: Step, by: Person) -> TimeEntry:
    return timer_start(step=step, by=by, form_key=uuid.uuid4())


def test_past_the_days_end_it_is_neither_kept_nor_cut(steps: list[Step], owner: Person, shop: ShopSettings) -> None:
    entry = ran(start(steps[0], owner), 40)
    ended = timezone.localtime(timezone.now() - timedelta(minutes=10))
    set_shop(shop, 6, ended.time().replace(second=0, microsecond=0))
    with pytest.raises(TimerRanLong):
        timer_stop(by=owner, entry=entry)
    with pytest.raises(TimerRanLong):
        start(steps[1], owner)
    entry.refresh_from_db()
    assert entry.seconds is None
    assert timer_stop(by=owner, entry=entry, really=1500, form_key=uuid.uuid4()).seconds == 1500


@pytest.mark.parametrize(
    ("path", "query"),
    [
        ("/", ""),
        ("/jobs/", ""),
        ("/jobs/1/", ""),
        ("/rack/", ""),
        ("/jobs/1/at-work/{step}/", "?at={step}&amp;back=work"),
        ("/jobs/1/steps/{step}/", "?at={step}&amp;back=step"),
    ],
)
def test_a_forgotten_one_is_flagged_on_every_page(
    signed_in: Client, steps: list[Step], owner: Person, path: str, query: str
) -> None:
    """And asked about from there; the answer leads back to a step that it was asked at."""
    entry = ran(start(steps[0], owner), 6 * 60 + 5)
    page = signed_in.get(path.format(step=steps[1].pk)).content.decode()
    bar = page[page.index('<div id="timer"') : page.index("</header>")]
    assert "Forgotten? More than 6 hours." in bar
    assert f'href="/timer/{query.format(step=steps[1].pk)}">How long?' in bar
    assert f"/timer/{entry.pk}/stop" not in bar


def test_the_page_that_asks_has_no_way_to_itself(signed_in: Client, steps: list[Step], owner: Person) -> None:
    ran(start(steps[0], owner), 6 * 60 + 5)
    page = signed_in.get("/timer/").content.decode()
    bar, main = page[page.index('<div id="timer"') :].split("</header>")
    assert "since" in bar
    assert "Forgotten?" not in bar
    assert "How long?" not in page
    assert "More than 6 hours." in main


def test_the_bar_says_which_timer_a_start_has_stopped(signed_in: Client, steps: list[Step], owner: Person) -> None:
    ran(start(steps[2], owner), 25)
    start(steps[4], owner)
    page = signed_in.get("/jobs/").content.decode()
    bar = page[page.index('<div id="timer"') : page.index("</header>")]
    first = " ".join(steps[2].text.split()[:6])
    assert f"Stopped: job 1, {first}" in bar
    assert "25 min kept" in bar


def test_it_says_so_for_two_minutes_and_of_no_other(steps: list[Step], owner: Person) -> None:
    entry = start(steps[0], owner)
    timer_stop(by=owner, entry=ran(entry, 30))
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(minutes=90))
    now = start(steps[1], owner)
    shown = running_timer(owner)
    assert shown is not None
    assert shown.stopped is None  # the first was stopped an hour before
    start(steps[2], owner)
    shown = running_timer(owner)
    assert shown is not None
    assert shown.stopped is not None
    assert shown.stopped.pk == now.pk
    ran(shown.entry, 3)
    shown = running_timer(owner)
    assert shown is not None
    assert shown.stopped is None


def test_the_shop_sets_its_hours(signed_in: Client) -> None:
    assert signed_in.post("/settings/shop", shop_form(timer_hours="4")).status_code == 302
    assert ShopSettings.objects.get().timer_hours == 4
    assert signed_in.post("/settings/shop", shop_form(timer_hours="")).status_code == 302
    assert ShopSettings.objects.get().timer_hours is None
    answer = signed_in.post("/settings/shop", shop_form(timer_hours="25"))
    assert answer.status_code == 422
    assert "A timer is asked about after 1 to 24 hours" in answer.content.decode()
