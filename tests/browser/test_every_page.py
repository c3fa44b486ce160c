"""What holds for every page: nothing axe-core objects to, nothing wider than a small phone, paper and ink by the system."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from playwright.sync_api import Browser, Page, expect

import calc
from fabjobs.models import Person, ShopSettings
from fabjobs.services import job_create, move_correct
from tests.browser.conftest import forget_refusals
from tests.conftest import FORM, PASSWORD
from tests.fabjobs.racked import TRIANGLE, offcut, sheets

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
RACK = ["/rack/", "/rack/?q=nothing", "/rack/1/", "/rack/2/", "/rack/buy/", "/rack/bought", "/rack/found"]
PAGES = ["/", "/jobs/", "/jobs/?q=nothing", "/jobs/new", "/jobs/1/", *RACK, "/nowhere"]
SMALL = """() => [...document.querySelectorAll("button, a, select, summary, input:not([type=hidden])")]
    .filter((e) => e.checkVisibility() && !e.closest("p, .hush, .skip, svg") && !e.matches(".hush, .skip"))
    .map((e) => e.matches("[type=radio], [type=checkbox]") ? e.closest("label, .tick") : e)
    .filter((e) => { const box = e.getBoundingClientRect(); return box.height < 44 || box.width < 44; })
    .map((e) => e.outerHTML.slice(0, 90))"""
LONG = "Coolant-and-swarf-tray-" * 5  # 115 signs without a space to break at


@pytest.fixture
def cookies(live_server: Any, plan: calc.Plan) -> list[dict[str, str]]:
    """A shop with two jobs, one of them with words that do not break; the cookie of someone signed in."""
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    job_create(plan=plan, due_day=date(2031, 5, 9), by=owner)
    second = job_create(plan=plan, due_day=date(2020, 1, 2), by=owner)
    second.title, second.customer, second.machine = LONG, LONG, LONG
    second.save()
    steel: dict[str, Any] = {"alloy": "DX51D+Z", "thickness": 1.2}  # no job's metal
    line = sheets(owner, place=LONG[:80], label=LONG[:40], **steel).moves.get()
    move_correct(move=line, reason=LONG, by=owner)
    offcut(owner, 600, 300, outline=TRIANGLE, area=90000.0, reason=LONG, **steel)
    session = SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]


def fill_in(page: Page) -> None:
    """On the form: a whole preview, a fault, the folded part open."""
    page.locator("summary").first.click()
    for name, value in FORM.items():
        field = page.locator(f"#id_{name}")
        if name not in ("corners", "rim_by"):
            field.select_option(value) if name in ("alloy", "effort") else field.fill(value)
    page.locator("#id_wanted_fall").fill("20")
    page.locator("#id_due_day").fill("2031-05-09")
    expect(page.locator("#preview .wanted")).to_be_visible()


def unfold(page: Page) -> None:
    """All that is folded away, however much."""
    page.evaluate("document.querySelectorAll('details').forEach((each) => each.setAttribute('open', ''))")


def test_what_is_wrong_in_the_dark_alone_is_found(
    browser: Browser, faults_either_way: Callable[[Page], list[str]]
) -> None:
    page = browser.new_page()
    shown = '<html lang="en"><title>Ink</title><main><h1>Ink</h1><p>on paper</p></main><style>{}</style>'
    page.set_content(shown.format("html { background: #fff; color: #000 }"))
    assert faults_either_way(page) == []
    pale = "html { background: #fff; color: #000 } @media (prefers-color-scheme: dark) { p { color: #ddd } }"
    page.set_content(shown.format(pale))
    assert [fault.split(":")[0] for fault in faults_either_way(page)] == ["color-contrast"]
    page.close()


def test_axe_core_finds_nothing_on_a_form_filled_in_and_words_without_a_break(
    open_page: Open,
    cookies: list[Any],
    faults_either_way: Callable[[Page], list[str]],
) -> None:
    """Of every page as it is opened: `test_every_route`."""
    page = open_page("/jobs/new", cookies=cookies)
    fill_in(page)
    unfold(page)
    assert faults_either_way(page) == []
    for path in ("/", "/jobs/", "/rack/", "/rack/1/"):
        page.goto(path)
        unfold(page)
        assert faults_either_way(page) == [], path


@pytest.mark.parametrize("path", ["/sign-in", "/set-up"])
def test_axe_core_finds_nothing_before_sign_in(
    open_page: Open, violations: Callable[[Page], list[str]], path: str
) -> None:
    if path == "/sign-in":
        Person.objects.create_superuser("edda", password=PASSWORD)
    page = open_page(path)
    assert page.url.endswith(path)
    assert violations(page) == []
    page.get_by_role("main").get_by_role("button").click()
    page.wait_for_selector(".fault:not(:empty)")
    assert violations(page) == []
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 422


def test_on_a_small_phone_nothing_is_too_wide_and_what_can_be_touched_is_large_enough(
    open_page: Open, cookies: list[Any]
) -> None:
    """What is touched in a drawing has the room that the drawing leaves it: `test_at_work` looks at that."""
    page = open_page("/me/", width=360, cookies=cookies)
    wide, small = {}, {}
    for path in [*PAGES, "/jobs/2/"]:
        page.goto(path)
        small[path] = page.evaluate(SMALL)
        if path == "/jobs/new":
            fill_in(page)
        unfold(page)
        wide[path] = page.evaluate("document.documentElement.scrollWidth")
    assert {path: width for path, width in wide.items() if width > 360} == {}
    assert {path: found for path, found in small.items() if found} == {}
    forget_refusals(open_page)
