"""Metal logged, rates set, and the look back, in a real browser: with a script and without, on a phone, light and dark."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Page, expect

import calc
from fabjobs.models import BoughtIn, Job, Person, RateBook, SheetPrice, ShopSettings, Step, TimeEntry
from fabjobs.services import blank_spoil, job_create, line_strike, sheet_use, thing_buy
from tests.conftest import PASSWORD
from tests.fabjobs.ledger import issued

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
PAGES = ["/jobs/1/metal/", "/jobs/2/metal/", "/jobs/1/review/", "/review/", "/review/?from=2001-01-01&to=2001-02-01"]
PAGES += ["/settings/", "/settings/sheets/1"]
LONG = "Coolant-and-swarf-tray-" * 5  # 115 signs without a space to break at


@pytest.fixture
def cookies(live_server: Any, plan: calc.Plan) -> list[dict[str, str]]:
    """A finished job with lines of every kind, one struck out; an empty one; rates and a sheet."""
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    job = job_create(plan=plan, due_day=None, by=owner)
    job_create(plan=plan, due_day=None, by=owner)
    Job.objects.filter(pk=job.pk).update(title=LONG)
    steps = Step.objects.filter(fabrication__job=job)
    for step in steps:
        spent = {"person": owner, "by": owner, "started_at": timezone.now(), "seconds": 700}
        TimeEntry.objects.create(step=step, rate=step.rate, **spent)
    steps.update(done_at=timezone.now(), done_by=owner)
    given: dict[str, Any] = {"fabrication": job.fabrications.get(), "by": owner}
    size: dict[str, Any] = {"label": "S1", "length": 2500, "width": 1250, "price": Decimal("96.00")}
    sheet_use(**given, **size, count=1, form_key=uuid4())
    blank_spoil(**given, count=99, part=job.fabrications.get().parts.all()[0], why=LONG, form_key=uuid4())
    line = thing_buy(**given, count=1, what=LONG, price=Decimal("7.15"), form_key=uuid4())
    line_strike(line=line, why=LONG, by=owner)
    thing_buy(**given, count=1, what="Hose", price=Decimal("7.15"), form_key=uuid4())
    RateBook.objects.create(
        created_by=owner, labour=44, labour_by_kind={"weld": "52.00"}, filler=24, gas=0, outlet_fitting=12
    )
    SheetPrice.objects.create(pk=1, alloy="5052-H32", thickness=1.5, **size)
    client = Client()
    client.force_login(owner)
    name = settings.SESSION_COOKIE_NAME
    return [{"name": name, "value": client.cookies[name].value, "url": live_server.url}]


def open_all(page: Page) -> None:
    page.evaluate("for (const details of document.querySelectorAll('details')) details.open = true")


@pytest.mark.parametrize("path", PAGES)
def test_axe_core_finds_nothing(
    open_page: Open,
    cookies: list[Any],
    faults_either_way: Callable[[Page], list[str]],
    path: str,
) -> None:
    page = open_page(path, cookies=cookies)
    open_all(page)
    assert faults_either_way(page) == []


@pytest.mark.parametrize("path", PAGES)
def test_nothing_is_wider_than_a_small_phone_or_too_small_to_touch(
    open_page: Open, cookies: list[Any], path: str
) -> None:
    page = open_page(path, width=360, cookies=cookies)
    open_all(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    small = page.evaluate(
        """() => [...document.querySelectorAll("button, a, select, summary, input:not([type=hidden])")]
        .filter((e) => e.checkVisibility() && !e.closest("p:not(.links), .hush, .skip, svg") && !e.matches(".hush, .skip"))
        .filter((e) => { const box = e.getBoundingClientRect(); return box.height < 44 || box.width < 44; })
        .map((e) => e.outerHTML.slice(0, 90))"""
    )
    assert small == []


def test_lettering_in_the_plots_does_not_overlap(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/review/", cookies=cookies)
    # As the browser drew it, in the font it has; to half a pixel.
    overlaps = page.evaluate(
        """() => [...document.querySelectorAll("svg.plot")].flatMap((plot) => {
          const boxes = [...plot.querySelectorAll("text")].map((text) => [text.textContent, text.getBoundingClientRect()]);
          return boxes.flatMap(([one, a], i) => boxes.slice(i + 1).filter(([, b]) =>
            Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.5 &&
            Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 2.5).map(([two]) => [one, two]));
        })"""
    )
    assert overlaps == []


def test_metal_is_logged_as_planned_and_a_wrong_line_is_struck_out(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/2/metal/", cookies=cookies)
    page.get_by_role("button", name="As planned: 1 x S1").click()
    row = page.locator("#metal tr", has_text="S1, 2500 x 1250 mm")
    expect(row).to_contain_text("96.00")
    page.get_by_role("button", name="As planned").click()  # the offcut
    expect(page.get_by_role("button", name="As planned")).to_have_count(0)
    page.locator("summary", has_text="A thing bought in").click()
    page.get_by_label("What", exact=True).fill("Hose clamp")
    page.locator("#id_bought_price").fill("cheap")
    page.locator("#bought ~ .add button").click()
    expect(page.locator("#id_bought_price_error", has_text="cheap")).to_be_visible()
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 422
    page.locator("#id_bought_price").fill("1.35")
    page.locator("#bought ~ .add button").dblclick()
    expect(page.locator("#metal tr", has_text="Hose clamp")).to_have_count(1)
    line = BoughtIn.objects.get(what="Hose clamp")
    line_row = page.locator("#metal tr", has_text="Hose clamp")
    line_row.locator("summary").click()
    line_row.get_by_label("Why it is wrong").fill("Came out of the drawer")
    line_row.get_by_role("button", name="Strike it out").click()
    expect(page.locator("#metal tr.struck", has_text="Came out of the drawer")).to_be_visible()
    line.refresh_from_db()
    assert line.struck_at is not None
    assert issued().filter(fabrication__job__number=2).count() == 1


def test_without_a_script_too(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/2/metal/", cookies=cookies, java_script_enabled=False)
    page.get_by_role("button", name="As planned: 1 x S1").click()
    expect(page.locator("#metal tr", has_text="S1, 2500 x 1250 mm")).to_be_visible()
    page.goto("/review/")
    page.get_by_label("From").fill("2001-01-01")
    page.get_by_label("To").fill("2001-12-31")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_text("No job was finished from 1 Jan 2001 to 31 Dec 2001")).to_be_visible()
    page.get_by_role("link", name="This year").click()
    expect(page.get_by_text("1 job finished")).to_be_visible()


def test_new_rates_reach_a_new_job(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/", cookies=cookies)
    page.get_by_role("link", name="Settings").click()
    page.get_by_label("Labour, an hour").fill("47.50")
    page.get_by_role("button", name="Set these rates from now on").click()
    expect(page.locator("#rates ~ .wide tbody tr")).to_have_count(2)
    page.goto("/jobs/new")
    page.locator("summary", has_text="Sheet, saw and money").click()
    expect(page.get_by_label("Labour, an hour")).to_have_value("47.50")
