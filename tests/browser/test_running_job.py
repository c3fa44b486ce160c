"""The running job in a real browser: ticks, two people at once, the timer, time by hand, a correction."""

import re
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

import calc
from fabjobs import planning
from fabjobs.models import Fabrication, Job, Person, Step, StepNote, Tick, TimeEntry
from fabjobs.services import note_add, step_tick, time_correct, time_enter, timer_start

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]


Cookies = Callable[[str], list[dict[str, str]]]


def steps(job: Job) -> list[Step]:
    return list(Step.objects.filter(fabrication__job=job))


def row(page: Page, step: Step) -> Locator:
    return page.locator(f"#step-{step.pk}")


def test_a_tap_ticks_and_another_takes_it_back(open_page: Open, job: Job, as_person: Cookies) -> None:
    first, second = steps(job)[:2]
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    button = row(page, first).get_by_role("button", name="Step 1 done")
    expect(button).to_have_attribute("aria-pressed", "false")
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")
    expect(button).to_be_focused()
    expect(row(page, first)).to_contain_text(re.compile("ticked by edda (on .* )?at"))
    expect(page.locator("#made")).to_contain_text("Planned")
    expect(page.locator("#made")).to_contain_text("1 of")
    expect(row(page, second).get_by_role("button", name="Step 2 done")).to_have_attribute("aria-pressed", "false")
    button.click()
    expect(button).to_have_attribute("aria-pressed", "false")
    assert list(Tick.objects.values_list("done", flat=True)) == [True, False]


def test_two_quick_taps_are_one_tick(open_page: Open, job: Job, as_person: Cookies) -> None:
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    page.get_by_role("button", name="Step 1 done").dblclick()
    expect(page.locator("#made")).to_contain_text("1 of")
    page.reload()
    expect(page.get_by_role("button", name="Step 1 done")).to_have_attribute("aria-pressed", "true")
    assert Tick.objects.count() == 1


def test_who_comes_second_is_told_who_came_first(open_page: Open, job: Job, as_person: Cookies) -> None:
    step = steps(job)[0]
    hers = open_page("/jobs/1/", cookies=as_person("edda"))
    his = open_page("/jobs/1/", cookies=as_person("bo"))
    hers.get_by_role("button", name="Step 1 done").click()
    expect(row(hers, step)).to_contain_text("ticked by edda")
    his.get_by_role("button", name="Step 1 done").click()
    expect(row(his, step).get_by_role("alert")).to_contain_text(re.compile("edda ticked this (on .* )?at"))
    expect(his.get_by_role("button", name="Step 1 done")).to_have_attribute("aria-pressed", "true")
    assert Tick.objects.count() == 1
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 409
    # The row is now as it is: his next tap counts.
    his.get_by_role("button", name="Step 1 done").click()
    expect(his.get_by_role("button", name="Step 1 done")).to_have_attribute("aria-pressed", "false")
    expect(row(his, step).get_by_role("alert")).to_have_count(0)


def test_a_note_typed_with_a_stale_tick_stays_in_the_form(open_page: Open, job: Job, as_person: Cookies) -> None:
    step = steps(job)[0]
    page = open_page(f"/jobs/1/steps/{step.pk}/", cookies=as_person("edda"))
    page.get_by_role("textbox", name="Note").fill("diagonals differ by 3")
    by = Person.objects.get(username="bo")
    step_tick(step=step, version=0, done=True, by=by, form_key=uuid.uuid4())
    page.get_by_role("button", name="Tick it done").click()
    expect(page.get_by_role("alert").first).to_contain_text(re.compile("bo ticked this (on .* )?at"))
    expect(page.get_by_role("textbox", name="Note")).to_have_value("diagonals differ by 3")
    assert not StepNote.objects.exists()
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 409
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator(".note")).to_contain_text("diagonals differ by 3")


def test_the_timer_runs_in_the_bar_of_every_page_and_one_at_a_time(
    open_page: Open, job: Job, as_person: Cookies
) -> None:
    first, second = steps(job)[:2]
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    expect(page.locator("#timer")).to_be_hidden()
    page.get_by_role("button", name="Start the timer on step 1", exact=True).click()
    expect(page.locator("#timer")).to_contain_text("Job 1:")
    # it counts on by itself; a slow machine may look late
    expect(page.locator("#timer [data-elapsed]")).to_have_text(re.compile("0:00:(0[2-9]|[1-5][0-9])"))
    page.get_by_role("button", name="Start the timer on step 2", exact=True).click()
    expect(row(page, second).get_by_role("button", name="Stop the timer on step 2")).to_be_visible()
    expect(row(page, first).get_by_role("button", name="Start the timer on step 1", exact=True)).to_be_visible()
    page.goto("/jobs/")
    page.locator("#timer").get_by_role("button", name="Stop the timer").click()
    expect(page.locator("#timer")).to_be_hidden()
    assert TimeEntry.objects.filter(seconds=None).count() == 0
    assert TimeEntry.objects.count() == 2


def test_stopped_from_the_bar_of_the_jobs_page_the_row_follows(open_page: Open, job: Job, as_person: Cookies) -> None:
    step = steps(job)[0]
    entry = timer_start(step=step, by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(minutes=25))
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    expect(page.locator("#timer [data-elapsed]")).to_contain_text("0:25:")
    page.locator("#stop").click()
    expect(row(page, step)).to_contain_text("25 min")
    expect(page.locator("#made")).to_contain_text("25 min logged")
    expect(page.get_by_role("button", name="Start the timer on step 1", exact=True)).to_be_visible()


def test_a_forgotten_timer_asks_how_long_the_work_took(open_page: Open, job: Job, as_person: Cookies) -> None:
    step, wanted = steps(job)[:2]
    entry = timer_start(step=step, by=Person.objects.get(username="edda"), form_key=uuid.uuid4())
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(hours=17))
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    page.get_by_role("button", name="Start the timer on step 2", exact=True).click()
    page.wait_for_url("**/timer/?*")
    expect(page.get_by_text("More than 6 hours.", exact=True)).to_be_visible()
    page.get_by_label("The work took").fill("1 h 15")
    page.get_by_role("button", name="Keep that, start nothing").click()
    page.wait_for_url(f"**/jobs/1/#step-{wanted.pk}")
    expect(row(page, step)).to_contain_text("1 h 15 min")
    assert not TimeEntry.objects.filter(seconds=None).exists()


def test_time_by_hand_and_its_correction(open_page: Open, job: Job, as_person: Cookies) -> None:
    step = steps(job)[0]
    page = open_page("/jobs/1/", cookies=as_person("edda"))
    page.get_by_role("link", name="Notes and time of step 1", exact=True).click()
    page.get_by_role("textbox", name="Time", exact=True).fill("1.5")
    page.get_by_role("button", name="Log this time").click()
    expect(page.locator("#fault-took")).to_contain_text("may be hours or minutes")
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 422
    page.get_by_role("textbox", name="Time", exact=True).fill("1 h 20")
    page.get_by_role("button", name="Log this time").click()
    expect(page.locator(".entry")).to_contain_text("1 h 20 min")
    page.locator(".entry summary").click()
    page.get_by_label("Time it should be").fill("50")
    page.get_by_label("Reason").fill("tea counted in")
    page.get_by_role("button", name="Correct the time").click()
    expect(page.locator(".entry")).to_contain_text("was 1 h 20 min; edda made it 50 min")
    expect(page.locator(".entry")).to_contain_text("tea counted in")
    assert TimeEntry.objects.get(step=step).seconds == 50 * 60


def test_without_a_script_the_job_is_made_by_buttons(open_page: Open, job: Job, as_person: Cookies) -> None:
    first, second = steps(job)[:2]
    page = open_page("/jobs/1/", cookies=as_person("edda"), java_script_enabled=False)
    page.get_by_role("button", name="Step 1 done").click()
    page.wait_for_url(f"**/jobs/1/#step-{first.pk}")
    expect(page.get_by_role("button", name="Step 1 done")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Start the timer on step 2", exact=True).click()
    page.wait_for_url(f"**/jobs/1/#step-{second.pk}")
    expect(page.locator("#timer")).to_contain_text(re.compile("0 min|under 1 min"))
    page.locator("#timer").get_by_role("button", name="Stop the timer").click()
    expect(page.locator("#timer")).to_be_hidden()


@pytest.fixture
def under_way(job: Job, sheet: dict[str, Any]) -> list[str]:
    """A job with every kind of line on it, an earlier revision, a forgotten timer; the pages that show it."""
    edda, bo = Person.objects.get(username="edda"), Person.objects.get(username="bo")
    first, second, third = steps(job)[:3]
    step_tick(step=first, version=0, done=True, by=bo, form_key=uuid.uuid4(), note="W" * 200)
    step_tick(step=second, version=0, done=True, by=bo, form_key=uuid.uuid4())
    note_add(step=third, text="the guide slipped once", by=edda, form_key=uuid.uuid4())
    entry = time_enter(step=first, day=timezone.localdate(), minutes=80, by=edda, form_key=uuid.uuid4())
    time_correct(entry=entry, was=4800, seconds=3000, reason="r" * 200, by=bo, form_key=uuid.uuid4())
    sheet["shape"]["depth"] = 52
    planning.store(fabrication=Fabrication.objects.get(), plan=calc.plan(sheet), by=edda)
    still = Step.objects.filter(retired=False)[2]
    runs = timer_start(step=still, by=edda, form_key=uuid.uuid4())
    TimeEntry.objects.filter(pk=runs.pk).update(started_at=timezone.now() - timedelta(hours=13))
    assert Step.objects.filter(retired=True).exists()
    own = [f"/jobs/1/steps/{step.pk}/" for step in (first, second, still)]
    return ["/jobs/1/", *own, "/timer/", "/", "/jobs/"]


def test_axe_core_finds_nothing(
    open_page: Open,
    under_way: list[str],
    as_person: Cookies,
    faults_either_way: Callable[[Page], list[str]],
) -> None:
    page = open_page("/timer/", cookies=as_person("edda"))
    for path in under_way:
        page.goto(path)
        while (closed := page.locator("details:not([open]) > summary:visible")).count():
            closed.first.click()
        assert faults_either_way(page) == [], path


def test_on_a_small_phone_nothing_is_too_wide_or_too_small_to_touch(
    open_page: Open, under_way: list[str], as_person: Cookies
) -> None:
    page = open_page("/timer/", width=360, cookies=as_person("edda"))
    for path in under_way:
        page.goto(path)
        while (closed := page.locator("details:not([open]) > summary:visible")).count():
            closed.first.click()
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, path
        small = page.evaluate(
            """() => [...document.querySelectorAll(":is(#timer, .step, .log-form, .run) :is(a, button, input)")]
            .filter((e) => e.checkVisibility() && e.type !== "hidden")
            .filter((e) => { const box = e.getBoundingClientRect(); return box.height < 44 || box.width < 44; })
            .map((e) => e.outerHTML.slice(0, 90))"""
        )
        assert small == [], path
    page.goto("/jobs/1/")
    for box in page.locator(".tick-box").all():
        size = box.bounding_box()
        assert size is not None
        assert min(size["width"], size["height"]) >= 48


@pytest.mark.parametrize("wide", [360, 1280])
def test_the_picture_of_a_cut_is_on_its_steps_page(open_page: Open, job: Job, as_person: Cookies, wide: int) -> None:
    step = Step.objects.filter(fabrication__job=job, kind="cut")[1]
    page = open_page(f"/jobs/1/steps/{step.pk}/", width=wide, cookies=as_person("edda"))
    picture = page.locator("svg.cut-drawing")
    expect(picture).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= wide
    box = picture.bounding_box()
    assert box is not None
    assert box["width"] > 0.8 * min(wide, 700)
    # each letter of a corner is drawn on the paper's ground, inside the picture
    letters = picture.locator("text.corner")
    assert letters.count() >= 3
    for letter in letters.all():
        at = letter.bounding_box()
        assert at is not None
        assert box["x"] - 1 <= at["x"] <= box["x"] + box["width"]
