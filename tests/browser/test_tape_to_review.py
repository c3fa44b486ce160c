"""The whole job in a browser: from the tape measure to what it took."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from fabjobs.models import Job, Person, ShopSettings, Step, TimeEntry
from tests.browser.conftest import save_quickly
from tests.conftest import PASSWORD
from tests.fabjobs.ledger import issued

pytestmark = pytest.mark.django_db(transaction=True)
TAPE = {"side_0": "742", "side_1": "389", "side_2": "743.5", "side_3": "371", "diagonal_0": "829", "diagonal_1": "840"}
REST = {"low_x": "512", "low_y": "148", "depth": "46", "bore": "40", "thickness": "1.5"}


def test_from_the_tape_to_what_the_job_took(open_page: Callable[..., Page]) -> None:
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    Person.objects.create_superuser("edda", password=PASSWORD)
    page = open_page("/")
    page.get_by_label("Username").fill("edda")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("main").get_by_role("link", name="New job").last.click()

    measure(page)
    expect(page.locator("#preview")).to_contain_text("4 to mark out")
    save_quickly(page)
    expect(page.get_by_role("heading", name="Chip tray")).to_be_visible()

    work(page)
    metal(page)

    page.goto("/")
    expect(page.get_by_role("main")).not_to_contain_text("Chip tray")  # nothing of it is in hand any more
    page.get_by_role("link", name="Review", exact=True).click()
    expect(page.get_by_role("main")).to_contain_text("1 job finished")
    page.get_by_role("link", name="Chip tray").click()
    expect(page.get_by_role("heading", name="Expected against actual")).to_be_visible()
    weld = page.get_by_role("row", name=re.compile("^Weld"))
    expect(weld).to_contain_text("1 h 20 min")
    # An hour and twenty minutes at the program's own 42.00 an hour: 42 x 80 / 60.
    expect(weld).to_contain_text("56.00")
    assert Job.objects.count() == 1


def measure(page: Page) -> None:
    page.get_by_label("Title").fill("Chip tray")
    page.get_by_label("four sides and both diagonals").check()
    for name, value in {**TAPE, **REST}.items():
        page.locator(f"#id_{name}").fill(value)
    page.locator("summary", has_text="Sheet, saw and money").click()
    page.locator("#id_price").fill("96.00")


def work(page: Page) -> None:
    """The first weld timed by the timer and put right by hand; every step ticked."""
    count = Step.objects.count()
    weld = Step.objects.filter(kind="weld").order_by("position")[0]
    place = Step.objects.filter(position__lte=weld.position).count()
    page.get_by_role("button", name=f"Start the timer on step {place}", exact=True).click()
    expect(page.locator("#timer")).to_contain_text("Job 1:")
    page.locator("#timer").get_by_role("button", name="Stop the timer").click()
    expect(page.locator("#timer")).to_be_hidden()
    page.goto("/jobs/1/")
    page.get_by_role("link", name=f"Notes and time of step {place}", exact=True).click()
    page.locator(".entry summary").click()
    page.get_by_label("Time it should be").fill("1 h 20")
    page.get_by_label("Reason").fill("started late")
    page.get_by_role("button", name="Correct the time").click()
    expect(page.locator(".entry")).to_contain_text("started late")
    assert TimeEntry.objects.get().seconds == 80 * 60
    page.goto("/jobs/1/")
    for number in range(1, count + 1):
        button = page.get_by_role("button", name=f"Step {number} done", exact=True)
        button.click()
        expect(button).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#made")).to_contain_text("Finished")


def metal(page: Page) -> None:
    page.goto("/jobs/1/metal/")
    expect(page.get_by_role("group", name="Sheets used")).to_contain_text("S1")  # its first cut's tick issued it
    expect(page.get_by_role("button", name="As planned: 1 x S1")).to_have_count(0)
    assert issued().get().count == 1
