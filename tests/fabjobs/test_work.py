"""At the work: the next step, what it says, the tick that leads on, and the way there by the code on a traveller."""

import re
import uuid
from collections.abc import Callable
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.utils import timezone

import calc
from calc.at_work import at_work
from fabjobs.at_work import left_out_words, next_after
from fabjobs.models import Form, Job, Person, Revision, Step, StockItem, Tick, TimeEntry
from fabjobs.paper_check import mark_of
from fabjobs.services import step_tick, timer_start
from tests.conftest import PASSWORD

pytestmark = pytest.mark.usefixtures("early_in_its_day")

Htmx = Callable[..., dict[str, str]]
PUT_AWAY = 'action="/jobs/1/put-away"'


@pytest.fixture
def steps(job: Job) -> list[Step]:
    return list(Step.objects.filter(fabrication__job=job).order_by("position"))


def page_of(client: Client, step: Step, query: str = "") -> str:
    answer = client.get(f"/jobs/1/at-work/{step.pk}/{query}")
    assert answer.status_code == 200
    return answer.content.decode()


def fields(page: str, action: str) -> dict[str, str]:
    """What the form with this action sends."""
    form = page[page.index(f'action="{action}"') :]
    return dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[: form.index("</form>")]))


def tick(client: Client, step: Step, **given: Any) -> Any:
    sent = {
        "version": step.version,
        "revision": step.revision_id,
        "done": "1",
        "back": "work",
        "form_key": uuid.uuid4(),
    }
    headers = given.pop("headers", {})
    return client.post(f"/jobs/1/steps/{step.pk}/tick", sent | given, headers=headers)


def ticked(by: Person, *steps: Step) -> None:
    for step in steps:
        step_tick(step=step, version=step.version, done=True, by=by, form_key=uuid.uuid4())


def cuts(steps: list[Step]) -> list[Step]:
    return [step for step in steps if step.kind == "cut"]


def test_the_next_step_is_the_first_that_is_not_ticked(
    signed_in: Client, job: Job, steps: list[Step], owner: Person
) -> None:
    assert signed_in.get("/jobs/1/at-work/")["Location"] == f"/jobs/1/at-work/{steps[0].pk}/"
    ticked(owner, steps[0], steps[2])
    assert signed_in.get("/jobs/1/at-work/")["Location"] == f"/jobs/1/at-work/{steps[1].pk}/"
    assert next_after(job, steps[1].pk) == steps[3].pk  # the third is passed over
    assert next_after(job, steps[-1].pk) == steps[1].pk  # what was left out before comes last


def test_every_step_of_a_job_has_its_page(signed_in: Client, plan: calc.Plan, steps: list[Step]) -> None:
    for step in steps:
        page = page_of(signed_in, step)
        said = at_work(plan, step.key)
        heading = re.sub(r"<[^>]+>", "", re.findall(r"<h1[^>]*>(.*?)</h1>", page, re.DOTALL)[0])
        assert said.words in heading
        assert f"step {step.position} of {len(steps)}" in heading
        assert page.count('class="figure-large"') == len(said.figures)
        is_drawn = '<svg xmlns="http://www.w3.org/2000/svg" class="drawing' in page
        assert is_drawn == (step.key != "aperture:rim"), step.key  # an opening is drawn once its tray is measured
        assert page.count(f'action="/jobs/1/steps/{step.pk}/tick"') == 1


def test_a_cut_shows_its_own_drawing_a_seam_its_runs_a_blank_its_offsets(signed_in: Client, steps: list[Step]) -> None:
    by_key = {step.key: step for step in steps}
    cut = cuts(steps)[2]
    assert "<title>Cut 3</title>" in page_of(signed_in, cut)
    assert "<title>C-D: runs, numbered" in page_of(signed_in, by_key["weld:C-D"])
    assert "<title>C-D: tacks, a dot at the first</title>" in page_of(signed_in, by_key["tack:C-D"])
    assert "<title>Blank A, dimensioned</title>" in page_of(signed_in, by_key["mark:A"])


def test_no_money_stands_there(signed_in: Client, steps: list[Step]) -> None:
    for step in steps[:3]:
        assert not re.search(r"EUR|€|\brate\b|cost", page_of(signed_in, step))


def test_a_tick_leads_on_and_can_be_taken_back_there(signed_in: Client, steps: list[Step]) -> None:
    first, second = steps[:2]
    action = f"/jobs/1/steps/{first.pk}/tick"
    answer = signed_in.post(action, fields(page_of(signed_in, first), action))
    assert answer["Location"] == f"/jobs/1/at-work/{second.pk}/?ticked={first.pk}"
    page = signed_in.get(answer["Location"]).content.decode()
    assert "Ticked: " in page
    back = fields(page, action)
    assert back["done"] == "0"
    assert signed_in.post(action, back)["Location"] == f"/jobs/1/at-work/{first.pk}/"
    first.refresh_from_db()
    assert first.done_at is None
    assert list(Tick.objects.values_list("done", flat=True)) == [True, False]


def test_the_same_tap_sent_twice_is_one_tick(signed_in: Client, steps: list[Step]) -> None:
    key = uuid.uuid4()
    assert {tick(signed_in, steps[0], form_key=key)["Location"] for _ in range(2)} == {
        f"/jobs/1/at-work/{steps[1].pk}/?ticked={steps[0].pk}"
    }
    assert Tick.objects.count() == 1


def test_a_tap_that_was_kept_on_the_device_is_led_on_as_well(signed_in: Client, steps: list[Step], htmx: Htmx) -> None:
    answer = tick(signed_in, steps[0], headers=htmx())
    assert answer["HX-Redirect"] == f"/jobs/1/at-work/{steps[1].pk}/?ticked={steps[0].pk}"


def test_who_comes_second_is_told_on_the_same_page(signed_in: Client, steps: list[Step], owner: Person) -> None:
    ticked(owner, steps[0])
    answer = tick(signed_in, steps[0], version=0)  # as it was seen before that
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "edda ticked this" in page
    assert 'class="work done"' in page
    assert "Take it back" in page


def test_a_tap_that_is_not_whole_changes_nothing(signed_in: Client, steps: list[Step]) -> None:
    answer = tick(signed_in, steps[0], version="x")
    assert answer.status_code == 422
    assert "That form was not whole" in answer.content.decode()
    assert not Tick.objects.exists()


def test_back_goes_to_what_is_done_and_next_passes_over_it(signed_in: Client, steps: list[Step], owner: Person) -> None:
    ticked(owner, steps[0], steps[2])
    page = page_of(signed_in, steps[1])
    assert re.findall(r'href="/jobs/1/at-work/(\d+)/">(Back|Next)<', page) == [
        (str(steps[0].pk), "Back"),
        (str(steps[3].pk), "Next"),
    ]
    assert ">Back<" not in page_of(signed_in, steps[0])


def test_once_all_is_ticked_it_says_so(signed_in: Client, job: Job, steps: list[Step], owner: Person) -> None:
    ticked(owner, *steps[:-1])
    answer = tick(signed_in, steps[-1])
    assert answer["Location"] == f"/jobs/1/at-work/?ticked={steps[-1].pk}"
    page = signed_in.get(answer["Location"]).content.decode()
    assert f"All {len(steps)} steps are ticked" in page
    assert fields(page, f"/jobs/1/steps/{steps[-1].pk}/tick")["done"] == "0"


def test_a_cut_out_of_turn_is_ticked_and_told(signed_in: Client, steps: list[Step], owner: Person) -> None:
    first, second, third, fourth = cuts(steps)[:4]
    ticked(owner, first)
    page = signed_in.get(tick(signed_in, third)["Location"]).content.decode()
    assert "Ticked out of turn: cut 2 is not ticked yet." in page
    fourth.refresh_from_db()
    ticked(owner, fourth)
    assert left_out_words(fourth) == "Ticked out of turn: cut 2 is not ticked yet."
    second.refresh_from_db()
    ticked(owner, second)
    assert left_out_words(second) == ""
    assert left_out_words(steps[0]) == ""


@pytest.mark.parametrize("key", ["", "0", "x", "99999", str(2**40), "9" * 5000, "-1", "1e3", "\u0663"])
def test_a_tick_that_never_was_is_not_told_of(signed_in: Client, steps: list[Step], key: str) -> None:
    answer = signed_in.get(f"/jobs/1/at-work/{steps[0].pk}/", {"ticked": key})
    assert answer.status_code == 200
    assert "Ticked: " not in answer.content.decode()


def test_the_timer_starts_and_stops_there(signed_in: Client, steps: list[Step]) -> None:
    step = steps[0]
    start = f"/jobs/1/steps/{step.pk}/timer"
    answer = signed_in.post(start, fields(page_of(signed_in, step), start))
    assert answer["Location"] == f"/jobs/1/at-work/{step.pk}/"
    stop = f"/timer/{TimeEntry.objects.get().pk}/stop"
    page = page_of(signed_in, step)
    page = page[page.index("<main") :]  # past the bar
    assert signed_in.post(stop, fields(page, stop))["Location"] == f"/jobs/1/at-work/{step.pk}/"
    assert TimeEntry.objects.get().seconds is not None


def test_the_timer_stopped_from_the_bar_has_the_page_read_anew(
    signed_in: Client, steps: list[Step], owner: Person, htmx: Htmx
) -> None:
    entry = timer_start(step=steps[0], by=owner, form_key=uuid.uuid4())
    here = f"http://testserver/jobs/1/at-work/{steps[0].pk}/"
    assert signed_in.post(f"/timer/{entry.pk}/stop", headers=htmx(here))["HX-Refresh"] == "true"


def test_the_timer_stands_at_the_foot_beside_the_tick(signed_in: Client, steps: list[Step]) -> None:
    page = page_of(signed_in, steps[1])
    foot = page[page.index('class="at-foot"') :]
    order = [
        foot.index(words) for words in (">Back<", f"/steps/{steps[1].pk}/tick", f"/steps/{steps[1].pk}/timer", ">Next<")
    ]
    assert order == sorted(order)
    assert page.count(f'action="/jobs/1/steps/{steps[1].pk}/timer"') == 1


RUNS_ON = "Your timer still runs on that step."


def test_a_tick_says_that_its_timer_runs_on_and_one_tap_goes_on_with_it_here(
    signed_in: Client, steps: list[Step], owner: Person
) -> None:
    first, second = steps[:2]
    timer_start(step=first, by=owner, form_key=uuid.uuid4())
    there = tick(signed_in, first)["Location"]
    page = signed_in.get(there).content.decode()
    assert RUNS_ON in page
    entry = TimeEntry.objects.get()
    assert (entry.step, entry.seconds) == (first, None)  # neither moved nor stopped by the tick
    action = f"/jobs/1/steps/{second.pk}/timer"
    form = page[page.index(RUNS_ON) :].partition("</form>")[0]
    assert f'action="{action}"' in form
    assert "Go on with it here" in form
    assert signed_in.post(action, fields(form + "</form>", action))["Location"] == f"/jobs/1/at-work/{second.pk}/"
    entry.refresh_from_db()
    assert entry.seconds is not None
    assert TimeEntry.objects.get(seconds=None).step == second
    assert RUNS_ON not in signed_in.get(there).content.decode()


def test_a_tick_of_a_step_without_its_own_timer_says_nothing_of_it(
    signed_in: Client, steps: list[Step], owner: Person
) -> None:
    bo = Person.objects.create_user("bo", role="hand")
    timer_start(step=steps[0], by=bo, form_key=uuid.uuid4())
    timer_start(step=steps[2], by=owner, form_key=uuid.uuid4())
    page = signed_in.get(tick(signed_in, steps[0])["Location"]).content.decode()
    assert "Ticked: " in page
    assert RUNS_ON not in page


def test_after_the_last_tick_the_timer_that_runs_on_can_be_stopped(
    signed_in: Client, steps: list[Step], owner: Person
) -> None:
    ticked(owner, *steps[:-1])
    entry = timer_start(step=steps[-1], by=owner, form_key=uuid.uuid4())
    page = signed_in.get(tick(signed_in, steps[-1])["Location"]).content.decode()
    told = page[page.index(RUNS_ON) :]
    assert "Go on with it here" not in told
    assert f'action="/timer/{entry.pk}/stop"' in told


# What lies turned over; offcuts


def test_what_lies_turned_over_is_said_above_the_figures(signed_in: Client, plan: calc.Plan, steps: list[Step]) -> None:
    told = 0
    for step in (step for step in steps if step.kind == "mark"):
        page = page_of(signed_in, step)
        for words in at_work(plan, step.key).first:
            assert words.endswith("mark it out mirrored there")
            assert page.index(words) < page.index('class="figure-large"')
            told += 1
        assert f"{step.key.removeprefix('mark:')}.1: 1</th>" in page  # where it lies
    assert told == sum(placed.turned_over for placed in plan.layout.sheets[0].fitting)
    assert told


def test_after_the_last_cut_of_a_sheet_its_offcuts_are_offered_there(
    signed_in: Client, steps: list[Step], owner: Person
) -> None:
    *others, last = cuts(steps)
    ticked(owner, *others)
    assert PUT_AWAY not in page_of(signed_in, last)
    page = signed_in.get(tick(signed_in, last)["Location"]).content.decode()
    assert page.index(PUT_AWAY) < page.index("<h1")
    given = fields(page, PUT_AWAY.removeprefix('action="').rstrip('"')) | {"place": "By the door"}
    assert signed_in.post("/jobs/1/put-away", given).status_code == 302
    assert StockItem.objects.filter(form=Form.OFFCUT, place="By the door").exists()
    assert PUT_AWAY not in page_of(signed_in, steps[-1])


def test_they_are_offered_until_other_work_is_ticked_and_again_once_all_is(
    signed_in: Client, steps: list[Step], owner: Person
) -> None:
    """Ticked in the drawing or the list too; what is not put away by then is not forgotten at the end."""
    ticked(owner, *cuts(steps))
    assert PUT_AWAY in page_of(signed_in, steps[-1])
    rest = [step for step in steps if step.kind != "cut"]
    ticked(owner, rest[0])
    assert PUT_AWAY not in page_of(signed_in, steps[-1])
    ticked(owner, *rest[1:])
    assert PUT_AWAY in signed_in.get("/jobs/1/at-work/").content.decode()


def test_a_last_cut_whose_tick_is_taken_back_offers_nothing(
    signed_in: Client, steps: list[Step], owner: Person
) -> None:
    *_, last = cuts(steps)
    ticked(owner, *cuts(steps))
    last.refresh_from_db()
    step_tick(step=last, version=last.version, done=False, by=owner, form_key=uuid.uuid4())
    assert PUT_AWAY not in page_of(signed_in, steps[-1])


def test_on_the_jobs_page_its_row_leads_to_them(
    signed_in: Client, steps: list[Step], owner: Person, htmx: Htmx
) -> None:
    *others, last = cuts(steps)
    ticked(owner, *others[:-1])
    for step, is_told in ((others[-1], False), (last, True)):
        answer = tick(signed_in, step, back="job", headers=htmx("http://testserver/jobs/1/")).content.decode()
        assert ('<a href="#put-away">its offcuts to the rack</a>' in answer) == is_told


# By the code on a traveller


def test_the_code_leads_through_the_sign_in_to_the_next_step_with_its_paper(
    client: Client, job: Job, steps: list[Step], owner: Person
) -> None:
    mark = mark_of(Revision.objects.get())
    scanned = f"/jobs/1/at-work/?paper={mark}"
    to_sign_in = client.get(scanned)["Location"]
    assert parse_qs(urlsplit(to_sign_in).query) == {"next": [scanned]}
    signed = client.post(to_sign_in, {"username": "edda", "password": PASSWORD, "next": scanned})
    assert signed["Location"] == scanned
    there = client.get(scanned)["Location"]
    assert there == f"/jobs/1/at-work/{steps[0].pk}/?paper={mark}"
    page = client.get(there).content.decode()
    assert "The paper in your hand is the current one." in page
    assert f'action="/jobs/1/steps/{steps[0].pk}/tick"' in page


def test_an_old_paper_is_told_before_anything_else(signed_in: Client, steps: list[Step]) -> None:
    page = page_of(signed_in, steps[0], "?paper=7-QQQQQQ")
    assert page.index("That is not a paper of this shop.") < page.index("<h1")


# Refusals


def test_a_step_that_is_no_longer_made_is_read_on_its_own_page(
    signed_in: Client, steps: list[Step], owner: Person
) -> None:
    ticked(owner, steps[0])
    Step.objects.filter(pk=steps[0].pk).update(retired=True)
    assert signed_in.get(f"/jobs/1/at-work/{steps[0].pk}/")["Location"] == f"/jobs/1/steps/{steps[0].pk}/"
    assert signed_in.get("/jobs/1/at-work/")["Location"] == f"/jobs/1/at-work/{steps[1].pk}/"


def test_a_tap_on_a_step_that_is_no_longer_made_says_so(signed_in: Client, steps: list[Step], owner: Person) -> None:
    ticked(owner, steps[0])
    Step.objects.filter(pk=steps[0].pk).update(retired=True)
    answer = tick(signed_in, steps[0], version=1, done="0")
    assert answer.status_code == 409
    assert "no longer made" in answer.content.decode()
    assert Step.objects.get(pk=steps[0].pk).done_at is not None


@pytest.mark.parametrize("path", ["/jobs/9/at-work/", "/jobs/1/at-work/99999/", "/jobs/9/at-work/1/"])
def test_what_is_not_there(signed_in: Client, steps: list[Step], path: str) -> None:
    assert signed_in.get(path).status_code == 404


def test_other_methods_and_strangers(client: Client, signed_in: Client, steps: list[Step]) -> None:
    for path in ("/jobs/1/at-work/", f"/jobs/1/at-work/{steps[0].pk}/"):
        assert signed_in.post(path).status_code == 405
        assert Client().get(path)["Location"].startswith("/sign-in?next=")


def test_a_job_without_steps_says_so(signed_in: Client, owner: Person) -> None:
    Job.objects.create(number=7, title="Only asked about", created_by=owner)
    assert "No steps planned" in signed_in.get("/jobs/7/at-work/").content.decode()


def test_notes_stand_there(signed_in: Client, steps: list[Step], owner: Person) -> None:
    step_tick(step=steps[0], version=0, done=True, by=owner, form_key=uuid.uuid4(), note="left edge is bowed")
    page = page_of(signed_in, steps[0])
    assert "left edge is bowed" in page
    assert timezone.localtime(Tick.objects.get().at).strftime("%H:%M") in page
