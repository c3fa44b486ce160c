"""A blank spoiled, on a phone: from its step to the one in its place, nothing wider than the screen."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from playwright.sync_api import Page, expect

import calc
from fabjobs.models import Person, ShopSettings, Spoiled
from fabjobs.services import job_create
from tests.conftest import PASSWORD
from tests.fabjobs.test_spoiled import cut_all

pytestmark = pytest.mark.django_db(transaction=True)
PLANNED = 30_000  # [ms] a plan is worked out meanwhile
SMALL = """() => [...document.querySelectorAll("main :is(button, a, summary, input:not([type=hidden]))")]
    .filter((e) => e.checkVisibility() && !e.closest("p:not(.links, .send)"))
    .filter((e) => { const box = e.getBoundingClientRect(); return box.height < 44 || box.width < 44; })
    .map((e) => e.outerHTML.slice(0, 90))"""


@pytest.fixture
def cookies(live_server: Any, plan: calc.Plan) -> list[dict[str, str]]:
    """A tray whose blanks are all cut; the cookie of someone signed in."""
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    cut_all(job_create(plan=plan, due_day=date(2031, 5, 9), by=owner).fabrications.get(), owner)
    session = SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]


def fits(page: Page, violations: Callable[[Page], list[str]]) -> None:
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert page.evaluate(SMALL) == []


def test_from_the_step_to_another_in_its_place(
    open_page: Callable[..., Page], cookies: list[Any], violations: Callable[[Page], list[str]]
) -> None:
    page = open_page("/jobs/1/", width=360, cookies=cookies)
    page.goto(page.locator("li.step", has_text="Mark out C").get_by_text("Notes, time").get_attribute("href") or "")
    page.get_by_role("link", name="Spoiled a blank?").click()
    fits(page, violations)
    page.get_by_role("link", name="C.1").click()
    expect(page.get_by_role("heading", name="C.2 in its place")).to_be_visible(timeout=PLANNED)
    expect(page.locator("figure svg")).to_contain_text("C.1 spoiled")
    fits(page, violations)
    page.get_by_role("button", name="C.1 is spoiled, make C.2").click()
    expect(page.locator("#fault-why")).to_contain_text("Say why", timeout=PLANNED)
    fits(page, violations)
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 422
    page.get_by_label("Why it is spoiled").fill("The guide slipped")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Spoiled so far")).to_be_visible(timeout=PLANNED)
    line = Spoiled.objects.get()
    assert page.url.endswith(f"/jobs/1/spoiled/#line-{line.pk}")
    page.evaluate("document.querySelectorAll('details').forEach((each) => each.setAttribute('open', ''))")
    fits(page, violations)
    page.get_by_label("Why C.1 is good").fill("Straightened")
    page.get_by_role("button", name="Take it for good again").click()
    expect(page.locator(f"#line-{line.pk}")).to_contain_text("Good after all: edda", timeout=PLANNED)
    fits(page, violations)
