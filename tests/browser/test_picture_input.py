"""A drawing to type into, on a phone and on a desk: each figure goes into its dimension line, the sums come as one types."""

from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.core.cache import cache
from playwright.sync_api import Page, expect

from fabjobs.models import Person, Revision, ShopSettings
from tests.browser.conftest import save_quickly
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
PHONE, DESK = 360, 1280
# a rectangle 600 x 400, by tape: its diagonals are sqrt(600^2 + 400^2) = 721.11
TAPE = {"side_0": "600", "side_1": "400", "side_2": "600", "side_3": "400", "diagonal_0": "721", "diagonal_1": "721"}
ENDS = {"valley_0_x": "200", "valley_0_y": "200", "valley_1_x": "400", "valley_1_y": "200"}
DEPTHS = {"valley_0_depth": "40", "valley_1_depth": "60", "bore": "32"}
PAN = {"length": "420", "width": "265", "height": "55", "return_width": "18"}
JOB = {"title": "Long tray", "thickness": "2"}


@pytest.fixture
def cookies(live_server: Any) -> list[dict[str, str]]:
    """A shop without a job; the cookie of someone signed in."""
    cache.clear()
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    session = SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]


def choose(page: Page, family: str) -> None:
    page.get_by_label(family, exact=True).check()
    expect(page.locator({"valley tray": "#id_valley_0_x", "pan": "#id_return_width"}[family])).to_be_visible()


def fill(page: Page, fields: dict[str, str]) -> None:
    for name, value in fields.items():
        page.locator(f"#id_{name}").fill(value)


def is_narrow_enough(page: Page) -> bool:
    return bool(page.evaluate("document.scrollingElement.scrollWidth") <= PHONE)


def overlapping(page: Page) -> list[str]:
    """Pairs of fields on drawings that lie over each other, and fields lower than a finger needs."""
    found: list[str] = page.evaluate(
        """() => {
          const seen = [...document.querySelectorAll(".typed-in input")].filter((input) => input.offsetParent);
          const boxes = seen.map((input) => [input.name, input.getBoundingClientRect()]);
          const low = boxes.filter(([, box]) => box.height < 44 || box.width < 44).map(([name]) => name);
          return low.concat(boxes.flatMap(([one, a], place) => boxes.slice(place + 1)
            .filter(([, b]) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1)
            .map(([other]) => `${one} over ${other}`)));
        }"""
    )
    return found


def test_a_whole_valley_tray_is_typed_into_its_drawing_on_a_phone(
    open_page: Open, cookies: list[Any], violations: Callable[[Page], list[str]]
) -> None:
    page = open_page("/jobs/new", width=PHONE, cookies=cookies)
    choose(page, "valley tray")
    page.get_by_label("four sides and both diagonals").check()
    fill(page, JOB | TAPE | ENDS | DEPTHS)
    page.get_by_label("lap on the bench").check()
    fill(page, {"lap_width": "25"})
    # the valley drops 20 on 200
    expect(page.locator("#preview")).to_contain_text("1 in 10.0")
    expect(page.locator('#picture [data-field="valley-2-depth"]')).to_contain_text("60")
    assert is_narrow_enough(page)
    assert overlapping(page) == []
    assert violations(page) == []
    save_quickly(page)
    expect(page.get_by_role("heading", name="Long tray")).to_be_visible()
    assert is_narrow_enough(page)
    shape = Revision.objects.get().sheet["shape"]
    assert shape["valley"] == [[200, 200, 40], [400, 200, 60]]
    assert shape["rim"] == {"sides": [600, 400, 600, 400], "diagonals": [721, 721]}


def test_a_whole_pan_is_typed_into_its_drawing_on_a_phone(
    open_page: Open, cookies: list[Any], violations: Callable[[Page], list[str]]
) -> None:
    page = open_page("/jobs/new", width=PHONE, cookies=cookies)
    choose(page, "pan")
    fill(page, JOB | PAN)
    # inside: 416 x 261 x 53, from 420 x 265 x 55 outside in 2 mm
    expect(page.locator("#preview")).to_contain_text(f"{416 * 261 * 53 / 1e6:.1f} litres")
    assert is_narrow_enough(page)
    assert overlapping(page) == []
    assert violations(page) == []
    save_quickly(page)
    expect(page.get_by_role("heading", name="Long tray")).to_be_visible()
    assert is_narrow_enough(page)


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_a_fall_tray_either_way_measured(
    open_page: Open,
    cookies: list[Any],
    faults_either_way: Callable[[Page], list[str]],
    width: int,
) -> None:
    page = open_page("/jobs/new", width=width, cookies=cookies)
    expect(page.locator("#id_side_0")).to_be_hidden()
    expect(page.locator("#id_low_x")).to_be_visible()
    page.get_by_label("upstand", exact=True).check()
    page.locator("#add-keep").click()
    expect(page.locator("#id_keep_0_x")).to_be_visible()
    for way in ("corners", "four sides and both diagonals"):
        page.get_by_label(way, exact=True).check()
        assert overlapping(page) == []
        assert faults_either_way(page) == []
        assert page.evaluate("document.scrollingElement.scrollWidth") <= width
    expect(page.locator("#id_corner_0_x")).to_be_hidden()
    expect(page.locator("#id_diagonal_1")).to_be_visible()


def test_a_way_of_measuring_chosen_while_the_family_is_fetched_is_kept(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", width=PHONE, cookies=cookies)
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    page.route("**/jobs/new/ask", hold)
    page.clock.install()
    with page.expect_request("**/jobs/new/ask"):
        page.get_by_label("valley tray", exact=True).check()
    page.get_by_label("four sides and both diagonals").check()
    page.clock.run_for(700)  # a preview goes off after 400 ms
    held[0].continue_()
    expect(page.locator("#id_valley_0_x")).to_be_visible()
    expect(page.get_by_label("four sides and both diagonals")).to_be_checked()
    expect(page.locator("#id_side_0")).to_be_visible()


def test_tab_goes_round_the_drawing(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", width=PHONE, cookies=cookies)
    page.get_by_label("four sides and both diagonals").check()
    page.locator("#id_side_0").focus()
    for name in ("side_1", "side_2", "side_3", "diagonal_0", "diagonal_1", "low_x", "low_y"):
        page.keyboard.press("Tab")
        expect(page.locator(f"#id_{name}")).to_be_focused()


def test_a_fault_stands_under_the_drawing_and_typing_keeps_its_field(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", width=PHONE, cookies=cookies)
    choose(page, "pan")
    fill(page, JOB | PAN)
    height = page.locator("#id_height")
    height.fill("")
    height.press_sequentially("-45")
    fault = page.locator("#fault-height")
    expect(fault).to_contain_text("must be more than 0 mm")
    expect(fault).to_be_visible()
    assert fault.evaluate("it => getComputedStyle(it, '::before').content") == '"Height: "'
    expect(height).to_have_attribute("aria-describedby", "fault-height")
    expect(height).to_have_attribute("aria-invalid", "true")
    expect(height).to_be_focused()
    height.press("Home")
    height.press("Delete")
    expect(fault).to_be_empty()
    expect(page.locator("#preview")).to_contain_text("litres")
    expect(height).to_be_focused()
    expect(height).to_have_value("45")


def test_without_a_script_rows_come_and_go_and_a_valley_tray_is_saved(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", width=PHONE, cookies=cookies, java_script_enabled=False)
    page.get_by_label("valley tray", exact=True).check()
    page.get_by_role("button", name="Ask for its measurements").click()
    page.get_by_label("four sides and both diagonals").check()
    for _ in range(2):
        page.locator("#add-keep").click()
    fill(page, JOB | TAPE | ENDS | DEPTHS)
    fill(page, {"keep_1_x": "20", "keep_1_y": "30", "keep_1_length": "40", "keep_1_width": "50", "keep_1_name": "leg"})
    page.locator("#remove-keep-0").click()
    expect(page.locator("#id_keep_0_name")).to_have_value("leg")
    save_quickly(page)
    expect(page.get_by_role("heading", name="Long tray")).to_be_visible()
    (rectangle,) = Revision.objects.get().sheet["shape"]["keep_clear"]
    assert rectangle == {"at": [20, 30], "length": 40, "width": 50, "name": "leg"}
