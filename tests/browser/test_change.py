"""A change half-way, as a person makes it: what is cut stays, what it comes to is seen first, the old paper is known."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

import calc
from fabjobs.models import Job, Person, Revision, Step
from tests.browser.test_every_page import cookies as cookies  # noqa: PLC0414 - a fixture
from tests.fabjobs.changing import WIDER, first_cut, work_on
from tests.fabjobs.test_job_change import change

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
PAGES = ["/jobs/1/change", "/jobs/1/revisions/1/2/", "/jobs/1/", "/papers/", "/papers/?job=1&revision=1&code="]
WIDE, PHONE = 1280, 360


@pytest.fixture
def job(cookies: list[Any]) -> Job:
    """A job half-way: one cut is made, one blank marked out."""
    job, edda = Job.objects.get(number=1), Person.objects.get()
    work_on(first_cut(job), edda)
    work_on(Step.objects.get(fabrication__job=job, key="mark:C"), edda)
    return job


@pytest.fixture
def changed(job: Job, plan: calc.Plan) -> Job:
    """The same job after a change: revision 2 is in force."""
    from fabjobs import planning
    from fabjobs.frozen import frozen_sheets

    fabrication = job.fabrications.get()
    sheet = plan.sheet.as_json()
    sheet["shape"]["rim"][2] = [803, 399]
    frozen = frozen_sheets(fabrication)
    change(job, planning.compute({**sheet, "frozen": frozen}), Person.objects.get(), reason="Leg in the way")
    return job


def open_for_paper(path: str) -> str:
    return path + Revision.objects.get(number=1, fabrication__job__number=1).check_code if path.endswith("=") else path


def test_from_a_new_measurement_to_the_paper_that_is_out_of_date(open_page: Open, cookies: list[Any], job: Job) -> None:
    page = open_page("/jobs/1/", cookies=cookies)
    page.get_by_role("link", name="Change the job").click()
    expect(page.locator("#id_corner_2_x")).to_have_value("797")
    expect(page.locator("#preview")).to_contain_text("Sheet 1")
    page.locator("#id_corner_2_x").fill(WIDER["corner_2_x"])
    page.locator("#id_corner_2_y").fill(WIDER["corner_2_y"])
    preview = page.locator("#preview")
    expect(preview.get_by_role("row", name="Corner 3")).to_contain_text("10 mm")  # 6 along and 8 across
    expect(preview).to_contain_text("it was cut into")
    expect(preview).to_contain_text("Stays where it lies: A.1, D.1.")
    expect(preview).to_contain_text("its metal used again: B.1, C.1. Strike its lines out.")
    expect(preview).to_contain_text("Laid out anew on a piece left of it")
    expect(preview).to_contain_text("Mark out C")
    page.get_by_role("button", name="Save the change").click()
    expect(page.locator("#fault-reason")).to_contain_text("Say why the measurements change")
    page.get_by_label("Why it changes").fill("Leg in the way")
    page.locator("#save").dblclick()
    expect(page.get_by_role("heading", name="Coolant tray", level=1)).to_be_visible()
    assert Revision.objects.filter(fabrication__job=job).count() == 2
    expect(page.locator("table.revisions")).to_contain_text("Leg in the way")
    first = Revision.objects.get(fabrication__job=job, number=1)
    page.goto("/papers/")
    for label, value in {"Job": "1", "Revision": "1", "Check code": first.check_code.lower()}.items():
        page.get_by_label(label).fill(value)
    page.get_by_role("button", name="Look it up").click()
    expect(page.get_by_role("main").get_by_role("status")).to_contain_text("out of date")
    page.get_by_role("link", name="What changed since revision 1").click()
    expect(page.get_by_role("row", name="Corner 3")).to_contain_text("10 mm")
    assert first_cut(job).done_by is not None
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 422


def test_someone_else_was_first(open_page: Open, cookies: list[Any], job: Job, plan: calc.Plan) -> None:
    page = open_page("/jobs/2/change", cookies=cookies)
    page.locator("#id_depth").fill("60")
    page.get_by_label("Why it changes").fill("Deeper")
    sheet = {**plan.sheet.as_json(), "quantity": 2}
    change(Job.objects.get(number=2), calc.plan(sheet), Person.objects.get(), reason="Two of them")
    page.locator("#save").click()
    expect(page.get_by_role("alert").filter(has_text="Not saved")).to_contain_text("edda saved revision 2")
    expect(page.locator("#id_depth")).to_have_value("60")
    page.locator("#save").click()
    expect(page.locator("table.revisions")).to_contain_text("Deeper")
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 409


def test_without_a_script_a_change_is_done_by_buttons(open_page: Open, cookies: list[Any], job: Job) -> None:
    page = open_page("/jobs/1/change", cookies=cookies, java_script_enabled=False)
    page.get_by_role("button", name="One corner more").click()
    page.get_by_role("button", name="Take corner 5 out").click()
    page.locator("#id_depth").fill("60")
    page.get_by_label("Why it changes").fill("Deeper")
    page.get_by_role("button", name="Work it out").last.click()
    expect(page.locator("#preview").get_by_role("row", name="Depth")).to_contain_text("+12 mm")
    page.get_by_role("button", name="Save the change").click()
    expect(page.locator("table.revisions")).to_contain_text("Deeper")


@pytest.mark.parametrize("path", PAGES)
def test_axe_core_finds_nothing(
    open_page: Open,
    cookies: list[Any],
    changed: Job,
    faults_either_way: Callable[[Page], list[str]],
    path: str,
) -> None:
    page = open_page(open_for_paper(path), cookies=cookies)
    if path.endswith("/change"):
        page.locator("#id_depth").fill("55")
        expect(page.locator("#preview").get_by_role("row", name="Depth")).to_be_visible()
        page.locator("summary").first.click()
    assert faults_either_way(page) == []


@pytest.mark.parametrize("path", PAGES)
def test_a_small_phone_has_room_for_it_and_a_thumb_for_its_buttons(
    open_page: Open, cookies: list[Any], changed: Job, path: str
) -> None:
    page = open_page(open_for_paper(path), width=PHONE, cookies=cookies)
    if path.endswith("/change"):
        page.locator("#id_depth").fill("55")
        expect(page.locator("#preview").get_by_role("row", name="Depth")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE
    small = page.evaluate(
        """() => [...document.querySelectorAll("main :is(button, a, select, summary, input:not([type=hidden]))")]
        .filter((e) => e.checkVisibility() && !e.closest("p, li, .hush, svg"))
        .filter((e) => !e.matches(".hush, [type=checkbox], [type=radio]"))
        .filter((e) => { const box = e.getBoundingClientRect(); return box.height < 44 || box.width < 44; })
        .map((e) => e.outerHTML.slice(0, 90))"""
    )
    assert small == []
