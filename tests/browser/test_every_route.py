"""axe-core over every page that the app's addresses answer with, of an owner and of a hand, light and dark, wide and not."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any, Literal

import pytest
from django.test import Client
from django.urls import URLPattern, get_resolver
from django.utils import timezone
from playwright.sync_api import Page

from fabjobs.models import Job, Person, ShopSettings
from tests.browser.conftest import forget_refusals
from tests.conftest import PASSWORD
from tests.fabjobs.moneyed import Moneyed, made_plans, moneyed
from tests.fabjobs.routes import DOWNLOAD, ROUTES, path_of
from tests.fabjobs.test_spoiled import cut_all

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
Cookies = Callable[[str], list[dict[str, str]]]
Look = tuple[Literal["light", "dark"], int]
LOOKS: list[Look] = [("light", 1280), ("dark", 360)]
# What an address shows besides: cut blanks, one of them chosen as spoiled, lists without a line, what is not there
ALSO = ["/jobs/2/spoiled/", "/jobs/2/spoiled/?copy=A.1", "/rack/?q=nothing", "/jobs/?q=nothing", "/nowhere"]
SHUT = 403
DRAWN = "mark"  # answers with the picture of the app


@pytest.fixture
def money(live_server: Any) -> Moneyed:
    """The shop of the table of routes, with a second job whose blanks are cut."""
    late = (timezone.localtime() + timedelta(hours=6)).time()  # of no timer here the day ends while a test runs
    ShopSettings(pk=1, name="Hill Street Fabrication", day_end=late).save()
    owner = Person.objects.create_superuser("edda", password=PASSWORD)
    shop = moneyed(owner, made_plans())
    cut_all(Job.objects.get(number=2).fabrications.get(), owner)
    return shop


def answered() -> list[str]:
    """The names of the addresses that answer a GET with something, as the app itself has them."""
    names = [pattern.name for pattern in get_resolver().url_patterns if isinstance(pattern, URLPattern)]
    return [name for name in names if name and ROUTES[name].owner[0] != 405]


def pages(role: str, shop: Moneyed) -> dict[str, str]:
    """Each page that the role may open, by the name of its address; of those that are shut to it the first."""
    paths, shut = {}, 0
    for name in answered():
        path, status = path_of(name, ROUTES[name], shop), ROUTES[name].expected(role, "GET")
        shut += status == SHUT
        is_page = name != DRAWN and (status >= 400 or not DOWNLOAD.search(path))
        if is_page and (status != SHUT or shut == 1):
            paths[name] = path
    return paths


def faults_of(page: Page, look: Look, violations: Callable[[Page], list[str]]) -> list[str]:
    """What is wrong with a page, all of it unfolded, in a colour scheme and at a width."""
    scheme, width = look
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": width, "height": 800})
    page.evaluate("document.querySelectorAll('details').forEach((each) => each.setAttribute('open', ''))")
    found = violations(page)
    wide = page.evaluate("document.documentElement.scrollWidth")
    return found if wide <= width else [*found, f"{wide} px wide"]


@pytest.mark.parametrize(("role", "looks"), [("owner", LOOKS), ("hand", LOOKS[1:])], ids=["owner", "hand"])
def test_axe_core_finds_nothing_on_any_page(
    open_page: Open,
    money: Moneyed,
    as_person: Cookies,
    violations: Callable[[Page], list[str]],
    role: str,
    looks: list[Look],
) -> None:
    """A page is opened once, and then looked at in either way; a hand's, which is an owner's with less on it, on a phone."""
    who = money.owner if role == "owner" else money.hand
    page = open_page("/me/", cookies=as_person(who.username))
    wrong, seen = {}, set()
    for path in [*pages(role, money).values(), *ALSO]:
        answer = page.goto(path)
        assert answer
        assert answer.headers["content-type"].startswith("text/html"), path
        seen.add(answer.status)
        for look in looks:
            if found := faults_of(page, look, violations):
                wrong[(path, look)] = found
    assert wrong == {}
    assert seen == ({200, 404, 422} if role == "owner" else {200, 403, 404, 422})
    forget_refusals(open_page)


def test_no_page_is_left_out(money: Moneyed) -> None:
    """Every address of the app that answers a GET is a page that is looked at, or a file by its ending."""
    looked_at = pages("owner", money)
    left = {name: path_of(name, ROUTES[name], money) for name in answered() if name not in looked_at}
    assert {path for name, path in left.items() if not DOWNLOAD.search(path)} == {"/favicon.ico"}
    assert len(looked_at) >= 35
    assert {"work", "at_work", "who", "set_week", "people", "join", "me", "photos", "photo", "spoiled"} <= set(
        looked_at
    )


def test_axe_core_finds_nothing_where_too_much_was_tried(
    open_page: Open, money: Moneyed, violations: Callable[[Page], list[str]]
) -> None:
    client, wrong = Client(), {"username": "edda", "password": "guessed"}
    tries = [client.post("/sign-in", wrong).status_code for _ in range(20)]
    assert tries[-1] == 429
    page = open_page(path_of("join", ROUTES["join"], money))
    assert [faults_of(page, look, violations) for look in LOOKS] == [[], []]
    page.goto("/sign-in")
    page.get_by_label("Username").fill("edda")
    page.get_by_label("Password").fill("guessed")
    page.get_by_role("main").get_by_role("button").click()
    page.wait_for_function("document.title.startsWith('Too many tries')")
    assert [faults_of(page, look, violations) for look in LOOKS] == [[], []]
    forget_refusals(open_page)
