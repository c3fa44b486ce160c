"""The main job without a pointer: from a new job to its traveller by Tab, Enter, Space and what is typed."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from fabjobs.models import Person, ShopSettings, Step
from tests.conftest import FORM, PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)
MEASURED = ("thickness", "low_x", "low_y", "depth", "bore")
TYPED = {"title", *MEASURED, *(f"corner_{corner}_{axis}" for corner in range(4) for axis in "xy")}
IN_FOCUS = """() => { const e = document.activeElement;
    return { id: e.id, ticks: e.dataset.ticks ?? "", words: (e.getAttribute("aria-label") || e.innerText || "").trim() }; }"""
MOST = 300  # presses of Tab to anything on a page


def tab_to(page: Page, wanted: Callable[[dict[str, str]], bool]) -> dict[str, str]:
    """Tab until something has the focus that is wanted; it must be in sight then."""
    for _ in range(MOST):
        page.keyboard.press("Tab")
        found: dict[str, str] = page.evaluate(IN_FOCUS)
        if wanted(found):
            assert page.evaluate("document.activeElement.matches(':focus-visible')")
            return found
    raise AssertionError("Tab does not come to it")


def tab_to_words(page: Page, words: str) -> None:
    tab_to(page, lambda found: found["words"].startswith(words))


def measure(page: Page) -> None:
    """Each field as Tab comes to it, in whatever order the page has them; the choice of effort once its part is open."""
    left = set(TYPED)
    while left:
        name = tab_to(page, lambda found: found["id"].removeprefix("id_") in left)["id"].removeprefix("id_")
        page.keyboard.press("Control+A")
        page.keyboard.type(FORM[name])
        left.remove(name)
    expect(page.locator("#preview")).to_contain_text("5.1 litres")  # as in `test_main_job`
    tab_to_words(page, "Sheet, saw and money")
    page.keyboard.press("Enter")
    tab_to(page, lambda found: found["id"] == "id_effort")
    with page.expect_response("**/jobs/new/preview"):  # one that Save cuts off is told as an error
        page.keyboard.press("Home")
    expect(page.locator("#id_effort")).to_have_value("quick")


def test_the_main_job_by_the_keyboard_alone(open_page: Callable[..., Page]) -> None:
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    Person.objects.create_superuser("edda", password=PASSWORD)
    page = open_page("/")
    tab_to(page, lambda found: found["id"] == "id_username")
    page.keyboard.type("edda")
    page.keyboard.press("Tab")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="In hand")).to_be_visible()
    tab_to_words(page, "New job")
    page.keyboard.press("Enter")
    page.wait_for_url("**/jobs/new")
    measure(page)
    tab_to_words(page, "Save the job")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Coolant tray")).to_be_visible()

    on_paper, in_list = Step.objects.filter(kind="cut").order_by("position")[:2]
    tab_to(page, lambda found: found["ticks"] == str(on_paper.pk))
    page.keyboard.press("Space")
    expect(page.get_by_role("button", name="Cut 1", exact=True)).to_have_attribute("aria-pressed", "true")
    number = Step.objects.filter(position__lte=in_list.position).count()
    tab_to_words(page, f"Step {number} done")
    page.keyboard.press("Enter")
    row = page.locator(f"#step-{in_list.pk} .tick-box")
    expect(row).to_have_attribute("aria-pressed", "true")
    expect(row).to_be_focused()
    assert set(Step.objects.exclude(done_at=None)) == {on_paper, in_list}

    first, second = Step.objects.filter(done_at=None).order_by("position")[:2]
    at_the_work(page, first, second)
    page.goto("/jobs/1/")
    tab_to_words(page, "Traveller, office copy")
    # a browser without a window tells nothing of a PDF that it shows: what the link in focus leads to is fetched
    with page.expect_response("**/jobs/1/traveller.pdf") as answered:
        page.evaluate("fetch(document.activeElement.href)")
    assert (answered.value.status, answered.value.headers["content-type"]) == (200, "application/pdf")


def at_the_work(page: Page, first: Step, second: Step) -> None:
    """From the page of the job to its next step, which is ticked, and on from the one after it without a tick."""
    page.goto("/jobs/1/")
    tab_to_words(page, "To the next step")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/jobs/1/at-work/{first.pk}/")
    tab_to_words(page, "Tick")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/jobs/1/at-work/{second.pk}/?ticked={first.pk}")
    tab_to_words(page, "Next")
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: f"/{second.pk}/" not in url)
    first.refresh_from_db()
    second.refresh_from_db()
    assert first.done_at
    assert not second.done_at
