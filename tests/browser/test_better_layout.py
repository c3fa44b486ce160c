"""A better layout as a person comes by it: asked for, waited for, compared, taken."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from playwright.sync_api import Page, expect

import calc
from fabjobs import improving
from fabjobs.models import Improvement, Person, Revision, ShopSettings
from fabjobs.safekeeping import folder_lock
from fabjobs.services import job_create
from tests.conftest import PASSWORD
from tests.fabjobs.test_improve import piece

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]


@pytest.fixture
def cookies(live_server: Any, plan: calc.Plan, monkeypatch: pytest.MonkeyPatch) -> list[dict[str, str]]:
    """A shop with a tray planned on a whole sheet, and an offcut that came to the rack since; a worker, as far as pages can
    tell. The test itself does its work, and shortly: a better layout comes by the offcut."""
    monkeypatch.setattr(improving, "EFFORT", "quick")
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    job_create(plan=plan, due_day=None, by=owner)
    piece(owner)
    session = SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]


def look() -> None:
    """As the one worker: a page that asks meanwhile and finds none running takes the look for one that was stopped."""
    settings.DATA.mkdir(parents=True, exist_ok=True)
    with folder_lock.only_worker(settings.DATA):
        improving.look(Improvement.objects.get().pk)


def find() -> None:
    """A better layout, found before the page is opened."""
    Improvement.objects.create(
        fabrication=Revision.objects.get().fabrication, revision=Revision.objects.get(),
        by=Person.objects.get(), form_key=uuid4(),
    )  # fmt: skip
    look()


def test_asked_for_waited_for_compared_and_taken(open_page: Open, cookies: list[Any]) -> None:
    settings.DATA.mkdir(parents=True, exist_ok=True)
    with folder_lock.only_worker(settings.DATA):
        page = open_page("/jobs/1/", cookies=cookies)
        better = page.locator("#better")
        better.scroll_into_view_if_needed()
        better.get_by_role("button", name="Look for a better layout").click()
        expect(better).to_contain_text("The worker takes it up in a moment")
        better.get_by_role("link", name="How it stands now").focus()
        with page.expect_response("**/better-layout/"):
            pass  # it asks by itself, and who is at the link stays there
        expect(better.get_by_role("link", name="How it stands now")).to_be_focused()
    look()
    expect(better).to_contain_text("Found:")
    expect(better.locator("table")).to_contain_text("Metal taken")
    expect(better.locator("svg")).to_have_count(2)
    assert Revision.objects.count() == 1
    better.get_by_role("button", name="Take it").click()
    expect(page.locator(".block")).to_contain_text("Revision2")
    expect(page.locator(".revisions")).to_contain_text("A better layout")
    assert Revision.objects.count() == 2


def test_without_a_script_it_is_all_done_by_buttons(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/1/", cookies=cookies, java_script_enabled=False)
    page.get_by_role("link", name="Look for a better layout").click()
    page.get_by_role("button", name="Look for a better layout").click()
    expect(page.locator("#better")).to_contain_text("no worker is running")
    look()
    page.get_by_role("link", name="How it stands now").click()
    page.get_by_role("button", name="Take it").click()
    expect(page.locator(".block")).to_contain_text("Revision2")
    assert [revision.reason for revision in Revision.objects.order_by("number")] == ["", "A better layout"]


def test_axe_core_finds_nothing(
    open_page: Open,
    cookies: list[Any],
    faults_either_way: Callable[[Page], list[str]],
) -> None:
    page = open_page("/jobs/1/better-layout/", cookies=cookies)
    assert faults_either_way(page) == []
    page.get_by_role("button", name="Look for a better layout").click()
    expect(page.locator("#better")).to_contain_text("no worker is running")
    assert faults_either_way(page) == []
    look()
    expect(page.locator("#better")).to_contain_text("Found:")
    assert faults_either_way(page) == []
    page.goto("/jobs/1/")
    page.locator("#better").scroll_into_view_if_needed()
    expect(page.locator("#better table")).to_be_visible()
    assert faults_either_way(page) == []


def test_nothing_is_wider_than_a_small_phone(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/1/better-layout/", width=360, cookies=cookies)
    find()
    page.reload()
    expect(page.locator("#better table")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    for touched in page.locator("#better :is(button, a, summary)").all():
        box = touched.bounding_box()
        assert box is not None
        assert box["height"] >= 44
