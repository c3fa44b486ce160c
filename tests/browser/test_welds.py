"""The welding of a job as it is read at the bench, on a large screen and on a phone."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from playwright.sync_api import Page, expect

import calc
from fabjobs.models import Person, Revision, ShopSettings
from fabjobs.services import job_create
from tests.browser.conftest import save_quickly
from tests.conftest import FORM, PASSWORD, SHEET

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
LEAST_LETTER = 9.0  # [px] of a run's number on a phone


@pytest.fixture
def cookies(live_server: Any) -> list[dict[str, str]]:
    """A shop with a tray let into a bench; the cookie of someone signed in."""
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    job_create(plan=calc.plan(SHEET), due_day=date(2031, 5, 9), by=owner)
    session = SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]


@pytest.mark.parametrize("width", [1280, 360])
def test_the_runs_can_be_read_and_the_page_does_not_scroll_sideways(
    open_page: Open, cookies: list[Any], violations: Callable[[Page], list[str]], width: int
) -> None:
    page = open_page("/jobs/1/", cookies=cookies, width=width)
    page.get_by_text("Settings, weld by weld, and from which side").click()
    page.get_by_text("Weld map: runs and rim, with every tack").click()
    expect(page.get_by_role("figure", name="Weld map: rim")).to_be_visible()
    expect(page.get_by_role("group", name="Order of runs")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    letters = page.locator(".run-map .run-number").first
    expect(letters).to_be_visible()
    # how large a letter is on the screen: its size in the drawing by how much the drawing is scaled
    size = letters.evaluate("(text) => parseFloat(text.getAttribute('font-size')) * text.getScreenCTM().a")
    assert size >= LEAST_LETTER
    assert violations(page) == []


@pytest.mark.parametrize("width", [1280, 360])
def test_the_first_map_and_what_it_takes_stand_open_and_the_rest_is_folded(
    open_page: Open, cookies: list[Any], violations: Callable[[Page], list[str]], width: int
) -> None:
    page = open_page("/jobs/1/", cookies=cookies, width=width)
    expect(page.get_by_role("figure", name="Weld map: seams")).to_be_visible()
    expect(page.locator(".welding dl.figures").first).to_be_visible()
    for name in ("Weld map: runs", "Weld map: rim", "Settings, weld by weld", "Order of tacks", "Order of runs"):
        expect(page.locator(f'.welding [aria-label="{name}"]')).to_be_hidden()
    tall = page.locator(".welding").evaluate("(box) => box.offsetHeight")
    for summary in page.locator(".welding summary").all():
        summary.click()
    assert tall < 0.5 * page.locator(".welding").evaluate("(box) => box.offsetHeight")
    assert violations(page) == []


def test_each_weld_of_a_map_is_a_thing_of_its_own(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/1/", cookies=cookies)
    for name in page.get_by_role("group", name="Settings, weld by weld").locator("th[scope=row]").all_inner_texts():
        assert page.locator(".run-map g.welded > title", has_text=f"{name}: runs").count() == 1


def test_the_welding_of_a_new_job_is_typed_where_it_is_folded_away(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", cookies=cookies)
    for name in (
        "title",
        "corner_1_x",
        "corner_1_y",
        "corner_2_x",
        "corner_2_y",
        "corner_3_x",
        "corner_3_y",
        "corner_0_x",
    ):
        page.locator(f"#id_{name}").fill(FORM[name])
    for name in ("corner_0_y", "low_x", "low_y", "depth", "thickness"):
        page.locator(f"#id_{name}").fill(FORM[name])
    page.get_by_text("Welding, bench and errors").first.click()
    page.get_by_label("Process").select_option("MIG")
    page.get_by_label("Hottest in service, °C").fill("40")
    save_quickly(page)
    page.wait_for_url("**/jobs/2/", timeout=60_000)
    making = Revision.objects.latest("pk").sheet["making"]
    assert (making["process"], making["service_temperature"]) == ("MIG", 40)
    expect(page.get_by_text("ER5356 wire").first).to_be_visible()
