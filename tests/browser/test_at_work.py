"""At the work in a real browser: from the code on a traveller to a ticked step, one step after the other, on a small phone."""

import re
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from fabjobs.models import Job, Person, Revision, Step, StockItem, Tick, TimeEntry
from fabjobs.paper_check import mark_of
from fabjobs.services import step_tick, timer_start
from tests.browser.conftest import forget_refusals
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
Cookies = Callable[[str], list[dict[str, str]]]
PHONE = 360
SMALL = """() => [...document.querySelectorAll("main :is(button, a, input:not([type=hidden]), summary)")]
    .filter((e) => e.checkVisibility() && !e.closest(".paper-in-hand"))
    .filter((e) => { const box = e.getBoundingClientRect(); return box.height < 48 || box.width < 48; })
    .map((e) => e.outerHTML.slice(0, 90))"""


def steps(job: Job) -> list[Step]:
    return list(Step.objects.filter(fabrication__job=job))


def cut(job: Job, number: int) -> Step:
    return [step for step in steps(job) if step.kind == "cut"][number - 1]


# A figure with a unit that takes more than one line, or that runs out of its place.
TORN = """() => [...document.querySelectorAll(".figure-large")]
    .filter((e) => e.scrollWidth > e.clientWidth || (e.querySelector("small") && e.offsetHeight > 45))
    .map((e) => e.innerText)"""


def test_from_the_code_to_a_ticked_step_it_takes_two_taps(open_page: Open, job: Job, as_person: Cookies) -> None:
    """The first tap opens what the camera read of the code."""
    first, second = steps(job)[:2]
    page = open_page("/jobs/", width=PHONE, cookies=as_person("edda"), has_touch=True)
    page.goto(f"/jobs/1/at-work/?paper={mark_of(Revision.objects.get())}")  # tap 1
    expect(page.get_by_role("main").get_by_role("status")).to_contain_text("is the current one")
    page.get_by_role("button", name="Tick", exact=False).tap()  # tap 2
    page.wait_for_url(f"**/jobs/1/at-work/{second.pk}/?ticked={first.pk}")
    assert list(Tick.objects.values_list("step", "done")) == [(first.pk, True)]


def test_the_sign_in_comes_back_to_the_next_step(open_page: Open, job: Job) -> None:
    mark = mark_of(Revision.objects.get())
    page = open_page(f"/jobs/1/at-work/?paper={mark}", width=PHONE)
    page.get_by_label("Name").fill("edda")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("main").get_by_role("button").click()
    page.wait_for_url(f"**/jobs/1/at-work/{steps(job)[0].pk}/?paper={mark}")
    page.get_by_role("button", name="Tick", exact=False).click()
    page.wait_for_url(f"**/jobs/1/at-work/{steps(job)[1].pk}/?ticked=*")
    assert Tick.objects.get().by.username == "edda"


def test_a_job_is_begun_by_the_keyboard_alone(open_page: Open, job: Job, as_person: Cookies) -> None:
    """The heading of each step has the focus; from there Tab leads through the page to Back, Tick and Next."""
    first, second, third = steps(job)[:3]
    page = open_page("/jobs/1/at-work/", cookies=as_person("edda"))
    expect(page.get_by_role("heading", level=1)).to_be_focused()
    tab_to(page, "Tick")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/jobs/1/at-work/{second.pk}/*")
    expect(page.get_by_role("heading", level=1)).to_be_focused()
    tab_to(page, "Next")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/jobs/1/at-work/{third.pk}/")
    tab_to(page, "Back")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/jobs/1/at-work/{second.pk}/")
    first.refresh_from_db()
    assert first.done_at is not None


def tab_to(page: Page, words: str) -> None:
    for _ in range(30):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.innerText").startswith(words):
            # what is at the foot does not lie over what has the focus
            assert page.evaluate("document.activeElement.getBoundingClientRect().bottom <= innerHeight")
            return
    raise AssertionError(f"Tab comes to no {words}")


def test_a_tick_is_taken_back_from_the_next_step(open_page: Open, job: Job, as_person: Cookies) -> None:
    step = cut(job, 3)
    page = open_page(f"/jobs/1/at-work/{step.pk}/", width=PHONE, cookies=as_person("edda"))
    page.get_by_role("button", name="Tick", exact=False).click()
    told = page.locator(".ticked")
    expect(told).to_contain_text("Ticked: Sheet 1, cut 3")
    expect(told).to_contain_text("cuts 1 and 2 are not ticked yet")
    told.get_by_role("button", name="Take it back").click()
    page.wait_for_url(f"**/jobs/1/at-work/{step.pk}/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Cut 3")
    step.refresh_from_db()
    assert step.done_at is None


def test_without_a_script_all_of_it_works(open_page: Open, job: Job, as_person: Cookies) -> None:
    first, second = steps(job)[:2]
    page = open_page("/jobs/1/at-work/", width=PHONE, cookies=as_person("edda"), java_script_enabled=False)
    page.get_by_role("button", name="Start the timer on step 1", exact=True).click()
    page.get_by_role("main").get_by_role("button", name="Stop the timer on step 1").click()
    page.wait_for_url(f"**/jobs/1/at-work/{first.pk}/")
    assert TimeEntry.objects.get().seconds is not None
    page.get_by_role("button", name="Tick", exact=False).click()
    page.wait_for_url(f"**/jobs/1/at-work/{second.pk}/*")
    page.goto("/jobs/1/")
    page.locator("svg a.touch").first.click()
    page.wait_for_url(f"**/jobs/1/at-work/{cut(job, 1).pk}/")


def test_a_long_figure_keeps_its_unit_on_a_small_phone(open_page: Open, job: Job, as_person: Cookies) -> None:
    """Such as of a seam of a metre and a half, told beside short ones."""
    page = open_page(f"/jobs/1/at-work/{cut(job, 3).pk}/", width=PHONE, cookies=as_person("edda"))
    for figure in ("1488.5", "76 to 96", "58 19/32", "12.5 to 14.5"):
        page.evaluate(
            """(figure) => document.querySelectorAll(".figure-large:has(small)")
            .forEach((e) => { e.firstChild.data = figure; })""",
            figure,
        )
        assert page.evaluate(TORN) == [], figure
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE, figure


def test_the_timer_is_in_reach_of_the_thumb_and_stays_on_the_page(
    open_page: Open, job: Job, as_person: Cookies
) -> None:
    first, second = steps(job)[:2]
    page = open_page(f"/jobs/1/at-work/{first.pk}/", width=PHONE, cookies=as_person("edda"), has_touch=True)
    page.get_by_role("button", name="Tick", exact=False).tap()
    page.wait_for_url(f"**/jobs/1/at-work/{second.pk}/?ticked={first.pk}")
    foot = page.locator(".at-foot")
    for now, then, runs in (("Start", "Stop", 1), ("Stop", "Start", 0)):
        button = foot.get_by_role("button", name=now)
        expect(button).to_be_in_viewport()
        assert button.evaluate("(e) => e.getBoundingClientRect().top") > 700  # of a screen 800 high
        button.tap()
        expect(foot.locator("form[action^='/timer/']")).to_have_count(runs)  # the page is as the answer has it
        expect(foot.get_by_role("button", name=then)).to_be_visible()
        assert page.url.endswith(f"/jobs/1/at-work/{second.pk}/?ticked={first.pk}")
        expect(page.get_by_role("button", name="Take it back")).to_be_visible()
        page.wait_for_timeout(500)  # two taps of a finger within 0.4 s are one
    assert TimeEntry.objects.get().seconds is not None


def test_a_forgotten_timer_is_asked_about_and_the_one_that_was_wanted_starts_where_it_was(
    open_page: Open, job: Job, as_person: Cookies, violations: Callable[[Page], list[str]]
) -> None:
    yesterdays, wanted = steps(job)[1], steps(job)[4]
    entry = timer_start(step=yesterdays, by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(hours=17))
    page = open_page(f"/jobs/1/at-work/{wanted.pk}/", width=PHONE, cookies=as_person("edda"), has_touch=True)
    page.locator(".at-foot").get_by_role("button", name="Start").tap()
    page.wait_for_url("**/timer/?*")
    expect(page.get_by_role("link", name="How long?")).to_have_count(0)
    assert violations(page) == []
    page.get_by_label("The work took").fill("20 h")
    page.get_by_role("button", name="Keep that, start on step 5").tap()
    expect(page.get_by_text("must be at most what the timer ran")).to_be_visible()
    page.get_by_label("The work took").fill("1 h 20")
    page.get_by_role("button", name="Keep that, start on step 5").tap()
    page.wait_for_url(f"**/jobs/1/at-work/{wanted.pk}/")
    expect(page.locator(".at-foot").get_by_role("button", name="Stop")).to_be_visible()
    entry.refresh_from_db()
    assert entry.seconds == 80 * 60
    assert TimeEntry.objects.get(seconds=None).step == wanted
    forget_refusals(open_page)  # of the 20 hours


def test_after_the_tick_of_a_step_that_is_timed_one_tap_takes_the_timer_along(
    open_page: Open, job: Job, as_person: Cookies, violations: Callable[[Page], list[str]]
) -> None:
    first, second = steps(job)[:2]
    entry = timer_start(step=first, by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    page = open_page(f"/jobs/1/at-work/{first.pk}/", width=PHONE, cookies=as_person("edda"), has_touch=True)
    page.get_by_role("button", name="Tick", exact=False).tap()
    page.wait_for_url(f"**/jobs/1/at-work/{second.pk}/?ticked={first.pk}")
    told = page.locator(".ticked")
    expect(told).to_contain_text("Your timer still runs on that step.")
    assert page.evaluate(SMALL) == []
    assert violations(page) == []
    entry.refresh_from_db()
    assert entry.seconds is None
    told.get_by_role("button", name="Go on with it here").tap()
    expect(told).not_to_contain_text("Your timer still runs")
    expect(page.locator(".at-foot").get_by_role("button", name="Stop")).to_be_visible()
    expect(told.get_by_role("button", name="Take it back")).to_be_visible()
    entry.refresh_from_db()
    assert entry.seconds is not None
    assert TimeEntry.objects.get(seconds=None).step == second


def test_after_the_last_tick_the_timer_that_runs_on_is_stopped_there(
    open_page: Open, job: Job, as_person: Cookies, violations: Callable[[Page], list[str]]
) -> None:
    *others, last = steps(job)
    edda = Person.objects.get(username="edda")
    for step in others:
        step_tick(step=step, version=0, done=True, by=edda, form_key=uuid.uuid4())
    timer_start(step=last, by=edda, form_key=uuid.uuid4())
    page = open_page(f"/jobs/1/at-work/{last.pk}/", width=PHONE, cookies=as_person("edda"), has_touch=True)
    page.get_by_role("button", name="Tick", exact=False).tap()
    page.wait_for_url(f"**/jobs/1/at-work/?ticked={last.pk}")
    told = page.locator(".ticked")
    expect(told).to_contain_text("Your timer still runs on that step.")
    assert violations(page) == []
    told.get_by_role("button", name="Stop").tap()
    expect(told).not_to_contain_text("Your timer still runs")
    assert page.url.endswith(f"/jobs/1/at-work/?ticked={last.pk}")
    assert TimeEntry.objects.get().seconds is not None


def test_in_the_timers_bar_the_button_ends_where_the_words_begin(open_page: Open, job: Job, as_person: Cookies) -> None:
    """As far from the one edge of a phone's bar as they are from the other."""
    first = steps(job)[0]
    timer_start(step=first, by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    page = open_page(f"/jobs/1/at-work/{first.pk}/", width=PHONE, cookies=as_person("edda"))
    left, right = page.evaluate(
        """() => {
          const edge = (selector) => document.querySelector(selector).getBoundingClientRect();
          const [bar, words, button] = ["#timer", "#timer .since", "#timer button"].map(edge);
          return [words.left - bar.left, bar.right - button.right];
        }"""
    )
    assert left == pytest.approx(right, abs=1)


def test_at_the_narrowest_no_button_of_the_foot_lies_over_another(
    open_page: Open, job: Job, as_person: Cookies
) -> None:
    """Of a window 320 px wide, as WCAG 2.2 (1.4.10) has it; ticked, and timed, as well."""
    second = steps(job)[1]
    edda = Person.objects.get(username="edda")
    page = open_page(f"/jobs/1/at-work/{second.pk}/", width=320, cookies=as_person("edda"))
    for is_over in (False, True):
        lefts, rights = page.locator(".at-foot :is(a, button)").evaluate_all(
            """(all) => all.map((e) => e.getBoundingClientRect()).reduce(
            ([lefts, rights], { left, right }) => [[...lefts, left], [...rights, right]], [[], []])"""
        )
        assert len(lefts) == 4
        assert all(left >= right for left, right in zip(lefts[1:], rights, strict=False))
        assert page.evaluate("document.documentElement.scrollWidth") <= 320
        if is_over:
            break
        step_tick(step=second, version=0, done=True, by=edda, form_key=uuid.uuid4())
        timer_start(step=second, by=edda, form_key=uuid.uuid4())
        page.reload()


def test_after_the_last_cut_its_offcuts_go_to_the_rack_from_there(
    open_page: Open, job: Job, as_person: Cookies, violations: Callable[[Page], list[str]]
) -> None:
    *others, last = (step for step in steps(job) if step.kind == "cut")
    for step in others:
        step_tick(step=step, version=0, done=True, by=Person.objects.get(username="bo"), form_key=uuid.uuid4())
    page = open_page(f"/jobs/1/at-work/{last.pk}/", width=PHONE, cookies=as_person("edda"), has_touch=True)
    page.get_by_role("button", name="Tick", exact=False).tap()
    page.wait_for_url(f"**/?ticked={last.pk}")
    assert page.evaluate(SMALL) == []
    assert violations(page) == []
    page.get_by_label("Where it stands").fill("By the door")
    page.get_by_role("button", name="on the rack").tap()
    expect(page.locator("#put-away")).to_contain_text("Write the number on the metal.")
    assert violations(page) == []
    assert {item.place for item in StockItem.objects.all()} >= {"By the door"}


@pytest.mark.parametrize("width", [PHONE, 1280])
def test_what_was_ticked_today_is_told_in_lines(open_page: Open, job: Job, as_person: Cookies, width: int) -> None:
    """Not a letter a line, in a column that is as wide as one."""
    for step in steps(job)[:3]:
        step_tick(step=step, version=0, done=True, by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    page = open_page("/who/", width=width, cookies=as_person("edda"))
    lines = page.locator(".at-work li li")
    assert lines.count() == 3
    wide = page.locator(".at-work > li").first.evaluate("(e) => e.clientWidth")
    assert all(line.evaluate("(e) => e.clientWidth") == wide for line in lines.all())
    assert wide > 250


def test_axe_core_finds_nothing_and_all_fits_a_small_phone(
    open_page: Open,
    job: Job,
    as_person: Cookies,
    faults_either_way: Callable[[Page], list[str]],
) -> None:
    by_key = {step.key: step for step in steps(job)}
    page = open_page("/jobs/1/at-work/", width=PHONE, cookies=as_person("edda"))
    for key in (
        "measure:rim",
        "mark:A",
        cut(job, 3).key,
        "dress:A",
        "tack:C-D",
        "weld:C-D",
        "outlet:fitting",
        "weld:rim",
    ):
        page.goto(f"/jobs/1/at-work/{by_key[key].pk}/")
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE, key
        assert page.evaluate(SMALL) == [], key
        assert page.evaluate(TORN) == [], key
        smallest = page.evaluate(
            """() => Math.min(...[...document.querySelectorAll(".figure-large, main td:not(.words)")]
            .map((e) => parseFloat(getComputedStyle(e).fontSize)))"""
        )
        assert smallest >= 28, key
        assert faults_either_way(page) == [], key
    page.get_by_role("button", name="Tick", exact=False).click()
    page.wait_for_url("**/?ticked=*")
    assert faults_either_way(page) == []
    assert page.evaluate(SMALL) == []


# The drawing


def status(page: Page, of: str) -> Any:
    return page.locator(of).locator("xpath=following-sibling::p[contains(@class, 'touch-told')][1]")


def test_a_tap_on_a_numbered_cut_ticks_it(open_page: Open, job: Job, as_person: Cookies) -> None:
    step = cut(job, 3)
    page = open_page("/jobs/1/", width=PHONE, cookies=as_person("edda"), has_touch=True)
    control = page.get_by_role("button", name="Cut 3", exact=True)
    expect(control).to_have_attribute("aria-pressed", "false")
    control.tap()
    expect(control).to_have_attribute("aria-pressed", "true")
    expect(control.locator(".done-mark")).to_be_visible()
    expect(page.locator(f"#step-{step.pk} .tick-box")).to_have_attribute("aria-pressed", "true")
    expect(status(page, "figure.large")).to_contain_text(
        "Cut 3: ticked. Ticked out of turn: cuts 1 and 2 are not ticked yet."
    )
    assert page.url.endswith("/jobs/1/")
    page.wait_for_timeout(500)  # two taps of a finger within 0.4 s are one
    control.tap()
    expect(control).to_have_attribute("aria-pressed", "false")
    expect(status(page, "figure.large")).to_contain_text("Cut 3: not ticked.")
    assert list(Tick.objects.values_list("step", "done")) == [(step.pk, True), (step.pk, False)]


def test_a_double_tap_on_a_numbered_cut_is_one(open_page: Open, job: Job, as_person: Cookies) -> None:
    """Also where the first of the two is answered before the second comes."""
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    control = page.get_by_role("button", name="Cut 1", exact=True)
    control.click()
    expect(control).to_have_attribute("aria-pressed", "true")
    control.dispatch_event("click", {"detail": 2})  # the second click of a double click, as a browser counts them
    next_one = page.get_by_role("button", name="Cut 2", exact=True)
    next_one.click()
    expect(next_one).to_have_attribute("aria-pressed", "true")  # taps are sent in turn: no other is on its way
    expect(control).to_have_attribute("aria-pressed", "true")
    assert Tick.objects.count() == 2


def test_a_seam_is_ticked_by_the_keyboard(open_page: Open, job: Job, as_person: Cookies) -> None:
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    control = page.get_by_role("button", name="Seam A-B", exact=True)
    control.focus()
    page.keyboard.down("Space")
    expect(control).to_have_attribute("aria-pressed", "true")
    page.keyboard.down("Space")  # held, a key repeats
    page.keyboard.up("Space")
    expect(control).to_have_attribute("aria-pressed", "true")
    expect(control).to_be_focused()
    expect(status(page, "figure.weld-map")).to_have_text("Seam A-B: ticked.")
    page.keyboard.press("Enter")
    expect(control).to_have_attribute("aria-pressed", "false")
    assert Tick.objects.count() == 2


def test_a_tick_in_the_row_shows_in_the_drawing(open_page: Open, job: Job, as_person: Cookies) -> None:
    step = cut(job, 1)
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    page.locator(f"#step-{step.pk} .tick-box").click()
    control = page.get_by_role("button", name="Cut 1", exact=True)
    expect(control).to_have_attribute("aria-pressed", "true")
    expect(control).to_have_class(re.compile(r"\bdone\b"))
    expect(page.locator(".touch-told").first).to_be_empty()


def test_on_the_drawing_too_who_comes_second_is_told(open_page: Open, job: Job, as_person: Cookies) -> None:
    step = cut(job, 1)
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    step_tick(step=step, version=0, done=True, by=Person.objects.get(username="bo"), form_key=uuid.uuid4())
    page.get_by_role("button", name="Cut 1", exact=True).click()
    expect(status(page, "figure.large")).to_contain_text(re.compile("Cut 1: ticked. bo ticked this"))
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 409
    assert Tick.objects.count() == 1


def test_a_thumb_has_room_on_every_cut_and_seam(open_page: Open, job: Job, as_person: Cookies) -> None:
    """48 px where the drawing has it; where numbers stand closer, 24 px at least, as WCAG 2.2 (2.5.8) has it."""
    page = open_page("/jobs/1/", width=PHONE, cookies=as_person("edda"))
    rooms = page.evaluate(
        """() => [...document.querySelectorAll("svg a.touch path.hit")].map((e) => e.getBoundingClientRect())
        .map(({ width, height }) => [width, height])"""
    )
    assert len(rooms) == 14
    assert min(min(room) for room in rooms) >= 24
    assert sum(min(room) >= 48 for room in rooms) >= 10


def test_axe_core_finds_nothing_on_ticked_drawings(
    open_page: Open,
    job: Job,
    as_person: Cookies,
    faults_either_way: Callable[[Page], list[str]],
) -> None:
    for step in (cut(job, 1), cut(job, 4)):
        step_tick(step=step, version=0, done=True, by=Person.objects.get(username="bo"), form_key=uuid.uuid4())
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    expect(page.get_by_role("button", name="Cut 4", exact=True)).to_have_attribute("aria-pressed", "true")
    assert faults_either_way(page) == []
