"""The timer: in the bar of every page, started on a step, stopped from anywhere."""

import re
import uuid
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

import calc
from fabjobs.models import Job, Person, Step, TimeCorrection, TimeEntry
from fabjobs.services import job_create, timer_start

pytestmark = pytest.mark.usefixtures("early_in_its_day")

Htmx = Callable[..., dict[str, str]]


@pytest.fixture
def steps(job: Job) -> list[Step]:
    return list(Step.objects.filter(fabrication__job=job))


@pytest.fixture
def running(steps: list[Step], owner: Person) -> TimeEntry:
    entry = timer_start(step=steps[2], by=owner, form_key=uuid.uuid4())
    return ran(entry, 25)


@pytest.fixture
def other(shop: object) -> Person:
    return Person.objects.create_user("bo", role="owner")


def ran(entry: TimeEntry, minutes: float) -> TimeEntry:
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=timezone.now() - timedelta(minutes=minutes))
    entry.refresh_from_db()
    return entry


def start(client: Client, step: Step, key: uuid.UUID | str = "", **given: object) -> object:
    return client.post(f"/jobs/1/steps/{step.pk}/timer", {"form_key": key or uuid.uuid4()}, **given)  # type: ignore[arg-type]


def swapped(answer: object) -> list[str]:
    return re.findall(r'<\w+ id="([\w-]+)"[^>]* hx-swap-oob="true"', answer.content.decode())  # type: ignore[attr-defined]


@pytest.mark.parametrize("path", ["/", "/jobs/", "/jobs/new", "/jobs/1/", "/timer/"])
def test_the_running_timer_stands_on_every_page(signed_in: Client, running: TimeEntry, path: str) -> None:
    page = signed_in.get(path).content.decode()
    bar = page[page.index('<div id="timer"') : page.index("</header>")]
    assert f'href="/jobs/1/steps/{running.step_id}/"' in bar
    assert timezone.localtime(running.started_at).strftime("%H:%M</time>") in bar
    assert "25 min" in bar  # plain text, before any script counts on
    assert f'action="/timer/{running.pk}/stop"' in bar
    assert re.search(r'data-elapsed="150\d"', bar)  # 25 x 60 = 1500 s


def test_nobody_sees_the_timer_of_another_in_the_bar(running: TimeEntry, other: Person) -> None:
    client = Client()
    client.force_login(other)
    page = client.get("/").content.decode()
    assert re.search(r'<div id="timer"[^>]*></div>', page)
    assert "edda's timer runs since" in client.get("/jobs/1/").content.decode()


def test_signed_out_pages_have_no_timer(client: Client, running: TimeEntry) -> None:
    assert 'id="timer"' not in client.get("/sign-in").content.decode()


def test_starting_leads_back_to_the_row_or_the_steps_page(signed_in: Client, steps: list[Step], owner: Person) -> None:
    answer = start(signed_in, steps[0])
    assert answer["Location"] == f"/jobs/1/#step-{steps[0].pk}"  # type: ignore[index]
    answer = signed_in.post(f"/jobs/1/steps/{steps[1].pk}/timer", {"form_key": uuid.uuid4(), "back": "step"})
    assert answer["Location"] == f"/jobs/1/steps/{steps[1].pk}/"
    assert TimeEntry.objects.get(seconds=None).step == steps[1]


def test_starting_another_renews_both_rows(
    signed_in: Client, steps: list[Step], running: TimeEntry, htmx: Htmx
) -> None:
    answer = start(signed_in, steps[4], headers=htmx("http://testserver/jobs/1/"))
    assert swapped(answer) == [f"step-{steps[4].pk}", f"step-{steps[2].pk}", "made", "timer"]
    page = answer.content.decode()  # type: ignore[attr-defined]
    assert "Stop the timer on step 5" in page
    assert "Start the timer on step 3" in page
    running.refresh_from_db()
    assert running.seconds == pytest.approx(1500, abs=2)


def test_the_row_of_another_job_is_not_on_this_page(
    signed_in: Client, plan: calc.Plan, owner: Person, running: TimeEntry, htmx: Htmx
) -> None:
    job_create(plan=plan, due_day=None, by=owner)
    step = Step.objects.filter(fabrication__job__number=2)[0]
    answer = signed_in.post(
        f"/jobs/2/steps/{step.pk}/timer", {"form_key": uuid.uuid4()}, headers=htmx("http://testserver/jobs/2/")
    )
    assert swapped(answer) == [f"step-{step.pk}", "made", "timer"]


def test_two_taps_on_start_are_one_timer(signed_in: Client, steps: list[Step]) -> None:
    key = uuid.uuid4()
    for _ in range(2):
        assert start(signed_in, steps[0], key).status_code == 302  # type: ignore[attr-defined]
    assert TimeEntry.objects.count() == 1


def test_a_used_start_after_its_timer_was_stopped_is_told_and_can_be_sent_again(
    signed_in: Client, steps: list[Step], htmx: Htmx
) -> None:
    key = uuid.uuid4()
    start(signed_in, steps[0], key)
    signed_in.post(f"/timer/{TimeEntry.objects.get().pk}/stop")
    for headers in ({}, htmx("http://testserver/jobs/1/")):
        answer = start(signed_in, steps[0], key, headers=headers)
        page = answer.content.decode()  # type: ignore[attr-defined]
        assert answer.status_code == 409  # type: ignore[attr-defined]
        assert "was stopped since. Nothing was started" in page
        assert str(key) not in page
    form = page[page.index(f'action="/jobs/1/steps/{steps[0].pk}/timer"') :]
    fresh = re.search(r'name="form_key" value="([^"]+)"', form)
    assert fresh
    assert start(signed_in, steps[0], fresh[1]).status_code == 302  # type: ignore[attr-defined]
    assert TimeEntry.objects.filter(seconds=None).count() == 1


@pytest.mark.parametrize("key", ["x", " "])
def test_a_start_that_is_not_whole_starts_nothing(signed_in: Client, steps: list[Step], key: str, htmx: Htmx) -> None:
    for headers in ({}, htmx()):
        answer = start(signed_in, steps[0], key, headers=headers)
        assert answer.status_code == 422  # type: ignore[attr-defined]
        assert "That form was not whole" in answer.content.decode()  # type: ignore[attr-defined]
    assert not TimeEntry.objects.exists()


def test_no_timer_starts_on_a_step_that_is_no_longer_made(signed_in: Client, steps: list[Step], htmx: Htmx) -> None:
    Step.objects.filter(pk=steps[0].pk).update(retired=True)
    answer = start(signed_in, steps[0], headers=htmx())
    assert answer.status_code == 409  # type: ignore[attr-defined]
    assert "no longer made" in answer.content.decode()  # type: ignore[attr-defined]
    assert not TimeEntry.objects.exists()


def test_stopping_leads_back_to_the_row(signed_in: Client, running: TimeEntry) -> None:
    for _ in range(2):
        answer = signed_in.post(f"/timer/{running.pk}/stop")
        assert answer["Location"] == f"/jobs/1/#step-{running.step_id}"
    running.refresh_from_db()
    assert running.seconds == pytest.approx(1500, abs=2)


@pytest.mark.parametrize(
    ("page", "parts"), [("/jobs/1/", ["step-{}", "made", "timer"]), ("/", ["timer"]), ("/jobs/", ["timer"])]
)
def test_stopping_by_htmx_renews_what_the_page_has(
    signed_in: Client, running: TimeEntry, htmx: Htmx, page: str, parts: list[str]
) -> None:
    answer = signed_in.post(f"/timer/{running.pk}/stop", headers=htmx(f"http://testserver{page}"))
    assert swapped(answer) == [part.format(running.step_id) for part in parts]
    assert re.search(r'<div id="timer"[^>]*></div>', answer.content.decode())


def test_stopping_by_htmx_on_the_steps_own_page_reads_it_anew(
    signed_in: Client, running: TimeEntry, htmx: Htmx
) -> None:
    here = htmx(f"http://testserver/jobs/1/steps/{running.step_id}/")
    assert signed_in.post(f"/timer/{running.pk}/stop", headers=here)["HX-Refresh"] == "true"


def test_a_forgotten_timer_is_asked_about_wherever_it_is_stopped(
    signed_in: Client, steps: list[Step], running: TimeEntry, htmx: Htmx
) -> None:
    ran(running, 17 * 60 + 5)
    assert signed_in.post(f"/timer/{running.pk}/stop")["Location"] == "/timer/"
    assert signed_in.post(f"/timer/{running.pk}/stop", headers=htmx())["HX-Redirect"] == "/timer/"
    asked = f"/timer/?at={steps[0].pk}&back=&start=on"
    assert start(signed_in, steps[0])["Location"] == asked  # type: ignore[index]
    assert start(signed_in, steps[0], headers=htmx())["HX-Redirect"] == asked  # type: ignore[index]
    page = signed_in.get("/timer/").content.decode()
    assert "More than 6 hours" in page
    assert "17 h 05 min" in page
    assert 'href="/timer/">How long?</a>' in signed_in.get("/jobs/1/").content.decode()
    running.refresh_from_db()
    assert running.seconds is None


@pytest.mark.parametrize(("typed", "seconds"), [("1 h 15", 75 * 60), ("0", 0), ("17 h", 17 * 3600)])
def test_the_time_it_really_took_is_kept_with_what_the_timer_counted(
    signed_in: Client, running: TimeEntry, typed: str, seconds: int
) -> None:
    ran(running, 17 * 60 + 5)
    answer = signed_in.post(f"/timer/{running.pk}/stop", {"took": typed, "form_key": uuid.uuid4()})
    assert answer["Location"] == f"/jobs/1/#step-{running.step_id}"
    running.refresh_from_db()
    assert running.seconds == seconds
    assert TimeCorrection.objects.get().was == pytest.approx(17 * 3600 + 5 * 60, abs=2)


PLACES = [
    ("work", "/jobs/1/at-work/{}/"),
    ("step", "/jobs/1/steps/{}/"),
    ("job", "/jobs/1/#step-{}"),
    ("", "/jobs/1/#step-{}"),
]


@pytest.mark.parametrize(("back", "there"), PLACES)
def test_the_answer_starts_the_timer_that_was_asked_for_where_it_was(
    signed_in: Client, steps: list[Step], running: TimeEntry, back: str, there: str
) -> None:
    ran(running, 17 * 60 + 5)
    wanted = steps[4]
    pressed = {"form_key": uuid.uuid4(), "back": back}
    asked = signed_in.post(f"/jobs/1/steps/{wanted.pk}/timer", pressed)["Location"]
    page = signed_in.get(asked).content.decode()
    assert "Nothing was started there yet." in page
    sent = dict(re.findall(r'<input type="hidden" name="(at|back|form_key)" value="([^"]*)"', page))
    begins = '<button class="go" name="start" value="on">'
    assert f"{begins}Keep that, start on step {wanted.position}" in page
    answer = {**sent, "took": "1 h 15", "start": "on"}
    for _ in range(2):  # sent twice it is one line
        assert signed_in.post(f"/timer/{running.pk}/stop", answer)["Location"] == there.format(wanted.pk)
    running.refresh_from_db()
    assert running.seconds == 75 * 60
    begun = TimeEntry.objects.get(seconds=None)
    assert begun.step == wanted
    assert timezone.now() - begun.started_at < timedelta(
        minutes=1
    )  # from the answer on, not from when Start was pressed


@pytest.mark.parametrize(("back", "there"), PLACES)
def test_the_answer_may_start_nothing_and_leads_back_all_the_same(
    signed_in: Client, steps: list[Step], running: TimeEntry, back: str, there: str
) -> None:
    ran(running, 17 * 60 + 5)
    answer = {"at": steps[4].pk, "back": back, "start": "", "took": "0", "form_key": uuid.uuid4()}
    assert signed_in.post(f"/timer/{running.pk}/stop", answer)["Location"] == there.format(steps[4].pk)
    assert not TimeEntry.objects.filter(seconds=None).exists()


def test_a_time_that_cannot_be_forgets_not_what_was_asked_for(
    signed_in: Client, steps: list[Step], running: TimeEntry
) -> None:
    ran(running, 17 * 60 + 5)
    answer = {"at": steps[4].pk, "back": "work", "start": "on", "took": "long", "form_key": uuid.uuid4()}
    page = signed_in.post(f"/timer/{running.pk}/stop", answer).content.decode()
    assert f'name="at" value="{steps[4].pk}"' in page
    assert "Keep that, start on step 5" in page
    assert TimeEntry.objects.get().seconds is None


def test_a_step_that_went_meanwhile_is_told_and_the_answer_kept(
    signed_in: Client, steps: list[Step], running: TimeEntry
) -> None:
    ran(running, 17 * 60 + 5)
    Step.objects.filter(pk=steps[4].pk).update(retired=True)
    assert "start on step" not in signed_in.get(f"/timer/?at={steps[4].pk}&start=on").content.decode()
    answer = {"at": steps[4].pk, "back": "step", "start": "on", "took": "1 h 15", "form_key": uuid.uuid4()}
    told = signed_in.post(f"/timer/{running.pk}/stop", answer)
    assert told.status_code == 409
    assert "this step is no longer made" in told.content.decode()
    running.refresh_from_db()
    assert running.seconds == 75 * 60
    assert not TimeEntry.objects.filter(seconds=None).exists()


@pytest.mark.parametrize(
    "query", ["at=x", "at=0", "at=-1", "at=2147483647&start=on", f"at={'9' * 30}", "at=", "back=work"]
)
def test_a_place_that_never_was_is_not_told_of(signed_in: Client, running: TimeEntry, query: str) -> None:
    ran(running, 17 * 60 + 5)
    answer = signed_in.get(f"/timer/?{query}")
    assert answer.status_code == 200
    assert "Stop and keep that" in answer.content.decode()


def test_how_long_asked_on_a_step_leads_back_to_it(signed_in: Client, steps: list[Step], running: TimeEntry) -> None:
    ran(running, 17 * 60 + 5)
    page = signed_in.get(f"/jobs/1/at-work/{running.step_id}/").content.decode()
    way = re.search(r'href="(/timer/[^"]*)">How long\?', page[page.index('class="at-foot"') :])
    assert way
    assert way[1].replace("&amp;", "&") == f"/timer/?at={running.step_id}&back=work"
    asked = signed_in.get(way[1].replace("&amp;", "&")).content.decode()
    assert 'name="back" value="work"' in asked
    answer = {"at": running.step_id, "back": "work", "took": "1 h 15", "form_key": uuid.uuid4()}
    assert signed_in.post(f"/timer/{running.pk}/stop", answer)["Location"] == f"/jobs/1/at-work/{running.step_id}/"


@pytest.mark.parametrize(
    ("typed", "words"),
    [("", "Not given yet."), ("long", "is no time"), ("17 h 10", "must be at most what the timer ran, 17 h 5 min")],
)
def test_a_time_that_cannot_be_leaves_the_timer_running(
    signed_in: Client, running: TimeEntry, typed: str, words: str
) -> None:
    ran(running, 17 * 60 + 5)
    answer = signed_in.post(f"/timer/{running.pk}/stop", {"took": typed, "form_key": uuid.uuid4()})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    running.refresh_from_db()
    assert running.seconds is None


def test_an_answer_given_for_one_timer_is_none_for_the_next(
    signed_in: Client, steps: list[Step], running: TimeEntry, owner: Person
) -> None:
    ran(running, 17 * 60 + 5)
    given = {"took": "1 h 15", "form_key": uuid.uuid4()}
    signed_in.post(f"/timer/{running.pk}/stop", given)
    following = timer_start(step=steps[1], by=owner, form_key=uuid.uuid4())
    ran(following, 17 * 60 + 5)
    assert signed_in.post(f"/timer/{following.pk}/stop", given)["Location"] == "/timer/"
    following.refresh_from_db()
    assert (following.seconds, TimeCorrection.objects.get().entry) == (None, running)


def test_without_a_timer_its_page_says_so(signed_in: Client) -> None:
    assert "No timer of yours is running." in signed_in.get("/timer/").content.decode()


def test_nobody_stops_the_timer_of_another(running: TimeEntry, other: Person) -> None:
    client = Client()
    client.force_login(other)
    assert client.post(f"/timer/{running.pk}/stop").status_code == 404
    running.refresh_from_db()
    assert running.seconds is None


def test_signed_out(client: Client, running: TimeEntry, htmx: Htmx) -> None:
    assert client.post(f"/timer/{running.pk}/stop")["Location"] == "/sign-in?next=/"
    assert client.get("/timer/")["Location"] == "/sign-in?next=/timer/"
    answer = client.post(f"/timer/{running.pk}/stop", headers=htmx("http://testserver/jobs/1/"))
    assert answer["HX-Redirect"] == "/sign-in?next=/jobs/1/"
    running.refresh_from_db()
    assert running.seconds is None


def test_wrong_method_and_missing(signed_in: Client, running: TimeEntry) -> None:
    assert signed_in.get(f"/timer/{running.pk}/stop").status_code == 405
    assert signed_in.post("/timer/").status_code == 405
    assert signed_in.post(f"/timer/{running.pk + 1}/stop").status_code == 404
    assert signed_in.post(f"/timer/{'9' * 30}/stop").status_code == 404


def test_a_form_of_another_site_is_refused(owner: Person, running: TimeEntry) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    assert client.post(f"/timer/{running.pk}/stop").status_code == 403
