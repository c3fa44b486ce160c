"""A welded tray measured and let into its bench, as a person does it: a wrong figure told, mended, the opening set out."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from playwright.sync_api import Page, expect

import calc
from fabjobs.models import Aperture, AsBuilt, Person, ShopSettings
from fabjobs.services import job_create
from tests.conftest import PASSWORD, SHEET

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
# The tray of the tests as a tape of half a millimetre gives it; see tests/fabjobs/test_as_built.py
TAPED = {
    "Side 1–2": "812", "Side 2–3": "382.5", "Side 3–4": "811", "Side 4–1": "402", "Diagonal 1–3": "887.5",
    "Diagonal 2–4": "914.5", "Depth below the rim": "48",
}  # fmt: skip
PAGES = ["/jobs/1/", "/jobs/1/as-built/1/", "/jobs/1/as-built/2/", "/jobs/1/aperture/1/", "/jobs/1/shrinkage/"]


@pytest.fixture
def cookies(live_server: Any) -> list[dict[str, str]]:
    """A job of two trays, and the cookie of someone signed in."""
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    job_create(plan=calc.plan({**SHEET, "quantity": 2}), due_day=date(2031, 5, 9), by=owner)
    session = SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]


def type_sizes(page: Page, **change: str) -> None:
    for label, typed in {**TAPED, **change}.items():
        page.get_by_label(label, exact=True).fill(typed)


def keep(page: Page) -> None:
    page.get_by_role("button", name="Keep what was measured").click()


def set_out(page: Page) -> None:
    for name, typed in {"from_end": "150", "from_edge": "80", "from_edge_next": "80"}.items():
        page.locator(f"#id_aperture_{name}").fill(typed)
    page.get_by_role("button", name="Set the opening out").click()


@pytest.mark.parametrize("script", [True, False], ids=["htmx", "no script"])
def test_from_the_step_to_the_opening(open_page: Open, cookies: list[Any], script: bool) -> None:
    page = open_page("/jobs/1/", width=360, cookies=cookies, java_script_enabled=script)
    page.get_by_role("link", name="Write it down").click()
    type_sizes(page, **{"Diagonal 1–3": "872.5"})
    keep(page)
    expect(page.locator(".looks-wrong")).to_contain_text("Diagonal 1–3")
    field = page.get_by_label("Diagonal 1–3", exact=True)
    expect(field).to_have_value("")
    field.fill("887.5")
    keep(page)
    expect(page.locator(".verdict")).to_contain_text("✓ Within ISO 13920 class B")
    expect(page.locator(".looks-wrong")).to_have_count(0)
    expect(page.get_by_role("heading", name="Measured before")).to_be_visible()
    assert AsBuilt.objects.count() == 2

    page.goto("/jobs/1/#fit")
    expect(page.locator("#fit").locator("..")).to_contain_text("1 of 2 measured.")
    page.get_by_role("link", name="Its opening in the bench").click()
    set_out(page)
    expect(page.get_by_role("link", name="Sheet for the bench (PDF)")).to_be_visible()
    expect(page.locator("#opening table").first).to_contain_text("radius 3 mm left there clears the tray")
    assert Aperture.objects.get().from_end == 150


def test_a_fault_stands_at_its_field_and_what_was_typed_stays(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/1/as-built/1/", cookies=cookies)
    type_sizes(page, **{"Side 2–3": "38"})
    keep(page)
    expect(page.locator("#id_as_built_side-2-3_error")).not_to_be_empty()
    expect(page.get_by_label("Side 4–1", exact=True)).to_have_value("402")
    assert not AsBuilt.objects.exists()
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 422


def test_axe_core_finds_nothing_nor_is_anything_wider_than_a_small_phone(
    open_page: Open,
    cookies: list[Any],
    faults_either_way: Callable[[Page], list[str]],
) -> None:
    page = open_page("/jobs/1/as-built/1/", width=360, cookies=cookies)
    type_sizes(page, **{"Diagonal 1–3": "872.5"})
    keep(page)
    expect(page.locator(".looks-wrong")).to_be_visible()
    page.goto("/jobs/1/aperture/1/")
    set_out(page)
    expect(page.locator(".must-not").first).to_be_visible()
    for path in PAGES:
        page.goto(path)
        page.evaluate("document.querySelectorAll('details').forEach((each) => each.setAttribute('open', ''))")
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, path
        assert faults_either_way(page) == [], path
        small = page.evaluate(
            """() => [...document.querySelectorAll("main :is(button, a, select, summary, input:not([type=hidden]))")]
            .filter((e) => e.checkVisibility() && !e.closest("p:not(.links), .hush, svg") && !e.matches(".hush"))
            .filter((e) => { const box = e.getBoundingClientRect(); return box.height < 44 || box.width < 44; })
            .map((e) => e.outerHTML.slice(0, 90))"""
        )
        assert small == [], path
