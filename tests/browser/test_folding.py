"""Pans and folds as a person makes them: the family chosen, a pan saved, a tray folded by one tap."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.core.cache import cache
from playwright.sync_api import Page, expect

import calc
from fabjobs.models import Person, Revision, ShopSettings
from fabjobs.services import job_create
from tests.browser.conftest import save_quickly
from tests.conftest import PASSWORD
from tests.fabjobs.test_joins import STANDING

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
FALLING = {"family": "pan", "length": 400, "width": 250, "height": 60, "fall": 6, "return_width": 20}
PAN = {"title": "Swarf pan", "thickness": "2", "length": "420", "width": "265", "height": "55", "return_width": "18"}


@pytest.fixture
def cookies(live_server: Any) -> list[dict[str, str]]:
    """A shop with a standing tray, every seam of it welded, and a pan with returns; the cookie of someone signed in."""
    cache.clear()
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    job_create(plan=calc.plan(STANDING), due_day=date(2031, 5, 9), by=owner)
    job_create(plan=calc.plan({**STANDING, "title": "Falling pan", "shape": FALLING}), due_day=None, by=owner)
    session = SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]


def of_the_tray() -> list[Revision]:
    return list(Revision.objects.filter(fabrication__job__number=1).order_by("number"))


def fill_pan(page: Page) -> None:
    for name, value in PAN.items():
        page.locator(f"#id_{name}").fill(value)


def narrow_enough(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth") <= 360)


def test_a_new_pan_from_the_form_to_the_page_of_its_job(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", cookies=cookies)
    page.locator("#id_corner_0_x").fill("12")
    page.get_by_label("pan", exact=True).check()
    expect(page.locator("#id_corner_0_x")).to_have_count(0)
    expect(page.get_by_label("pan", exact=True)).to_be_focused()
    fill_pan(page)
    expect(page.locator('#picture [data-field="return-width"]')).to_contain_text("18")
    # inside: 416 x 261 x 53, from 420 x 265 x 55 outside in 2 mm
    expect(page.locator("#preview")).to_contain_text(f"{416 * 261 * 53 / 1e6:.1f} litres")
    page.get_by_label("fall tray", exact=True).check()
    expect(page.locator("#id_corner_0_x")).to_have_value("12")
    page.get_by_label("pan", exact=True).check()
    expect(page.locator("#id_return_width")).to_have_value("18")
    save_quickly(page)
    expect(page.get_by_role("heading", name="Swarf pan")).to_be_visible()
    expect(page.locator("dl").first).to_contain_text("Return width")
    expect(page.get_by_role("heading", name="Fold", exact=True)).to_be_visible()
    expect(page.locator("#joins")).to_have_count(0)


def test_what_is_typed_while_the_other_family_is_fetched_is_kept(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", cookies=cookies)
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    page.route("**/jobs/new/ask", hold)
    page.clock.install()
    with page.expect_request("**/jobs/new/ask"):
        page.get_by_label("pan", exact=True).check()
    page.locator("#id_thickness").fill("2")
    page.locator("#id_title").fill("Swarf pan")
    page.clock.run_for(700)  # a preview goes off after 400 ms
    held[0].continue_()
    expect(page.locator("#id_return_width")).to_be_visible()
    expect(page.locator("#id_thickness")).to_have_value("2")
    expect(page.locator("#id_title")).to_have_value("Swarf pan")
    expect(page.locator("#preview")).to_contain_text("Still to give: Length, Width, Height.")


def test_the_field_in_hand_lights_its_figure_of_the_pan(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", cookies=cookies)
    page.get_by_label("pan", exact=True).check()
    fill_pan(page)
    page.locator("#id_height").focus()
    expect(page.locator("#picture .lit")).to_have_attribute("data-field", "height")


def test_only_the_sizes_of_the_chosen_rim_are_asked_for(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", cookies=cookies)
    lap, upstand, radius = (page.locator(f"#id_{name}") for name in ("lap_width", "upstand_height", "rim_radius"))
    expect(lap).to_be_hidden()
    expect(radius).to_be_hidden()
    page.get_by_label("lap on the bench").check()
    expect(lap).to_be_visible()
    expect(upstand).to_be_hidden()
    page.get_by_label("upstand", exact=True).check()
    expect(lap).to_be_hidden()
    expect(upstand).to_be_visible()
    expect(radius).to_be_visible()


def test_one_tap_folds_what_can_be_folded_and_the_weld_falls(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/1/", cookies=cookies)
    page.locator("#joins").scroll_into_view_if_needed()
    expect(page.locator("#joins table")).to_be_visible()
    page.locator("#joins").get_by_role("button", name="Fold what can be folded").click()
    expect(page.locator(".block")).to_contain_text("Revision2")
    before, after = (revision.plan["takeoff"]["weld_length"] for revision in of_the_tray())
    assert after < before
    expect(page.locator("#takeoff + dl")).to_contain_text(f"Weld{after / 1000:.1f} m")
    expect(page.locator(".revisions")).to_contain_text("Joins: fold what can be folded")


def test_taken_on_an_old_page_it_is_told_in_its_place(open_page: Open, cookies: list[Any]) -> None:
    page, other = (open_page("/jobs/1/", cookies=cookies) for _ in range(2))
    for tab in (page, other):
        tab.locator("#joins").scroll_into_view_if_needed()
        expect(tab.locator("#joins table")).to_be_visible()
    other.locator("#joins").get_by_role("button", name="Fold what can be folded").click()
    expect(other.locator(".block")).to_contain_text("Revision2")  # only then is the first page an old one
    page.locator("#joins").get_by_role("button", name="Fold what can be folded").click()
    expect(page.locator("#joins [role=alert]")).to_contain_text("edda saved revision 2")
    expect(page.locator("#joins")).to_contain_text("from revision 2")
    assert len(of_the_tray()) == 2
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 409


def test_without_a_script_it_is_all_done_by_buttons(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", cookies=cookies, java_script_enabled=False)
    page.get_by_label("pan", exact=True).check()
    page.get_by_role("button", name="Ask for its measurements").click()
    fill_pan(page)
    save_quickly(page)
    expect(page.get_by_role("heading", name="Swarf pan")).to_be_visible()
    page.goto("/jobs/1/")
    page.get_by_role("link", name="Weld or fold").click()
    page.get_by_role("button", name="Fold what can be folded").click()
    expect(page.locator(".block")).to_contain_text("Revision2")
    assert of_the_tray()[-1].reason == "Joins: fold what can be folded"


def test_axe_core_finds_nothing(
    open_page: Open,
    cookies: list[Any],
    faults_either_way: Callable[[Page], list[str]],
) -> None:
    page = open_page("/jobs/new", cookies=cookies)
    page.get_by_label("lap on the bench").check()
    assert faults_either_way(page) == []
    page.get_by_label("pan", exact=True).check()
    fill_pan(page)
    expect(page.locator("#preview")).to_contain_text("litres")
    assert faults_either_way(page) == []
    page.goto("/jobs/1/")
    page.locator("#joins").scroll_into_view_if_needed()
    expect(page.locator("#joins table")).to_be_visible()
    assert faults_either_way(page) == []
    for path in ("/jobs/1/joins/", "/jobs/2/", "/jobs/2/change"):
        page.goto(path)
        assert faults_either_way(page) == [], path
    page.goto("/settings/")
    assert faults_either_way(page) == []


def test_nothing_is_wider_than_a_small_phone(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", width=360, cookies=cookies)
    page.get_by_label("lap on the bench").check()
    assert narrow_enough(page)
    page.get_by_label("pan", exact=True).check()
    fill_pan(page)
    expect(page.locator("#preview")).to_contain_text("litres")
    assert narrow_enough(page)
    save_quickly(page)
    expect(page.get_by_role("heading", name="Swarf pan")).to_be_visible()
    assert narrow_enough(page)
    for path in ("/jobs/1/", "/jobs/1/joins/", "/jobs/2/change", "/settings/"):
        page.goto(path)
        if path == "/jobs/1/":
            page.locator("#joins").scroll_into_view_if_needed()
            expect(page.locator("#joins table")).to_be_visible()
        assert narrow_enough(page), path
