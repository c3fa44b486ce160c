"""The rack as a person uses it: sheets bought, an offcut typed in by its sides, found again, counted, labelled."""

from collections.abc import Callable
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import Page, expect

from fabjobs.models import Form, Person, ShopSettings, Step, StockItem, StockMove
from tests.browser.conftest import save_quickly
from tests.browser.test_tape_to_review import REST, TAPE
from tests.conftest import PASSWORD
from tests.fabjobs.racked import offcut

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]


@pytest.fixture
def signed_in_page(open_page: Open) -> Page:
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    Person.objects.create_superuser("edda", password=PASSWORD)
    return sign_in(open_page("/"))


def sign_in(page: Page) -> Page:
    page.get_by_label("Username").fill("edda")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="In hand")).to_be_visible()
    return page


def test_from_a_purchase_to_a_pieces_page(signed_in_page: Page) -> None:
    page = signed_in_page
    page.get_by_role("link", name="Rack", exact=True).click()
    expect(page.get_by_text("The rack is empty.")).to_be_visible()
    page.get_by_role("main").get_by_role("link", name="Sheets bought").first.click()
    for label, typed in {"How many": "4", "Thickness": "1.5", "Label": "S1", "Length": "2500", "Width": "1250"}.items():
        page.get_by_label(label, exact=True).fill(typed)
    page.get_by_label("Price each").fill("96.00")
    page.get_by_role("button", name="Put on the rack").click()
    expect(page.get_by_role("heading", name="R1")).to_be_visible()
    expect(page.locator(".plate svg")).to_contain_text("2500")
    expect(page.locator(".figures .first dd")).to_have_text("4")
    page.get_by_text("Scrap", exact=True).click()
    page.locator("#id_scrap_reason").fill("Bent in the rack")
    page.get_by_role("button", name="Scrap it").click()
    expect(page.locator(".figures .first dd")).to_have_text("3")
    row = page.get_by_role("row", name="Bent in the rack")
    row.locator("summary").click()
    row.get_by_label("Why it is wrong").fill("Straight after all")
    row.get_by_role("button", name="Strike it out").click()
    expect(page.locator(".figures .first dd")).to_have_text("4")
    expect(page.locator("tr.struck")).to_contain_text("Straight after all")


def test_an_offcut_is_drawn_while_its_sides_are_typed(signed_in_page: Page) -> None:
    page = signed_in_page
    page.goto("/rack/found")
    page.get_by_label("Place", exact=True).fill("Shelf 2")
    page.get_by_role("button", name="4 sides").click()
    expect(page.get_by_label("Place", exact=True)).to_have_value("Shelf 2")
    sides = {"Side 1-2": "500", "Side 2-3": "1300", "Side 3-4": "1600", "Side 4-1": "2000"}
    for label, typed in sides.items():
        page.get_by_label(label, exact=True).fill(typed)
    page.get_by_label("Diagonal 1-3", exact=True).fill("1900")
    expect(page.locator("#outline")).to_contain_text("Diagonal 1-3: makes no triangle with side 1 and side 2")
    page.get_by_label("Diagonal 1-3", exact=True).fill("1200")
    expect(page.locator("#outline svg")).to_contain_text("1300")
    page.get_by_label("Thickness").fill("1.5")
    page.get_by_role("button", name="Put on the rack").last.click()
    expect(page.get_by_role("heading", name="R1")).to_be_visible()
    assert StockItem.objects.get().area == pytest.approx(1.26e6, abs=1)  # a hundred times 5, 13, 16, 20 on 12: 126


def test_return_in_a_field_puts_it_on_the_rack(signed_in_page: Page) -> None:
    page = signed_in_page
    page.goto("/rack/found")
    for label, typed in {"Thickness": "1.5", "Width": "300", "Length": "600"}.items():
        page.get_by_label(label, exact=True).fill(typed)
    page.get_by_label("Length", exact=True).press("Enter")
    expect(page.get_by_role("heading", name="R1")).to_be_visible()


def test_a_search_narrows_the_list_as_one_types(signed_in_page: Page) -> None:
    by = Person.objects.get()
    for place in ("By the window", "Shelf 2"):
        offcut(by, place=place)
    offcut(by, 1500, 700, place="Back wall")
    page = signed_in_page
    page.goto("/rack/")
    expect(page.locator(".pieces li")).to_have_count(3)
    page.get_by_label("Find a number, metal, place or job").press_sequentially("window")
    expect(page.locator(".pieces li")).to_have_count(1)
    page.get_by_label("Find a number, metal, place or job").fill("")
    expect(page.locator(".pieces li")).to_have_count(3)
    page.get_by_text("By metal and size").click()
    page.get_by_label("Over all, length at least").fill("900")
    page.get_by_label("Over all, length at least").press("Tab")
    expect(page.locator(".pieces li")).to_have_count(1)
    expect(page.locator(".pieces")).to_contain_text("R3")


def test_without_javascript_all_of_it_works(open_page: Open) -> None:
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    Person.objects.create_superuser("edda", password=PASSWORD)
    page = sign_in(open_page("/", java_script_enabled=False, width=360))
    page.goto("/rack/found")
    page.get_by_role("button", name="3 sides").click()
    for label, typed in {"Side 1-2": "300", "Side 2-3": "400", "Side 3-1": "500", "Thickness": "1.5"}.items():
        page.get_by_label(label, exact=True).fill(typed)
    page.get_by_role("button", name="Put on the rack").last.click()
    expect(page.get_by_role("heading", name="R1")).to_be_visible()
    page.goto("/rack/")
    page.get_by_label("Find a number, metal, place or job").fill("R1")
    page.get_by_role("button", name="Find").click()
    expect(page.locator(".pieces li")).to_have_count(1)
    assert StockMove.objects.get().kind == "counted"


def test_what_is_ticked_goes_on_the_labels(signed_in_page: Page) -> None:
    by = Person.objects.get()
    for _ in range(3):
        offcut(by)
    page = signed_in_page
    page.goto("/rack/")
    page.get_by_label("A label for R2").check()
    page.get_by_label("First free label").fill("4")
    with page.context.expect_event("request", lambda request: "labels.pdf" in request.url) as asked:
        page.get_by_role("button", name="Labels (PDF)").click()
    sent = parse_qs(urlsplit(asked.value.url).query)
    assert sent == {"sheet": ["A4, 3 x 7"], "first": ["4"], "piece": ["2"]}


def test_from_a_purchase_to_the_next_job_on_its_offcut(signed_in_page: Page) -> None:
    page = signed_in_page
    sheet_bought(page)
    new_job(page, "First tray")
    expect(page.locator("#sheets").locator("..")).to_contain_text(
        "R1"
    )  # laid out on the sheet of the rack, not on one to buy
    page.goto("/rack/1/")
    expect(page.get_by_role("row", name="reserved")).to_contain_text("job 1")

    page.goto("/jobs/1/")
    cuts = list(Step.objects.filter(kind="cut").order_by("position"))
    for step in cuts:
        button = page.get_by_role("button", name=f"Step {step.position} done", exact=True)
        button.click()
        expect(button).to_have_attribute("aria-pressed", "true")
    page.get_by_label("Where it stands").fill("By the door")
    page.get_by_role("button", name="on the rack").click()
    expect(page.locator("#put-away")).to_contain_text("Write the number on the metal.")
    kept = StockItem.objects.filter(form=Form.OFFCUT)
    assert {item.place for item in kept} == {"By the door"}
    page.goto("/jobs/1/metal/")
    expect(page.get_by_role("row", name="Issued to it")).to_contain_text("96.00")

    new_job(page, "Second tray")
    largest = max(kept, key=lambda item: item.area)
    expect(page.locator("#sheets").locator("..")).to_contain_text(largest.name)
    page.goto("/rack/")
    expect(page.locator(".pieces li", has_text=largest.name).first).to_contain_text("reserved for job 2")


def sheet_bought(page: Page) -> None:
    page.goto("/rack/bought")
    for label, typed in {"Thickness": "1.5", "Label": "S1", "Length": "2500", "Width": "1250"}.items():
        page.get_by_label(label, exact=True).fill(typed)
    page.get_by_label("Price each").fill("96.00")
    page.get_by_role("button", name="Put on the rack").click()
    expect(page.get_by_role("heading", name="R1")).to_be_visible()


def new_job(page: Page, title: str) -> None:
    page.goto("/jobs/new")
    page.get_by_label("Title").fill(title)
    page.get_by_label("four sides and both diagonals").check()
    for name, value in {**TAPE, **REST}.items():
        page.locator(f"#id_{name}").fill(value)
    save_quickly(page)
    expect(page.get_by_role("heading", name=title)).to_be_visible()
