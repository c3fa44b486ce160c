"""The main job as a person does it: claim the shop, measure, look, save, print."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from fabjobs.models import Job, Person, SetUpCode, ShopSettings
from tests.browser.conftest import save_quickly
from tests.conftest import FORM, PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
TYPED = ("title", "customer", "machine", "due_day", "thickness", "low_x", "low_y", "depth", "bore")


@pytest.fixture
def signed_in_page(open_page: Open) -> Page:
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    Person.objects.create_superuser("edda", password=PASSWORD)
    page = open_page("/")
    page.get_by_label("Username").fill("edda")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="In hand")).to_be_visible()
    return page


def measure(page: Page) -> None:
    for name in (*TYPED, *(f"corner_{corner}_{axis}" for corner in range(4) for axis in "xy")):
        page.locator(f"#id_{name}").fill(FORM[name])


def test_from_a_new_shop_to_a_printed_traveller(open_page: Open) -> None:
    code = SetUpCode.renew()
    page = open_page("/")
    page.get_by_label("Set-up code").fill(code.lower())
    page.get_by_label("Name of the shop").fill("Hill Street Fabrication")
    page.get_by_label("Your sign-in name").fill("edda")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_label("Password once more").fill(PASSWORD)
    page.get_by_role("button", name="Make it mine").click()
    page.get_by_role("main").get_by_role("link", name="New job").last.click()
    measure(page)
    # Litres of a pyramid: the rim's area by the shoelace formula x 48 / 3.
    expect(page.locator("#preview")).to_contain_text("5.1 litres")
    expect(page.locator("#preview")).to_contain_text("4 to mark out")
    save_quickly(page)
    expect(page.get_by_role("heading", name="Coolant tray")).to_be_visible()
    with page.expect_response("**/traveller.pdf") as answered:
        page.evaluate("fetch('/jobs/1/traveller.pdf')")
    answer = answered.value
    assert (answer.status, answer.headers["content-type"]) == (200, "application/pdf")
    page.get_by_role("link", name="In hand").click()
    expect(page.get_by_role("link", name="Coolant tray")).to_be_visible()


def test_the_label_of_the_field_in_hand_lights_up_and_leads_back_to_it(signed_in_page: Page) -> None:
    page = signed_in_page
    page.goto("/jobs/new")
    measure(page)
    expect(page.locator('#picture [data-field="corner-3-x"]')).to_contain_text("797")
    page.locator("#id_corner_2_x").focus()
    expect(page.locator("#picture .lit")).to_have_count(1)
    expect(page.locator("#picture .lit")).to_have_attribute("data-field", "corner-3-x")
    page.locator('#picture [data-field="depth"]').click()
    expect(page.locator("#id_depth")).to_be_focused()


def test_a_fault_comes_and_goes_beside_its_field_while_typing(signed_in_page: Page) -> None:
    page = signed_in_page
    page.goto("/jobs/new")
    measure(page)
    low = page.locator("#id_low_x")
    low.fill("2000")
    expect(page.locator("#fault-low_x")).to_contain_text("must lie inside the rim")
    expect(low).to_have_attribute("aria-invalid", "true")
    expect(low).to_be_focused()
    low.fill("547")
    expect(page.locator("#fault-low_x")).to_be_empty()
    expect(low).to_have_attribute("aria-invalid", "false")
    expect(page.locator("#preview")).to_contain_text("litres")


def test_corners_are_added_and_taken_out_without_losing_what_was_typed(signed_in_page: Page) -> None:
    page = signed_in_page
    page.goto("/jobs/new")
    measure(page)
    page.get_by_role("button", name="One corner more").click()
    expect(page.locator("#id_corner_4_x")).to_be_visible()
    page.get_by_role("button", name="Take corner 2 out").click()
    expect(page.locator("#id_corner_4_x")).to_have_count(0)
    expect(page.locator("#id_corner_1_x")).to_have_value("797")
    expect(page.locator("#id_title")).to_have_value("Coolant tray")
    expect(page.locator("form.bench")).to_have_count(1)


def test_four_sides_and_both_diagonals(signed_in_page: Page) -> None:
    page = signed_in_page
    page.goto("/jobs/new")
    expect(page.get_by_label("Side 1")).to_be_hidden()
    page.get_by_label("four sides and both diagonals").check()
    expect(page.get_by_label("Corner 1, x")).to_be_hidden()
    # a 3-4-5 rectangle: its diagonals follow from its sides
    for label, value in {"Side 1": "800", "Side 2": "600", "Side 3": "800", "Side 4": "600"}.items():
        page.get_by_label(label).fill(value)
    for label in ("Diagonal 1 to 3", "Diagonal 2 to 4"):
        page.get_by_label(label).fill("1000")
    for name, value in {"low_x": "500", "low_y": "200", "depth": "50", "thickness": "2"}.items():
        page.locator(f"#id_{name}").fill(value)
    expect(page.locator("#preview")).to_contain_text("8.0 litres")  # 800 x 600 x 50 / 3


def test_enter_works_the_figures_out_and_takes_no_corner_away(signed_in_page: Page) -> None:
    page = signed_in_page
    page.goto("/jobs/new")
    measure(page)
    page.locator("#id_depth").press("Enter")
    page.wait_for_url("**/jobs/new/preview")
    expect(page.locator("#id_corner_3_x")).to_have_value("-14")
    expect(page.locator("#preview")).to_contain_text("litres")
    assert not Job.objects.exists()


def test_without_a_script_the_whole_job_is_done_by_buttons(open_page: Open, signed_in_page: Page) -> None:
    cookies = signed_in_page.context.cookies()
    page = open_page("/jobs/new", cookies=cookies, java_script_enabled=False)
    page.get_by_role("button", name="One corner more").click()
    page.get_by_role("button", name="Take corner 5 out").click()
    measure(page)
    page.get_by_role("button", name="Work it out").last.click()
    expect(page.locator("#preview")).to_contain_text("5.1 litres")
    save_quickly(page)
    expect(page.get_by_role("heading", name="Coolant tray")).to_be_visible()


def test_two_quick_taps_on_save_make_one_job(signed_in_page: Page) -> None:
    page = signed_in_page
    page.goto("/jobs/new")
    measure(page)
    page.locator("#save").dblclick()
    expect(page.get_by_role("heading", name="Coolant tray")).to_be_visible()
    assert Job.objects.count() == 1


def test_an_ended_session_leads_to_sign_in_instead_of_a_page_within_the_page(signed_in_page: Page) -> None:
    page = signed_in_page
    page.goto("/jobs/new")
    page.context.clear_cookies(name="sessionid")
    page.locator("#id_depth").fill("40")
    page.wait_for_url("**/sign-in?next=/jobs/new")


def test_an_answer_that_does_not_come_is_told(signed_in_page: Page, open_page: Open) -> None:
    page = signed_in_page
    page.goto("/jobs/new")
    expect(page.locator("#trouble")).to_be_hidden()
    page.context.set_offline(True)
    page.locator("#id_depth").fill("40")
    expect(page.locator("#trouble")).to_contain_text("does not answer")
    page.context.set_offline(False)
    page.locator("#id_depth").fill("41")
    expect(page.locator("#trouble")).to_be_hidden()
    page.route("**/preview", lambda route: route.fulfill(status=500, body="broken"))
    page.locator("#id_depth").fill("42")
    expect(page.locator("#trouble")).to_contain_text("did not go through")
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs what this test breaks on purpose
