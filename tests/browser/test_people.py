"""Someone is invited, comes in by the link on a phone, and finds the work without its money."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

import calc
from fabjobs.models import Person, ShopSettings
from fabjobs.services import job_create
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
NEW = "galvanised bucket 9"


@pytest.fixture
def owners(open_page: Open, plan: calc.Plan) -> Page:
    """The page of an owner, signed in, in a shop with a job."""
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    job_create(plan=plan, due_day=None, by=owner)
    page = open_page("/people/")
    page.get_by_label("Username").fill("edda")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="People")).to_be_visible()
    return page


def link_for(page: Page, name: str) -> str:
    page.get_by_label("Who", exact=True).fill(name)
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_role("heading", name=f"The link for {name}")).to_be_visible()
    return page.get_by_label("Scan it, or copy it").input_value()


def come_in(page: Page) -> None:
    page.get_by_label("Password", exact=True).fill(NEW)
    page.get_by_label("Password once more").fill(NEW)
    page.get_by_role("button", name="Come in").click()
    expect(page.get_by_role("heading", name="In hand")).to_be_visible()


def is_narrow(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth") <= 360)


def test_invited_and_at_work(open_page: Open, owners: Page, violations: Callable[[Page], list[str]]) -> None:
    link = link_for(owners, "Ines")
    assert violations(owners) == []
    phone = open_page(link, width=360)
    assert violations(phone) == []
    assert is_narrow(phone)
    come_in(phone)
    phone.get_by_role("link", name="Coolant tray").click()
    expect(phone.get_by_role("heading", name="Make")).to_be_visible()
    expect(phone.get_by_role("heading", name="Money")).to_have_count(0)
    phone.get_by_role("button", name="Step 1 done", exact=True).click()
    expect(phone.locator(".step.done")).to_contain_text("ticked by ines")
    phone.get_by_role("button", name="Start the timer on step 2", exact=True).click()
    expect(phone.locator("#timer")).to_contain_text("Job 1")
    assert violations(phone) == []
    assert is_narrow(phone)


def test_a_page_that_was_open_when_the_role_changed_says_so_and_keeps_what_is_typed(
    open_page: Open, owners: Page
) -> None:
    page = open_page(link_for(owners, "Ines"))
    come_in(page)
    Person.objects.filter(username="ines").update(role="owner")
    page.goto("/jobs/new")
    page.locator("#id_title").fill("Tray of mine")
    Person.objects.filter(username="ines").update(role="hand")
    page.locator("#id_depth").fill("48")
    expect(page.locator("#trouble")).to_contain_text("That is for an owner of the shop")
    expect(page.locator("#id_title")).to_have_value("Tray of mine")
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 403


def test_signed_out_everywhere_the_next_tap_asks_for_a_sign_in(open_page: Open, owners: Page) -> None:
    phone = open_page(link_for(owners, "Ines"), width=360)
    come_in(phone)
    phone.goto("/jobs/1/")
    owners.goto("/people/")
    owners.get_by_role("button", name=re.compile("Sign out everywhere.*ines")).click()
    expect(owners.get_by_role("heading", name="People")).to_be_visible()
    phone.get_by_role("button", name="Step 1 done", exact=True).click()
    expect(phone.get_by_role("heading", name="Sign in")).to_be_visible()


def test_the_pages_of_people_and_of_oneself(
    open_page: Open,
    owners: Page,
    faults_either_way: Callable[[Page], list[str]],
) -> None:
    link_for(owners, "Ines-of-the-very-long-name" * 3)
    Person.objects.create_user("bo", role="hand", is_active=False)
    cookies: Any = owners.context.cookies()
    for path in ("/people/", "/me/", "/join/nothing", "/settings/"):
        page = open_page(path, width=360, cookies=cookies)
        assert faults_either_way(page) == [], path
        assert is_narrow(page), path
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 404 asked for
