"""Two jobs laid out together as a person does it: chosen, compared, taken, cut, and both told what each took."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from playwright.sync_api import Page, expect

from fabjobs.models import Person, Revision, ShopSettings, Step
from tests.conftest import PASSWORD
from tests.fabjobs.pairs import shares, two_jobs

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]


@pytest.fixture
def cookies(live_server: Any) -> list[dict[str, str]]:
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    two_jobs(owner)
    session = SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]


def test_the_choice_is_fit_for_all(
    open_page: Open, cookies: list[Any], violations: Callable[[Page], list[str]]
) -> None:
    assert violations(open_page("/jobs/1/together/?other=2", cookies=cookies)) == []


def test_laid_together_cut_and_charged(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/1/", cookies=cookies)
    together = page.locator("#together")
    together.scroll_into_view_if_needed()
    together.get_by_role("link", name="Job 2, Saw tray").click()
    expect(together.get_by_role("row", name="Sheets")).to_contain_text("1")
    expect(together.locator("figure svg")).to_be_visible()
    together.get_by_role("button", name="Lay them out together").click()
    expect(page.locator(".block")).to_contain_text("Revision2")
    expect(page.get_by_text("job 2, sheet 1").first).to_be_visible()
    assert [revision.number for revision in Revision.objects.filter(reason__startswith="Laid out together")] == [2, 2]

    cut = Step.objects.filter(fabrication__job__number=2, kind="cut", retired=False).order_by("position").first()
    assert cut is not None
    page.goto(f"/jobs/2/steps/{cut.pk}/")
    page.get_by_role("button", name="Tick it done").click()
    expect(page.get_by_role("button", name="Take the tick back")).to_be_visible()
    (share,) = shares()

    page.goto("/jobs/1/metal/")
    taken = page.get_by_role("row", name="Share of R1")
    expect(taken).to_contain_text("job 2's sheet")
    expect(taken).to_contain_text(str(share.item.price))
    page.goto("/jobs/2/metal/")
    passed_on = page.get_by_role("group", name="Taken of them by other jobs")
    expect(passed_on).to_contain_text("Share of R1")
    expect(passed_on).to_contain_text(str(share.item.price))
    issued = page.get_by_role("row", name="Issued to it")
    expect(issued).to_contain_text(str(Decimal("96.35") - share.item.price))  # of the whole sheet's price


def test_parted_by_one_click_on_a_narrow_screen(open_page: Open, cookies: list[Any]) -> None:
    page = open_page("/jobs/1/together/?other=2", cookies=cookies, width=360)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.get_by_role("button", name="Lay them out together").click()
    page.wait_for_url("**/jobs/1/")
    page.goto("/jobs/2/together/")
    page.get_by_role("button", name="Part them").click()
    page.wait_for_url("**/jobs/2/")
    assert set(Revision.objects.filter(number=3).values_list("reason", flat=True)) == {
        "Parted from job 1",
        "No longer laid out with job 2",
    }
