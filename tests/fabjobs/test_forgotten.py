"""When a timer is asked about: after so many hours, at the end of the day; and what the bar says of it, and of one stopped."""

import uuid
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils import timezone

from fabjobs.forgotten import day_end, why_asked
from fabjobs.making import running_timer
from fabjobs.models import Job, Person, ShopSettings, Step, TimeEntry
from fabjobs.services import TimerRanLong, timer_start, timer_stop
from tests.fabjobs.test_settings_page import shop_form

NOON = datetime(2031, 5, 9, 12, tzinfo=UTC)


@pytest.fixture
def steps(job: Job) -> list[Step]:
    return list(Step.objects.filter(fabrication__job=job))


def set_shop(shop: ShopSettings, hours: int | None, ends: time | None) -> None:
    shop.timer_hours, shop.day_ends = hours, ends
    shop.full_clean()
    shop.save()


@pytest.mark.parametrize(
    ("hours", "ends", "ran", "why"),
    [
        (6, None, timedelta(hours=6), ""),
        (6, None, timedelta(hours=6, seconds=1), "More than 6 hours."),
        (1, None, timedelta(minutes=61), "More than 1 hour."),
        (6, time(17, 30), timedelta(hours=5, minutes=29), ""),
        (6, time(17, 30), timedelta(hours=5, minutes=30), "It ran past 17:30, when the day ends."),
        (None, time(0), timedelta(hours=11, minutes=59), ""),
        (None, time(0), timedelta(hours=12), "It ran past midnight."),
    ],
)
def test_when_it_is_asked(shop: ShopSettings, hours: int | None, ends: time | None, ran: timedelta, why: str) -> None:
    set_shop(shop, hours, ends)
    with timezone.override("UTC"):
        assert why_asked(NOON, NOON + ran) == why


def test_an_evenings_work_begun_after_the_days_end_is_not_asked_about(shop: ShopSettings) -> None:
    set_shop(shop, 6, time(10))
    with timezone.override("UTC"):
        assert why_asked(NOON, NOON + timedelta(hours=2)) == ""


def test_the_days_end_is_by_the_shops_clock_also_where_that_is_put_forward() -> None:
    """Summer time began on 30 March 2031 at 2:00 in Oslo: 18:00 is 17:00 of Greenwich before it, 16:00 from that day on."""
    with timezone.override("Europe/Oslo"):
        evening = datetime(2031, 3, 29, 19, tzinfo=ZoneInfo("Europe/Oslo"))
        assert day_end(evening, time(18)).astimezone(UTC) == datetime(2031, 3, 30, 16, tzinfo=UTC)


@pytest.mark.parametrize(("hours", "ends"), [(None, None), (0, None), (25, time(0))])
def test_a_shop_always_asks_at_one_of_them(shop: ShopSettings, hours: int | None, ends: time | None) -> None:
    with pytest.raises(ValidationError, match="A timer is asked about after 1 to 24 hours"):
        set_shop(shop, hours, ends)


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


@pytest.mark.parametrize("path", ["/", "/jobs/", "/jobs/1/", "/rack/", "/timer/", "/jobs/1/work/{step}/"])
def test_a_forgotten_one_is_flagged_on_every_page(
    signed_in: Client, steps: list[Step], owner: Person, path: str
) -> None:
    entry = ran(start(steps[0], owner), 6 * 60 + 5)
    page = signed_in.get(path.format(step=steps[0].pk)).content.decode()
    bar = page[page.index('<div id="timer"') : page.index("</header>")]
    assert "Forgotten? More than 6 hours." in bar
    assert 'href="/timer/">How long?' in bar
    assert f"/timer/{entry.pk}/stop" not in bar


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


def test_the_shop_sets_both(signed_in: Client) -> None:
    given = shop_form(timer_hours="4", day_ends="17:30")
    assert signed_in.post("/settings/shop", given).status_code == 302
    shop = ShopSettings.objects.get()
    assert (shop.timer_hours, shop.day_ends) == (4, time(17, 30))
    answer = signed_in.post("/settings/shop", shop_form(timer_hours="", day_ends=""))
    assert answer.status_code == 422
    assert "A timer is asked about after 1 to 24 hours" in answer.content.decode()
