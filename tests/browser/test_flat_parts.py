"""A set of flat parts as a person types it: one by its corners, one by sides and angles, to the page of its job."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from fabjobs.models import Revision
from tests.browser.conftest import save_quickly
from tests.browser.test_folding import cookies, narrow_enough

__all__ = ["cookies"]  # a fixture
pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
GUSSET = [(0, 0), (140, 0), (140, 20), (20, 140), (0, 140)]


def type_parts(page: Page) -> None:
    """A gusset by its corners, a stay by sides and angles."""
    page.get_by_label("flat parts", exact=True).check()
    page.locator("#id_title").fill("Guard plates")
    page.locator("#id_thickness").fill("2")
    page.locator("#id_part_0_name").fill("gusset")
    page.locator("#id_part_0_count").fill("4")
    page.locator("#add-corner-0").click()
    expect(page.locator("#id_part_0_corner_4_x")).to_be_visible()
    for place, (x, y) in enumerate(GUSSET):
        page.locator(f"#id_part_0_corner_{place}_x").fill(str(x))
        page.locator(f"#id_part_0_corner_{place}_y").fill(str(y))
    page.locator("#add-part").click()
    page.locator("#id_part_1_name").fill("stay")
    page.get_by_role("group", name="Part 2").get_by_label("sides and angles").check()
    expect(page.locator("#id_part_1_corner_0_x")).to_be_hidden()
    page.locator("#remove-side-1-2").click()
    expect(page.locator("#id_part_1_side_2")).to_have_count(0)
    for name, value in (("side_0", "300"), ("side_1", "400"), ("angle_0", "90")):
        page.locator(f"#id_part_1_{name}").fill(value)


def test_from_the_form_to_the_page_of_the_job(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", cookies=cookies)
    type_parts(page)
    picture = page.locator("#picture")
    expect(picture.locator('[data-field="part-1-name"]')).to_contain_text("gusset")
    # the side that closes three and four hundred at a right angle (Euclid I.47); the gusset's slope
    expect(picture).to_contain_text(str(round(math.hypot(300, 400))))
    expect(picture).to_contain_text("169.5")  # 120 times the root of 2, to half a millimetre
    expect(page.locator("#preview")).to_contain_text("2 to mark out")
    expect(page.locator("#sum")).to_contain_text("5 blanks")
    save_quickly(page)
    expect(page.get_by_role("heading", name="Guard plates")).to_be_visible()
    expect(page.locator("dl").first).to_contain_text("in a set")
    for word in ("Least fall", "Welding.", "Filler"):
        expect(page.locator("main")).not_to_contain_text(word)
    shape = Revision.objects.latest("pk").sheet["shape"]
    assert [part["count"] for part in shape["parts"]] == [4, 1]
    assert shape["parts"][1]["outline"] == {"sides": [300.0, 400.0], "angles": [90.0]}


def test_a_fault_stands_beside_its_field_and_the_part_goes(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/new", cookies=cookies)
    type_parts(page)
    page.locator("#id_part_1_name").fill("GUSSET")
    page.get_by_role("button", name="Work it out").last.click()
    expect(page.locator("#fault-part_1_name")).to_contain_text("name of an earlier part")
    page.locator("#remove-part-0").click()
    expect(page.locator("#id_part_1_name")).to_have_count(0)
    expect(page.locator("#id_part_0_name")).to_have_value("GUSSET")
    expect(page.locator("#id_part_0_side_1")).to_have_value("400")


def test_axe_core_finds_nothing_and_a_phone_is_wide_enough(
    open_page: Open, cookies: list[Any], violations: Callable[[Page], list[str]]
) -> None:
    page = open_page("/jobs/new", cookies=cookies, width=360)
    type_parts(page)
    expect(page.locator("#sum")).to_contain_text("5 blanks")
    assert violations(page) == []
    assert narrow_enough(page)
    save_quickly(page)
    expect(page.get_by_role("heading", name="Guard plates")).to_be_visible()
    assert violations(page) == []
    assert narrow_enough(page)
