"""A photo sent from a small phone with and without script, looked at, struck out; and who does what: both pages whole."""

import io
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Page, expect

import calc
from fabjobs.models import Job, Person, Photo, ShopSettings, Step, TimeEntry
from fabjobs.models.shop import LONGEST_RUN
from fabjobs.services import job_create
from tests.conftest import PASSWORD
from tests.fabjobs.ticking import tick
from tests.photographed import OWNER_OF_CAMERA, photo_file

pytestmark = pytest.mark.django_db(transaction=True)
Open = Callable[..., Page]
CAPTION = "Nick-in-the-long-edge-" * 9  # 198 signs without a space to break at


@pytest.fixture
def owner(live_server: Any) -> Person:
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    return Person.objects.create_superuser("edda", password=PASSWORD)


@pytest.fixture
def job(plan: calc.Plan, owner: Person) -> Job:
    return job_create(plan=plan, due_day=timezone.localdate() - timedelta(days=2), by=owner)


@pytest.fixture
def cookies(live_server: Any, owner: Person) -> list[dict[str, str]]:
    session = SessionStore()
    session[SESSION_KEY] = str(owner.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = owner.get_session_auth_hash()
    session.save()
    return [{"name": settings.SESSION_COOKIE_NAME, "value": str(session.session_key), "url": live_server.url}]


@pytest.fixture
def taken(tmp_path: Path) -> Path:
    """A photo as a telephone keeps it: on its side, with the place it was taken at."""
    file = tmp_path / "IMG_20310509.jpg"
    file.write_bytes(photo_file(size=(4000, 3000), orientation=6))
    return file


@pytest.mark.parametrize("script", [True, False], ids=["htmx", "no script"])
def test_a_photo_of_a_step(open_page: Open, cookies: list[Any], job: Job, taken: Path, script: bool) -> None:
    step = Step.objects.filter(fabrication__job=job)[0]
    page = open_page(f"/jobs/1/steps/{step.pk}/", width=360, cookies=cookies, java_script_enabled=script)
    page.get_by_label("Take a photo").set_input_files(taken)
    page.get_by_label("What it shows").fill("Nick in the long edge")
    page.get_by_role("button", name="Send the photo").click()
    small = page.get_by_role("img", name="Nick in the long edge")
    expect(small).to_be_visible()
    assert page.url.endswith(f"/steps/{step.pk}/#photos")
    if script:
        page.wait_for_function("document.querySelector('.photos img').naturalHeight === 320")
    small.click()
    shown = page.get_by_role("img", name="Nick in the long edge")
    expect(shown).to_be_visible()
    width = page.locator(".photo img").bounding_box()
    assert width is not None
    assert width["width"] <= 360
    picture = page.request.get(page.url + "large.jpg")
    assert Image.open(io.BytesIO(picture.body())).size == (1200, 1600)
    assert OWNER_OF_CAMERA.encode() not in picture.body()

    page.locator("summary", has_text="Wrong photo?").click()
    page.get_by_label("Why it is wrong").fill("of another tray")
    page.get_by_role("button", name="Strike it out").click()
    expect(page.get_by_text("struck it out")).to_contain_text("of another tray")
    expect(page.get_by_role("img", name="Nick in the long edge")).to_have_count(0)
    assert Photo.objects.get().struck_at


def test_what_can_not_be_read_is_told_and_the_words_stay(
    open_page: Open, cookies: list[Any], job: Job, tmp_path: Path
) -> None:
    page = open_page("/jobs/1/photos/", width=360, cookies=cookies)
    file = tmp_path / "IMG_1.HEIC"
    file.write_bytes(b"\x00\x00\x00\x18ftypheic" + bytes(5000))
    page.get_by_label("Or one taken before").set_input_files(file)
    page.get_by_label("What it shows").fill("The drain")
    page.get_by_role("button", name="Send the photo").click()
    expect(page.get_by_role("alert").filter(has_text="HEIC or AVIF, which can't be read here")).to_be_visible()
    expect(page.get_by_label("What it shows")).to_have_value("The drain")
    assert not Photo.objects.exists()
    open_page.complaints.clear()  # type: ignore[attr-defined]  # the browser logs the 422


def test_axe_core_finds_nothing_nor_is_anything_wider_than_a_small_phone(
    open_page: Open,
    cookies: list[Any],
    faults_either_way: Callable[[Page], list[str]],
    job: Job,
    owner: Person,
    taken: Path,
) -> None:
    first, second, *_ = Step.objects.filter(fabrication__job=job)
    tick(first, owner)
    mate = Person.objects.create_user("bartholomew-" * 10)
    now = timezone.now()
    for person, ran in ((owner, 60), (mate, LONGEST_RUN * 3600 + 60)):
        began = now - timedelta(seconds=ran)
        TimeEntry.objects.create(step=second, person=person, by=person, started_at=began, rate=40)
    page = open_page("/jobs/1/photos/", width=360, cookies=cookies)
    for count, label in enumerate((CAPTION, ""), 1):
        page.get_by_label("What it shows").fill(label)
        page.get_by_label("Take a photo").set_input_files(taken)
        page.get_by_role("button", name="Send the photo").click()
        expect(page.locator(".photos li")).to_have_count(count)
        taken.write_bytes(photo_file(size=(900, 1200)))
    photos = [f"/jobs/1/photos/{photo.pk}/" for photo in Photo.objects.all()]
    pages = ["/", "/who/", "/settings/week", "/jobs/1/", "/jobs/1/photos/", f"/jobs/1/steps/{second.pk}/"]
    for path in [*pages, *photos]:
        page.goto(path)
        page.evaluate("document.querySelectorAll('details').forEach((each) => each.setAttribute('open', ''))")
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, path
        assert faults_either_way(page) == [], path
        small = page.evaluate(
            """() => [...document.querySelectorAll("main :is(button, a, select, summary, input:not([type=hidden]))")]
            .filter((e) => e.checkVisibility() && !e.closest("p:not(.links), .hush, svg") && !e.matches(".hush"))
            .map((e) => e.matches("[type=radio], [type=checkbox]") ? e.closest("label, .tick") : e)
            .filter((e) => { const box = e.getBoundingClientRect(); return box.height < 44 || box.width < 44; })
            .map((e) => e.outerHTML.slice(0, 90))"""
        )
        assert small == [], path
