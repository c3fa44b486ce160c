"""Forms that are sent without a network, in a real browser: what was filled in stays, and it is said that nothing was sent."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from fabjobs.models import AsBuilt, Job, Person, Photo, Spoiled, Step, StepNote, TimeEntry
from tests.browser.conftest import forget_refusals
from tests.fabjobs.test_spoiled import cut_all
from tests.photographed import photo_file

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
Cookies = Callable[[str], list[dict[str, str]]]
UNSENT = "Not sent: the shop's computer does not answer. What you filled in is still here; send it once it answers."
PLANNED = 60_000  # [ms] a plan is worked out meanwhile
PHONE = 360


@pytest.fixture
def forgiven() -> re.Pattern[str]:
    """The browser logs every request that these tests cut, and htmx its own."""
    return re.compile(r"Failed to load resource|net::ERR_|htmx:(afterRequest|sendError)")


@pytest.fixture
def page(open_page: Open, job: Job, as_person: Cookies) -> Page:
    """Of the first step."""
    step = Step.objects.order_by("position")[0]
    return open_page(f"/jobs/1/steps/{step.pk}/", width=PHONE, cookies=as_person("edda"))


def form_of(field: Locator) -> Locator:
    return field.locator("xpath=ancestor::form")


def test_words_and_times_that_are_not_sent_stay_in_their_fields(
    page: Page, violations: Callable[[Page], list[str]]
) -> None:
    where = page.url
    note, took = page.get_by_label("Note", exact=True), page.locator("form.by-hand").get_by_label("Time", exact=True)
    page.context.set_offline(True)
    note.fill("clamp slips on side 2")
    page.get_by_role("button", name="Keep the note").click()
    expect(form_of(note).get_by_role("alert")).to_have_text(UNSENT)
    took.fill("1 h 20")
    page.get_by_role("button", name="Log this time").click()
    expect(form_of(took).get_by_role("alert")).to_have_text(UNSENT)
    expect(form_of(took).get_by_role("alert")).to_be_in_viewport()
    assert page.url == where
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE
    expect(note).to_have_value("clamp slips on side 2")
    expect(took).to_have_value("1 h 20")
    assert not StepNote.objects.exists()
    page.context.set_offline(False)
    page.get_by_role("button", name="Log this time").click()
    expect(page.locator(".entry")).to_contain_text("1 h 20 min")
    assert TimeEntry.objects.get().seconds == 80 * 60
    expect(page.get_by_role("alert").filter(has_text="Not sent")).to_have_count(0)


def test_tapped_twice_while_an_answer_is_waited_for_it_is_sent_once(page: Page) -> None:
    asked: list[Any] = []

    def hold_back(route: Any) -> None:
        asked.append(route)

    page.route("**/mark*.svg", hold_back)
    page.get_by_label("Note", exact=True).fill("edge dressed twice")
    keep = page.get_by_role("button", name="Keep the note")
    keep.click()
    expect(page.get_by_text("Waiting for the shop's computer to answer.")).to_be_visible()
    keep.click()
    assert len(asked) == 1
    asked[0].continue_()
    expect(page.locator(".note")).to_have_text(re.compile("edge dressed twice"))
    assert StepNote.objects.count() == 1


def test_a_photo_that_breaks_off_on_its_way_stays_chosen(page: Page, tmp_path: Path) -> None:
    file = tmp_path / "IMG_20310509.jpg"
    file.write_bytes(photo_file())
    where = page.url
    chosen = page.get_by_label("Or one taken before")
    chosen.set_input_files(file)
    page.get_by_label("What it shows").fill("Nick in the long edge")
    page.route("**/photo", lambda route: route.abort())
    page.get_by_role("button", name="Send the photo").click()
    expect(form_of(chosen).get_by_role("alert")).to_have_text(UNSENT)
    assert page.url == where
    page.unroute_all()
    page.route("**/photo", lambda route: route.fulfill(status=502, body="<p>Welcome to the network</p>"))
    page.get_by_role("button", name="Send the photo").click()
    expect(form_of(chosen).get_by_role("alert")).to_contain_text(
        "Not kept: the shop's computer has a fault of its own."
    )
    page.unroute_all()
    page.get_by_role("button", name="Send the photo").click()
    expect(page.get_by_role("img", name="Nick in the long edge")).to_be_visible()
    assert page.url == f"{where}#photos"
    assert Photo.objects.count() == 1


def test_a_photo_that_is_refused_is_told_why(page: Page, open_page: Any, tmp_path: Path) -> None:
    file = tmp_path / "IMG_20310509.jpg"
    file.write_bytes(b"not a picture")
    page.get_by_label("Or one taken before").set_input_files(file)
    page.get_by_role("button", name="Send the photo").click()
    expect(page.get_by_role("main")).to_contain_text("JPEG, PNG or WebP")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Photos of step 1")
    assert not Photo.objects.exists()
    forget_refusals(open_page)


def test_why_a_blank_is_spoiled_stays_as_it_was_typed(page: Page, job: Job) -> None:
    cut_all(job.fabrications.get(), Person.objects.get(username="edda"))
    page.goto("/jobs/1/spoiled/?copy=C.1", timeout=PLANNED)
    why = page.locator("#id_spoil_why")
    why.fill("Cut on the wrong side of the line")
    page.context.set_offline(True)
    page.get_by_role("button", name="C.1 is spoiled, make C.2").click()
    expect(form_of(why).get_by_role("alert")).to_have_text(UNSENT)
    expect(why).to_have_value("Cut on the wrong side of the line")
    assert not Spoiled.objects.exists()


def test_lengths_that_htmx_could_not_send_are_told_of_beside_the_button(page: Page) -> None:
    page.goto("/jobs/1/as-built/1/")
    form = page.locator("#as-built form")
    side = form.locator("input[inputmode]").first
    side.fill("812")
    page.context.set_offline(True)
    form.get_by_role("button").last.click()
    expect(form.locator(".unsent")).to_have_text(UNSENT)
    expect(form.locator(".unsent")).to_be_in_viewport()
    expect(side).to_have_value("812")
    assert not AsBuilt.objects.exists()
