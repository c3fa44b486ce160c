"""Taps that can't be sent, in a real browser whose network is cut: kept, shown as waiting, sent in order, each once."""

import re
import shutil
import uuid
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone
from playwright.sync_api import Browser, Locator, Page, Route, expect

from fabjobs.models import Job, Person, Step, StepNote, Tick, TimeEntry
from fabjobs.services import step_tick, timer_start
from tests.browser.conftest import ARGUMENTS, NAMES
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
Cookies = Callable[[str], list[dict[str, str]]]


@pytest.fixture
def page(open_page: Open, job: Job, as_person: Cookies) -> Page:
    return open_page("/jobs/1/", cookies=as_person("edda"))


@pytest.fixture
def forgiven() -> re.Pattern[str]:
    """The browser logs every request that these tests cut."""
    return re.compile(r"Failed to load resource|net::ERR_")


def steps() -> list[Step]:
    return list(Step.objects.order_by("position"))


def row(page: Page, step: Step) -> Locator:
    return page.locator(f"#step-{step.pk}")


def tick(page: Page, position: int) -> Locator:
    return page.get_by_role("button", name=f"Step {position} done", exact=True)


def start(page: Page, position: int) -> Locator:
    return page.get_by_role("button", name=f"Start the timer on step {position}", exact=True)


def stop(page: Page, position: int) -> Locator:
    return page.get_by_role("button", name=f"Stop the timer on step {position}", exact=True)


def waiting(page: Page, words: str) -> None:
    expect(page.locator("#waiting")).to_contain_text(words)


def nothing_waits(page: Page) -> None:
    expect(page.locator("#waiting")).not_to_contain_text(
        re.compile("taps? waits?"), timeout=20_000
    )  # ever longer intervals
    expect(page.locator(".waits")).to_have_count(0)


def ticks() -> list[tuple[int, bool]]:
    return list(Tick.objects.order_by("pk").values_list("step__position", "done"))


def test_taps_without_a_network_wait_in_order_and_are_sent_once_it_is_back(page: Page) -> None:
    page.context.set_offline(True)
    tick(page, 1).click()
    waiting(page, "1 tap waits for the network")
    expect(tick(page, 1)).to_have_attribute("aria-pressed", "true")
    expect(row(page, steps()[0])).to_contain_text("Waiting for the network: ticked at")
    expect(tick(page, 1)).to_have_accessible_description(re.compile("^Waiting for the network: ticked at"))
    expect(tick(page, 1)).to_be_focused()
    tick(page, 2).click()
    tick(page, 1).click()
    waiting(page, "3 taps wait for the network")
    expect(tick(page, 1)).to_have_attribute("aria-pressed", "false")
    expect(row(page, steps()[0])).to_contain_text("Waiting for the network: tick taken back at")
    tick(page, 1).click()
    assert not Tick.objects.exists()
    page.context.set_offline(False)
    nothing_waits(page)
    assert ticks() == [(1, True), (2, True), (1, False), (1, True)]
    expect(row(page, steps()[0])).to_contain_text("ticked by edda")
    expect(page.locator("#made")).to_contain_text("2 of")
    expect(page.locator("#untaken")).to_be_hidden()


def test_a_double_tap_without_a_network_is_one(page: Page) -> None:
    page.context.set_offline(True)
    tick(page, 1).dblclick()
    waiting(page, "1 tap waits")
    page.context.set_offline(False)
    nothing_waits(page)
    assert ticks() == [(1, True)]


def test_a_tap_whose_request_was_lost_is_sent_again_by_itself(page: Page) -> None:
    page.route("**/tick", lambda route: route.abort(), times=2)
    tick(page, 1).click()
    waiting(page, "1 tap waits for the network")
    nothing_waits(page)
    assert ticks() == [(1, True)]


def test_a_tap_whose_answer_was_lost_counts_once(page: Page) -> None:
    def lose_the_answer(route: Route) -> None:
        assert route.fetch().headers["tap"] == "taken"
        route.abort()

    page.route(re.compile("/(tick|timer)$"), lose_the_answer)
    tick(page, 1).click()
    waiting(page, "1 tap waits")
    start(page, 2).click()
    waiting(page, "2 taps wait")
    assert ticks() == [(1, True)]  # the second waits for what became of the first
    page.unroute_all(behavior="wait")
    page.get_by_role("button", name="Send now").click()
    nothing_waits(page)
    assert ticks() == [(1, True)]
    assert TimeEntry.objects.count() == 1
    expect(page.locator("#untaken")).to_be_hidden()
    expect(stop(page, 2)).to_be_visible()


@pytest.mark.parametrize("status", [500, 503, 200])
def test_an_answer_that_is_not_the_shops_own_is_none(page: Page, status: int) -> None:
    """A server that fails, and the page of a router that lets nobody out."""
    page.route("**/tick", lambda route: route.fulfill(status=status, body="<p>Welcome to the network</p>"))
    tick(page, 1).click()
    waiting(page, "1 tap waits. The shop's computer answers, but with a fault of its own; it is tried again.")
    assert "Welcome" not in page.content()
    page.unroute_all()
    nothing_waits(page)
    assert ticks() == [(1, True)]


def keep_a_stop_without_address(page: Page, step: Step) -> None:
    """As of a stop in one tab whose start another tab sent at that moment: where to stop it is still to be asked."""
    page.evaluate(
        """([key, step]) => {
          const { person, who } = document.body.dataset;
          const about = { of: "Job 1", step, start: `/jobs/1/steps/${step}/timer`, who, kind: "stop", url: "", after: "taken" };
          const tap = { key, turn: 1, at: Date.now(), fields: [["form_key", key]], ...about };
          localStorage.setItem(`fabjobs.tap.${person}.${key}`, JSON.stringify(tap));
          window.dispatchEvent(new Event("online"));
        }""",
        [str(uuid.uuid4()), str(step.pk)],
    )


def is_stopped(page: Page) -> bool:
    nothing_waits(page)
    expect(page.locator("#untaken")).to_be_hidden()
    return TimeEntry.objects.get().seconds is not None


def test_where_to_stop_a_timer_is_not_asked_of_a_router(page: Page) -> None:
    """Its page has no timer of the shop's: that says nothing of the one that runs."""
    timer_start(step=steps()[0], by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    page.route("**/jobs/1/", lambda route: route.fulfill(status=200, body="<p>Welcome to the network</p>"))
    keep_a_stop_without_address(page, steps()[0])
    waiting(page, "1 tap waits. The shop's computer answers, but with a fault of its own; it is tried again.")
    page.unroute_all()
    assert is_stopped(page)


def test_a_stop_without_address_waits_for_who_tapped_it(page: Page, as_person: Cookies) -> None:
    timer_start(step=steps()[0], by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    page.context.add_cookies(as_person("bo"))  # type: ignore[arg-type]
    keep_a_stop_without_address(page, steps()[0])
    waiting(page, "1 tap waits. Sign in as edda to have it sent.")
    Session.objects.all().delete()
    page.reload()
    waiting(page, "1 tap waits on this device until edda signs in.")
    sign_in(page, "edda")
    assert is_stopped(page)


def test_what_can_never_be_sent_can_be_given_up(page: Page) -> None:
    first, second = (f"**/steps/{step.pk}/tick" for step in steps()[:2])
    page.route(first, lambda route: route.fulfill(status=500, body=""))
    tick(page, 1).click()
    waiting(page, "1 tap waits")
    tick(page, 2).click()
    waiting(page, "2 taps wait")
    page.get_by_role("button", name="Give up: Job 1, step 1, ticked").click()
    nothing_waits(page)
    assert ticks() == [(2, True)]
    expect(tick(page, 1)).to_have_attribute("aria-pressed", "false")
    page.unroute(second)


def test_what_waits_is_there_after_a_reload_and_in_another_window(page: Page) -> None:
    page.route("**/tick", lambda route: route.abort())
    tick(page, 1).click()
    waiting(page, "1 tap waits")
    page.reload()
    expect(tick(page, 1)).to_have_attribute("aria-pressed", "true")
    waiting(page, "1 tap waits")
    tick(page, 1).click()
    waiting(page, "2 taps wait")
    context = page.context
    page.close()
    assert not Tick.objects.exists()
    again = context.new_page()
    again.goto("/jobs/")  # on whatever page
    nothing_waits(again)
    assert ticks() == [(1, True), (1, False)]


def test_what_waits_survives_the_closing_of_the_browser(
    browser: Browser, live_server: Any, job: Job, as_person: Cookies, tmp_path: Path
) -> None:
    """With a folder of its own, as a person's browser has it; what tests open forgets all when it is closed."""
    found = next(path for name in NAMES if (path := shutil.which(name)))

    def opened() -> Page:
        context = browser.browser_type.launch_persistent_context(
            tmp_path, executable_path=found, args=ARGUMENTS, base_url=live_server.url
        )
        context.add_cookies(as_person("edda"))  # type: ignore[arg-type]
        return context.new_page()

    page = opened()
    page.goto("/jobs/1/")
    page.context.set_offline(True)
    tick(page, 1).click()
    waiting(page, "1 tap waits")
    page.context.close()
    page = opened()
    page.goto("/jobs/1/")
    nothing_waits(page)
    expect(tick(page, 1)).to_have_attribute("aria-pressed", "true")
    page.context.close()
    assert ticks() == [(1, True)]


def test_two_tabs_share_what_waits_and_send_it_once(page: Page) -> None:
    other = page.context.new_page()
    other.goto("/jobs/1/")
    page.context.set_offline(True)
    tick(page, 1).click()
    tick(other, 2).click()
    tick(other, 1).click()
    for each in (page, other):
        waiting(each, "3 taps wait")
        expect(tick(each, 1)).to_have_attribute("aria-pressed", "false")
        expect(tick(each, 2)).to_have_attribute("aria-pressed", "true")
    page.context.set_offline(False)
    for each in (page, other):
        nothing_waits(each)
        expect(row(each, steps()[1])).to_contain_text("ticked by edda")
        expect(tick(each, 1)).to_have_attribute("aria-pressed", "false")
        expect(each.locator("#untaken")).to_be_hidden()
    assert ticks() == [(1, True), (2, True), (1, False)]


def test_a_conflict_is_told_with_who_and_when_until_it_is_dismissed(page: Page) -> None:
    page.context.set_offline(True)
    tick(page, 1).click()
    tick(page, 1).click()
    tick(page, 2).click()
    waiting(page, "3 taps wait")
    bo = Person.objects.get(username="bo")
    step_tick(step=steps()[0], version=0, done=True, by=bo, form_key=uuid.uuid4())
    page.context.set_offline(False)
    told = page.locator("#untaken li")
    expect(told).to_have_count(2)
    expect(told.nth(0)).to_contain_text(
        re.compile(r"Job 1, step 1: ticked at \d\d:\d\d\. bo ticked this at \d\d:\d\d\.")
    )
    expect(told.nth(1)).to_contain_text("step 1: tick taken back")
    expect(told.nth(1)).to_contain_text("Not sent, since it followed a tap that did not count.")
    nothing_waits(page)
    assert list(Tick.objects.order_by("pk").values_list("step__position", "done", "by__username")) == [
        (1, True, "bo"),
        (2, True, "edda"),
    ]
    expect(tick(page, 1)).to_have_attribute("aria-pressed", "true")  # as bo left it
    page.reload()
    expect(told).to_have_count(2)
    told.nth(0).get_by_role("button").click()
    expect(told).to_have_count(1)
    told.nth(0).get_by_role("button").click()
    expect(page.locator("#untaken")).to_be_hidden()
    page.reload()
    expect(page.locator("#untaken")).to_be_hidden()


def sign_in(page: Page, name: str) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("main").get_by_role("button", name="Sign in").click()


def test_who_was_signed_out_meanwhile_is_asked_in_and_nobody_else_sends_it(page: Page) -> None:
    page.context.set_offline(True)
    tick(page, 1).click()
    waiting(page, "1 tap waits")
    Session.objects.all().delete()
    page.context.set_offline(False)
    waiting(page, "1 tap waits. Sign in as edda to have it sent.")
    page.locator("#waiting-ways").get_by_role("link", name="Sign in").click()
    waiting(page, "1 tap waits on this device until edda signs in.")
    sign_in(page, "bo")
    page.wait_for_url("**/jobs/1/")
    waiting(page, "1 tap waits on this device until edda signs in.")
    expect(tick(page, 1)).to_have_attribute("aria-pressed", "false")
    tick(page, 2).click()
    expect(row(page, steps()[1])).to_contain_text("ticked by bo")
    page.get_by_role("button", name="Sign out").click()
    sign_in(page, "edda")
    nothing_waits(page)
    assert list(Tick.objects.order_by("pk").values_list("step__position", "by__username")) == [(2, "bo"), (1, "edda")]


def test_a_page_left_open_sends_nothing_once_another_person_signed_in(page: Page, as_person: Cookies) -> None:
    page.context.add_cookies(as_person("bo"))  # type: ignore[arg-type]
    tick(page, 1).click()
    waiting(page, "1 tap waits on this device until edda signs in.")
    expect(page.get_by_role("link", name="bo", exact=True)).to_be_visible()
    expect(tick(page, 1)).to_have_attribute("aria-pressed", "false")
    assert not Tick.objects.exists()


def test_a_token_that_went_out_of_date_in_another_tab_does_no_harm(page: Page) -> None:
    page.context.clear_cookies()
    other = page.context.new_page()
    other.goto("/sign-in?next=/jobs/")
    sign_in(other, "edda")
    other.wait_for_url("**/jobs/")
    tick(page, 1).click()
    expect(row(page, steps()[0])).to_contain_text("ticked by edda")


def test_a_timer_counts_from_when_it_was_tapped(page: Page) -> None:
    page.clock.install()
    page.context.set_offline(True)
    start(page, 1).click()
    waiting(page, "1 tap waits")
    expect(page.locator("#kept-timer")).to_contain_text(re.compile("Job 1, step 1 ?timer started .*, waiting"))
    page.clock.fast_forward(25 * 60 * 1000)
    stop(page, 1).click()
    waiting(page, "2 taps wait")
    expect(start(page, 1)).to_be_visible()
    start(page, 2).click()
    page.clock.fast_forward(5 * 60 * 1000)
    start(page, 3).click()  # which stops the one on step 2
    expect(start(page, 2)).to_be_visible()
    page.clock.fast_forward(10 * 60 * 1000)
    page.context.set_offline(False)
    nothing_waits(page)
    first, second, third = TimeEntry.objects.order_by("pk")
    assert [entry.step.position for entry in (first, second, third)] == [1, 2, 3]
    assert first.seconds == pytest.approx(25 * 60, abs=5)
    assert second.seconds == pytest.approx(5 * 60, abs=5)
    assert third.seconds is None
    ago = {entry: (timezone.now() - entry.started_at) / timedelta(minutes=1) for entry in (first, second, third)}
    assert [ago[entry] for entry in (first, second, third)] == pytest.approx([40, 15, 10], abs=0.5)
    expect(stop(page, 3)).to_be_visible()
    expect(page.locator("#timer [data-elapsed]")).to_contain_text("0:10:")
    expect(row(page, steps()[0])).to_contain_text("25 min")


def test_a_timer_that_runs_is_stopped_from_the_bar_of_any_page(page: Page) -> None:
    edda = Person.objects.get(username="edda")
    entry = timer_start(step=steps()[0], by=edda, form_key=uuid.uuid4())
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(minutes=40))
    page.goto("/jobs/")
    page.clock.install()
    page.context.set_offline(True)
    page.locator("#timer").get_by_role("button", name="Stop the timer").click()
    expect(page.locator("#timer")).to_be_hidden()
    expect(page.locator("#kept-timer")).to_contain_text("timer stopped")
    page.clock.fast_forward(30 * 60 * 1000)
    page.context.set_offline(False)
    nothing_waits(page)
    expect(page.locator("#kept-timer")).to_have_count(0)
    expect(page.locator("#timer")).to_be_hidden()
    entry.refresh_from_db()
    assert entry.seconds == pytest.approx((40 - 30) * 60, abs=10)  # it ran for 40 minutes, and was tapped 30 ago


def test_a_start_and_its_stop_survive_a_reload(page: Page) -> None:
    page.route(re.compile("/timer$"), lambda route: route.abort())
    start(page, 1).click()
    waiting(page, "1 tap waits")
    page.reload()
    page.locator("#kept-timer").get_by_role("button", name="Stop the timer").click()
    waiting(page, "2 taps wait")
    page.unroute_all()
    page.reload()
    nothing_waits(page)
    assert TimeEntry.objects.get().seconds is not None
    expect(start(page, 1)).to_be_visible()


def test_a_forgotten_timer_asks_before_a_kept_start_counts(page: Page) -> None:
    entry = timer_start(step=steps()[1], by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    page.context.set_offline(True)
    start(page, 1).click()
    waiting(page, "1 tap waits")
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(hours=17))
    page.context.set_offline(False)
    expect(page.locator("#untaken li")).to_contain_text("Job 1, step 1: timer started")
    expect(page.locator("#untaken li")).to_contain_text("Say how long the work really took.")
    assert TimeEntry.objects.get().seconds is None


def test_a_browser_that_keeps_nothing_says_so(open_page: Open, job: Job, as_person: Cookies) -> None:
    page = open_page("/jobs/", cookies=as_person("edda"))
    refuse = (
        "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } });"
    )
    page.add_init_script(refuse)
    page.goto("/jobs/1/")
    tick(page, 1).click()
    expect(row(page, steps()[0])).to_contain_text("ticked by edda")
    page.context.set_offline(True)
    tick(page, 2).click()
    expect(page.locator("#untaken li")).to_contain_text("Not sent: the shop's computer does not answer")
    expect(page.locator("#untaken li")).to_contain_text("keeps nothing")
    nothing_waits(page)
    expect(tick(page, 2)).to_have_attribute("aria-pressed", "false")
    page.context.set_offline(False)
    tick(page, 2).click()
    expect(row(page, steps()[1])).to_contain_text("ticked by edda")
    assert ticks() == [(1, True), (2, True)]


def test_no_more_is_kept_than_has_room(page: Page) -> None:
    page.context.set_offline(True)
    tick(page, 1).click()
    waiting(page, "1 tap waits")
    page.evaluate(
        """() => {
          const name = Object.keys(localStorage).find((each) => each.startsWith("fabjobs.tap."));
          const tap = JSON.parse(localStorage[name]);
          for (let place = 1; place < 200; place++) {
            localStorage[name + place] = JSON.stringify({ ...tap, key: tap.key + place, turn: 1 + place });
          }
        }"""
    )
    tick(page, 2).click()
    expect(page.locator("#untaken li")).to_contain_text("Not kept: 200 taps of yours wait on this device already.")
    expect(tick(page, 2)).to_have_attribute("aria-pressed", "false")


def test_the_page_of_a_step_keeps_its_tick_with_the_note(open_page: Open, job: Job, as_person: Cookies) -> None:
    step = steps()[0]
    page = open_page(f"/jobs/1/steps/{step.pk}/", cookies=as_person("edda"))
    page.context.set_offline(True)
    page.get_by_role("textbox", name="Note").fill("diagonals differ by 3")
    page.get_by_role("button", name="Tick it done").click()
    waiting(page, "1 tap waits")
    expect(page.get_by_role("button", name="Take the tick back")).to_be_visible()
    expect(page.get_by_role("textbox", name="Note")).to_have_value("")
    page.get_by_role("button", name="Start the timer on step 1", exact=True).click()
    waiting(page, "2 taps wait")
    page.context.set_offline(False)
    expect(page.locator(".step-head.done")).to_be_visible()  # the page is read anew
    expect(stop(page, 1)).to_be_visible()
    nothing_waits(page)
    assert ticks() == [(1, True)]
    assert [note.text for note in StepNote.objects.all()] == ["diagonals differ by 3"]


def test_what_is_typed_meanwhile_on_the_page_of_a_step_stays(open_page: Open, job: Job, as_person: Cookies) -> None:
    page = open_page(f"/jobs/1/steps/{steps()[0].pk}/", cookies=as_person("edda"))
    page.context.set_offline(True)
    page.get_by_role("button", name="Tick it done").click()
    waiting(page, "1 tap waits")
    page.get_by_role("textbox", name="Note").fill("blade swapped")
    page.context.set_offline(False)
    expect(page.get_by_text("Sent: ticked at")).to_be_visible()
    expect(page.locator("#waiting")).to_have_text("")
    assert ticks() == [(1, True)]
    expect(page.get_by_role("textbox", name="Note")).to_have_value("blade swapped")
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator(".note")).to_contain_text("blade swapped")
    expect(page.locator(".step-head.done")).to_be_visible()


def in_trouble(page: Page) -> None:
    """One tap that did not count, others that wait."""
    page.context.set_offline(True)
    tick(page, 1).click()
    waiting(page, "1 tap waits")
    bo = Person.objects.get(username="bo")
    step_tick(step=steps()[0], version=0, done=True, by=bo, form_key=uuid.uuid4())
    page.context.set_offline(False)
    expect(page.locator("#untaken li")).to_have_count(1)
    page.context.set_offline(True)
    tick(page, 2).click()
    tick(page, 1).click()
    start(page, 3).click()
    waiting(page, "3 taps wait")


def test_axe_core_finds_nothing_while_taps_wait_and_a_conflict_is_told(
    open_page: Open,
    job: Job,
    as_person: Cookies,
    faults_either_way: Callable[[Page], list[str]],
) -> None:
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    in_trouble(page)
    assert faults_either_way(page) == []


def test_on_a_small_phone_what_waits_fits_and_can_be_touched(open_page: Open, job: Job, as_person: Cookies) -> None:
    page = open_page("/jobs/1/", width=360, cookies=as_person("edda"))
    in_trouble(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    small = page.evaluate(
        """() => [...document.querySelectorAll(":is(#waiting-ways, #untaken, #kept-timer, .step) :is(a, button)")]
        .filter((e) => e.checkVisibility() && !e.closest("p:not(.waiting-ways)"))
        .filter((e) => { const box = e.getBoundingClientRect(); return box.height < 44 || box.width < 44; })
        .map((e) => e.outerHTML.slice(0, 90))"""
    )
    assert small == []


def test_the_page_of_a_step_that_cannot_be_fetched_anew_shows_what_was_sent(
    open_page: Open, job: Job, as_person: Cookies
) -> None:
    """The network went between the tap and the page that was to show it: the person still has a page to tap on."""
    step = steps()[0]
    page = open_page(f"/jobs/1/steps/{step.pk}/", cookies=as_person("edda"))
    page.route(f"**/steps/{step.pk}/", lambda route: route.abort())
    page.get_by_role("button", name="Tick it done").click()
    expect(page.get_by_role("button", name="Take the tick back")).to_be_visible()
    expect(page.get_by_text("Sent: ticked at")).to_be_visible()
    page.context.set_offline(True)
    page.get_by_role("button", name="Take the tick back").click()
    waiting(page, "1 tap waits")
    page.unroute_all()
    page.context.set_offline(False)
    nothing_waits(page)
    assert ticks() == [(1, True), (1, False)]
    expect(page.get_by_role("button", name="Tick it done")).to_be_visible()


def test_a_timer_is_stopped_on_its_own_page(page: Page) -> None:
    timer_start(step=steps()[0], by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    page.goto("/timer/")
    page.context.set_offline(True)
    page.get_by_role("main").get_by_role("button", name="Stop").click()
    waiting(page, "1 tap waits")
    page.context.set_offline(False)
    expect(page.get_by_text("No timer of yours is running.")).to_be_visible()
    nothing_waits(page)
    assert TimeEntry.objects.get().seconds is not None


def test_at_the_work_a_tap_waits_and_is_sent_once_the_network_is_back(page: Page, job: Job) -> None:
    page.goto("/jobs/1/at-work/")
    step = steps()[0]
    page.context.set_offline(True)
    page.get_by_role("button", name="Tick", exact=False).click()
    waiting(page, "1 tap waits")
    expect(page.get_by_role("main")).to_contain_text("Waiting for the network")
    assert not Tick.objects.exists()
    page.get_by_role("button", name="Start the timer", exact=False).click()
    waiting(page, "2 taps wait")
    page.context.set_offline(False)
    nothing_waits(page)
    assert list(Tick.objects.values_list("step", "done")) == [(step.pk, True)]
    assert TimeEntry.objects.get().step_id == step.pk
    assert "/at-work/" in page.url


NO_NETWORK = "No network: the next page cannot be opened. What you tap here is kept."


def asked(page: Page) -> list[str]:
    """What is asked of the shop ahead of a page, from now on."""
    heads: list[str] = []
    page.on("request", lambda request: heads.append(request.url) if request.method == "HEAD" else None)
    return heads


@pytest.mark.parametrize("words", ["Next", "The whole job", "Notes, time"])
def test_at_the_work_a_link_without_a_network_leaves_the_step_on_the_screen(page: Page, job: Job, words: str) -> None:
    second, third = steps()[1:3]
    page.goto(f"/jobs/1/at-work/{second.pk}/")
    heading = page.get_by_role("heading", level=1).inner_text()
    page.context.set_offline(True)
    page.get_by_role("link", name=words, exact=True).click()
    waiting(page, NO_NETWORK)
    assert page.url.endswith(f"/jobs/1/at-work/{second.pk}/")
    assert page.get_by_role("heading", level=1).inner_text() == heading
    page.get_by_role("button", name="Tick", exact=False).click()
    waiting(page, f"{NO_NETWORK} 1 tap waits for the network")
    page.context.set_offline(False)
    nothing_waits(page)
    expect(page.locator("#waiting")).to_have_text("")
    assert list(Tick.objects.values_list("step", "done")) == [(second.pk, True)]
    page.get_by_role("link", name="Next", exact=True).click()
    page.wait_for_url(f"**/jobs/1/at-work/{third.pk}/")


# Where each button begins; -1 where a touch at its middle is not its own.
FREE = """(all) => all.map((e) => {
    const { x, y, width, height } = e.getBoundingClientRect();
    return e.contains(document.elementFromPoint(x + width / 2, y + height / 2)) ? y : -1;
})"""


def test_what_waits_lies_over_none_of_the_thumbs_buttons(
    open_page: Open, job: Job, as_person: Cookies, violations: Callable[[Page], list[str]]
) -> None:
    """Wherever the page is scrolled to; nor do they move from under it as one tap after the other is kept."""
    page = open_page(f"/jobs/1/at-work/{steps()[1].pk}/", width=360, cookies=as_person("edda"), has_touch=True)
    foot = page.locator(".at-foot")
    at = [
        box["y"] for box in foot.locator("a, button").evaluate_all("(all) => all.map((e) => e.getBoundingClientRect())")
    ]
    page.context.set_offline(True)
    for name, words in (
        ("Next", NO_NETWORK),
        ("Tick", "1 tap waits"),
        ("Start", "2 taps wait"),
        ("Stop", "3 taps wait"),
    ):
        box = foot.get_by_role("link" if name == "Next" else "button", name=name).bounding_box()
        assert box
        page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        waiting(page, words)
        assert page.evaluate("scrollY") == 0
        for down in (0, 400, 0):
            page.evaluate("(down) => scrollTo(0, down)", down)
            assert foot.locator("a, button").evaluate_all(FREE) == at
        page.wait_for_timeout(500)  # two taps of a finger within 0.4 s are one
    expect(foot.get_by_role("button", name="Take it back")).not_to_have_class("go")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert violations(page) == []


def test_a_tap_that_did_not_count_lies_over_none_of_them_either(
    open_page: Open, job: Job, as_person: Cookies, violations: Callable[[Page], list[str]]
) -> None:
    """Nor what waits beside it."""
    second = steps()[1]
    page = open_page(f"/jobs/1/at-work/{second.pk}/", width=360, cookies=as_person("edda"), has_touch=True)
    foot = page.locator(".at-foot")
    at = foot.locator("a, button").evaluate_all(FREE)
    page.context.set_offline(True)
    foot.get_by_role("button", name="Tick").tap()
    waiting(page, "1 tap waits")
    step_tick(step=second, version=0, done=True, by=Person.objects.get(username="bo"), form_key=uuid.uuid4())
    page.context.set_offline(False)
    for words in ("1 tap did not count.", "1 tap waits for the network"):
        if words != "1 tap did not count.":
            page.context.set_offline(True)
            foot.get_by_role("button", name="Start").tap()
        waiting(page, words)
        for down in (400, 0):
            page.evaluate("(down) => scrollTo(0, down)", down)
            assert foot.locator("a, button").evaluate_all(FREE) == at, words
    assert violations(page) == []
    page.evaluate("scrollTo(0, document.body.scrollHeight)")
    page.get_by_role("link", name="See which").tap()
    expect(page.locator("#untaken li").first).to_be_in_viewport()


def test_what_is_said_of_the_network_is_taken_back_once_it_is_there(page: Page, job: Job) -> None:
    page.goto("/jobs/1/at-work/")
    page.context.set_offline(True)
    page.get_by_role("link", name="Next", exact=True).click()
    waiting(page, NO_NETWORK)
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_have_text("")
    heads = asked(page)
    page.get_by_role("link", name="Next", exact=True).click()
    page.wait_for_url(f"**/jobs/1/at-work/{steps()[1].pk}/")
    assert heads == []


def test_where_the_device_knows_of_no_fault_the_first_that_failed_is_remembered(page: Page, job: Job) -> None:
    """A phone that is still on the air, of a router that is not: it takes what it asks for to be on its way."""
    first, second = steps()[:2]
    page.goto("/jobs/1/at-work/")
    page.route("**/*", lambda route: route.abort())
    assert page.evaluate("navigator.onLine")
    page.get_by_role("button", name="Tick", exact=False).click()
    waiting(page, "1 tap waits")
    page.get_by_role("link", name="Next", exact=True).click()
    waiting(page, NO_NETWORK)
    assert page.url.endswith(f"/jobs/1/at-work/{first.pk}/")
    page.unroute_all()
    page.get_by_role("link", name="Next", exact=True).click()
    page.wait_for_url(f"**/jobs/1/at-work/{second.pk}/")
    nothing_waits(page)
    assert ticks() == [(1, True)]


def test_a_link_that_gets_no_answer_is_given_up_in_time(page: Page, job: Job) -> None:
    page.goto("/jobs/1/at-work/")
    page.route("**/tick", lambda route: route.abort())
    page.get_by_role("button", name="Tick", exact=False).click()
    waiting(page, "1 tap waits")
    page.route("**/at-work/**", lambda _: None)  # never answered
    page.get_by_role("link", name="Next", exact=True).click()
    waiting(page, "Seeing whether the shop's computer answers.")
    expect(page.locator("#waiting")).to_contain_text(NO_NETWORK, timeout=8000)
    assert page.url.endswith(f"/at-work/{steps()[0].pk}/")


def test_with_a_network_a_link_at_the_work_asks_nothing_first(page: Page, job: Job) -> None:
    page.goto("/jobs/1/at-work/")
    heads = asked(page)
    page.get_by_role("link", name="Next", exact=True).click()
    page.wait_for_url(f"**/jobs/1/at-work/{steps()[1].pk}/")
    page.get_by_role("button", name="Start the timer", exact=False).click()
    expect(page.locator(".at-foot").get_by_role("button", name="Stop")).to_be_visible()
    page.get_by_role("link", name="Back", exact=True).click()
    page.wait_for_url(f"**/jobs/1/at-work/{steps()[0].pk}/")
    assert heads == []


def test_a_browser_that_keeps_nothing_promises_nothing(page: Page, job: Job) -> None:
    refuse = (
        "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } });"
    )
    page.add_init_script(refuse)
    page.goto("/jobs/1/at-work/")
    page.context.set_offline(True)
    page.get_by_role("link", name="Next", exact=True).click()
    expect(page.locator("#waiting")).to_have_text("No network: the next page cannot be opened.")


def test_nothing_is_said_of_a_timer_that_a_kept_tap_may_have_stopped(page: Page, job: Job) -> None:
    first, second = steps()[:2]
    entry = timer_start(step=first, by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    page.goto("/jobs/1/at-work/")
    page.get_by_role("button", name="Tick", exact=False).click()
    page.wait_for_url(f"**/jobs/1/at-work/{second.pk}/?ticked={first.pk}")
    told = page.get_by_text("Your timer still runs on that step.")
    expect(told).to_be_visible()
    page.context.set_offline(True)
    page.get_by_role("button", name="Go on with it here").click()
    waiting(page, "1 tap waits")
    expect(told).to_be_hidden()
    expect(page.get_by_role("button", name="Go on with it here")).to_be_hidden()
    expect(page.locator("#kept-timer")).to_contain_text(f"Job 1, step {second.position}")
    expect(page.locator(".at-foot").get_by_role("button", name="Stop")).to_be_visible()
    page.context.set_offline(False)
    nothing_waits(page)
    expect(told).to_have_count(0)
    entry.refresh_from_db()
    assert entry.seconds is not None
    assert TimeEntry.objects.get(seconds=None).step == second
