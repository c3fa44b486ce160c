"""A real browser over the running app. Where none is installed these tests are skipped, unless CI is set."""

import os
import re
import shutil
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect, sync_playwright

import calc
from fabjobs.models import Job, Person, ShopSettings
from fabjobs.services import job_create
from tests.conftest import PASSWORD
from tests.fabjobs.once import computed_once

__all__ = ["computed_once"]  # a fixture

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
# What passes is not told one by one, and no style sheet is fetched anew: there are none from elsewhere.
QUICK: dict[str, Any] = {"resultTypes": ["violations"], "preload": False}
OF_COLOURS = ("color-contrast", "link-in-text-block")  # of axe-core's usual rules
PATIENCE = 20_000  # [ms]; a plan under way beside a browser keeps an answer waiting on a slow machine

expect.set_options(timeout=PATIENCE)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        if os.environ.get("CI"):
            pytest.fail("no browser on the PATH: install chromium")
        pytest.skip("no browser on the PATH")
    # Playwright's loop runs in this thread; Django would take every query in it for one from async code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=found, args=ARGUMENTS)
        yield chromium
        chromium.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def forgiven() -> re.Pattern[str]:
    """What a browser may complain of. Tests that break something on purpose have their own."""
    return re.compile("(?!)")


@pytest.fixture
def open_page(browser: Browser, live_server: Any, forgiven: re.Pattern[str]) -> Iterator[Callable[..., Page]]:
    """Opens a page of the app in a window of its own; a script error or a broken policy fails the test."""
    contexts, complaints = [], []

    def opened(path: str, *, width: int = 1280, cookies: list[Any] | None = None, **options: Any) -> Page:
        context = browser.new_context(viewport={"width": width, "height": 800}, base_url=live_server.url, **options)
        context.set_default_timeout(PATIENCE)
        contexts.append(context)
        if cookies:
            context.add_cookies(cookies)
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        page.goto(path)
        return page

    opened.complaints = complaints  # type: ignore[attr-defined]
    yield opened
    for context in contexts:
        context.close()
    assert [text for text in complaints if not forgiven.search(text)] == []


def forget_refusals(open_page: Any) -> None:
    """The browser logs each answer of 400 and over that a test asked for; whatever else it complained of stays."""
    open_page.complaints[:] = [
        words for words in open_page.complaints if not words.startswith("Failed to load resource")
    ]


def save_quickly(page: Page) -> None:
    """Saves the form of a new job with few tries at its layout: for tests of anything but that. The choice is folded away."""
    page.locator("#id_effort").evaluate(
        "(choice) => { choice.value = 'quick'; }"
    )  # no preview, which Save would cut off
    page.get_by_role("button", name="Save the job").click(timeout=60_000)


@pytest.fixture
def violations() -> Callable[..., list[str]]:
    """What axe-core finds wrong with a page, by all its usual rules or some: rule, element, and what would mend it."""

    def find(page: Page, *rules: str) -> list[str]:
        options = QUICK | ({"runOnly": {"type": "rule", "values": list(rules)}} if rules else {})
        found = Axe().run(page, options=options).response["violations"]
        return [
            f"{rule['id']}: {node['html'][:160]} - {node['failureSummary']}" for rule in found for node in rule["nodes"]
        ]

    return find


@pytest.fixture
def faults_either_way(violations: Callable[..., list[str]]) -> Callable[[Page], list[str]]:
    """What is wrong with a page that is light, and by the rules that hang on colours also once it is dark."""

    def find(page: Page) -> list[str]:
        page.emulate_media(color_scheme="dark", reduced_motion="reduce")  # no colour on its way to another
        found = violations(page, *OF_COLOURS)
        page.emulate_media(color_scheme="light")
        return found + violations(page)

    return find


@pytest.fixture
def job(live_server: Any, plan: calc.Plan) -> Job:
    """In place of the shared one, whose shop is rolled back under a live server."""
    late = (timezone.localtime() + timedelta(hours=6)).time()  # of no timer here the day ends while a test runs
    ShopSettings(pk=1, name="Hill Street Fabrication", day_end=late).save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    Person.objects.create_user("bo", password=PASSWORD, role="owner")
    return job_create(plan=plan, due_day=date(2031, 5, 9), by=owner)


@pytest.fixture
def as_person(live_server: Any) -> Callable[[str], list[dict[str, str]]]:
    """The cookie of someone signed in."""

    def cookies(name: str) -> list[dict[str, str]]:
        person, session = Person.objects.get(username=name), SessionStore()
        session[SESSION_KEY] = str(person.pk)
        session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
        session[HASH_SESSION_KEY] = person.get_session_auth_hash()
        session.save()
        return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]

    return cookies
