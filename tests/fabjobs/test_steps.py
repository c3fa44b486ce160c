"""A step: its row on the job's page and its own page; ticks, notes, time by hand, corrections, and every refusal."""

import re
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

import calc
from calc.at_work import at_work
from calc.steps import cut_keys
from fabjobs import planning
from fabjobs.making import make_section
from fabjobs.models import Job, Person, Step, StepNote, Tick, TimeCorrection, TimeEntry
from fabjobs.models.logged import LONGEST_NOTE
from fabjobs.planning import restore
from fabjobs.services import StepChanged, job_create, note_add, time_enter, timer_start
from tests.fabjobs.ticking import tick

Htmx = Callable[..., dict[str, str]]
ACTIONS = ("tick", "note", "time", "timer")


@pytest.fixture
def step(job: Job) -> Step:
    return Step.objects.filter(fabrication__job=job, kind="cut")[0]


@pytest.fixture
def other(shop: object) -> Person:
    return Person.objects.create_user("bo", role="owner")


@pytest.fixture
def path(step: Step) -> str:
    return f"/jobs/1/steps/{step.pk}/"


@pytest.fixture
def entry(step: Step, owner: Person) -> TimeEntry:
    return time_enter(step=step, day=timezone.localdate(), minutes=80, by=owner, form_key=uuid.uuid4())


def ticking(step: Step, **given: Any) -> dict[str, Any]:
    """What the form of a tick sends."""
    sent = {"version": step.version, "revision": step.revision_id, "done": "1", "form_key": uuid.uuid4()}
    return {**sent, **given}


def correcting(entry: TimeEntry, **given: Any) -> dict[str, Any]:
    sent = {"was": entry.seconds, "took": "50", "reason": "tea", "form_key": uuid.uuid4(), **given}
    return {f"entry{entry.pk}-{name}": value for name, value in sent.items()}


def by_hand(**given: Any) -> dict[str, Any]:
    return {"day": timezone.localdate().isoformat(), "took": "1 h 20", "form_key": uuid.uuid4(), **given}


# --- what the pages show


def test_the_job_page_has_a_row_a_step_with_its_tick_time_and_notes(
    signed_in: Client, job: Job, step: Step, owner: Person, other: Person, entry: TimeEntry
) -> None:
    tick(step, other)
    note_add(step=step, text="<b>blade</b> swapped", by=owner, form_key=uuid.uuid4())
    page = signed_in.get("/jobs/1/").content.decode()
    assert page.count('<li id="step-') == Step.objects.count()
    row = page[page.index(f'id="step-{step.pk}"') :].partition("</li>")[0]
    assert 'aria-pressed="true"' in row
    assert re.search(r"ticked by bo (on .* )?at", row)
    assert "&lt;b&gt;blade&lt;/b&gt; swapped" in row
    assert "<b>1 h 20 min</b>" in row
    assert "<b>Cutting</b> <span>1 of" in page
    assert f"<span>1 of {Step.objects.count()} steps done</span> <span>1 h 20 min logged of" in page


def test_the_page_of_a_cut_has_its_picture_and_no_other_step_has_one(signed_in: Client, job: Job) -> None:
    plan = restore(job.fabrications.get().revisions.get())
    keys = [key for of_sheet in cut_keys(plan.layout) for key in of_sheet]
    cuts = Step.objects.filter(kind="cut")
    assert len(keys) == len(cuts)
    for step in cuts:
        page = signed_in.get(f"/jobs/1/steps/{step.pk}/").content.decode()
        assert page.count('class="drawing cut-drawing"') == 1
        number = re.match(r"Sheet 1, cut (\d+): ", step.text)
        assert number is not None
        assert keys.index(step.key) + 1 == int(number[1])
        assert f"<title>Cut {number[1]}</title>" in page
    other = Step.objects.exclude(kind="cut")[0]
    assert "cut-drawing" not in signed_in.get(f"/jobs/1/steps/{other.pk}/").content.decode()


def test_steps_of_an_earlier_revision_are_listed_apart(
    signed_in: Client, job: Job, step: Step, owner: Person, sheet: dict[str, Any]
) -> None:
    tick(step, owner)
    sheet["material"]["thickness"] = 2.0  # of other metal every cut is made anew
    planning.store(fabrication=step.fabrication, plan=calc.plan(sheet), by=owner)
    page = signed_in.get("/jobs/1/").content.decode()
    before, _, after = page.partition("Worked on under an earlier revision")
    assert f'id="step-{step.pk}"' not in before
    row = after[after.index(f'id="step-{step.pk}"') :].partition("</li>")[0]
    assert "under revision 1" in row
    assert "<form" not in row
    own = signed_in.get(f"/jobs/1/steps/{step.pk}/").content.decode()
    assert "worked on under revision 1" in own
    assert "Tick it done" not in own
    assert "Take the tick back" not in own


def test_its_page_is_headed_by_few_words_and_leads_to_the_work(
    signed_in: Client, plan: calc.Plan, step: Step, path: str, owner: Person
) -> None:
    page = signed_in.get(path).content.decode()
    heading = re.sub(r"<[^>]+>", "", page[page.index("<h1>") : page.index("</h1>")])
    words = at_work(plan, step.key).words
    assert words in heading
    assert step.text not in heading
    assert f'<p class="in-full">{step.text}</p>' in page
    assert f'href="/jobs/1/at-work/{step.pk}/">At work</a>' in page
    assert f'<button id="tick-{step.pk}" class="go"' in page
    tick(step, owner)
    assert f'<button id="tick-{step.pk}" formaction=' in signed_in.get(path).content.decode()
    Step.objects.filter(pk=step.pk).update(retired=True)
    gone = signed_in.get(path).content.decode()
    assert f'href="/jobs/1/at-work/{step.pk}/"' not in gone
    assert step.text in gone[gone.index("<h1>") : gone.index("</h1>")]


@pytest.mark.parametrize("count", [1, 12])
def test_queries_of_the_steps_do_not_grow_with_what_is_logged(
    job: Job, owner: Person, other: Person, count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:  # fmt: skip
    for step in Step.objects.filter(fabrication__job=job)[:count]:
        tick(step, owner)
        note_add(step=step, text="n", by=other, form_key=uuid.uuid4())
        time_enter(step=step, day=timezone.localdate(), minutes=3, by=owner, form_key=uuid.uuid4())
    with django_assert_num_queries(
        6
    ) as asked:  # steps, notes, running timers, what was spoiled, progress, sum of the time
        shown = make_section(job, owner)
    assert [len(step.notes.all()) for step in shown["steps"]][: count + 1] == [1] * count + [0]  # type: ignore[attr-defined, index]
    assert not any('"plan"' in query["sql"] for query in asked.captured_queries)


def test_a_step_has_a_page_with_all_that_was_logged(
    signed_in: Client, step: Step, path: str, owner: Person, other: Person, entry: TimeEntry
) -> None:
    tick(step, owner)
    tick(step, other, done=False)
    signed_in.post(f"{path}time/{entry.pk}", correcting(entry, took="0:50", reason="tea counted in"))
    page = signed_in.get(path).content.decode()
    assert step.text in page
    assert re.search(r"Ticked by edda .*Tick taken back by bo", page, re.DOTALL)
    assert re.search(r"was 1 h 20 min; edda made it 50 min (on .* )?at", page)
    assert "tea counted in" in page


# --- a tick


def test_without_a_script_a_tick_leads_back_to_its_row(signed_in: Client, step: Step, path: str) -> None:
    answer = signed_in.post(path + "tick", ticking(step))
    assert (answer.status_code, answer["Location"]) == (302, f"/jobs/1/#step-{step.pk}")
    step.refresh_from_db()
    assert (step.done_by.username if step.done_by else "", step.version) == ("edda", 1)
    answer = signed_in.post(path + "tick", ticking(step, done="0", back="step"))
    assert answer["Location"] == path
    step.refresh_from_db()
    assert step.done_at is None


def test_by_htmx_a_tick_renews_the_row_the_sums_and_the_bar(
    signed_in: Client, step: Step, path: str, htmx: Htmx
) -> None:
    answer = signed_in.post(path + "tick", ticking(step), headers=htmx())
    assert answer.status_code == 200
    swapped = re.findall(r'<\w+ id="([\w-]+)"[^>]* hx-swap-oob="true"', answer.content.decode())
    assert swapped == [f"step-{step.pk}", "made", "put-away", "timer"]  # the step is a cut
    assert 'name="version" value="1"' in answer.content.decode()
    assert "<html" not in answer.content.decode()


def test_two_taps_on_one_form_are_one_tick(signed_in: Client, step: Step, path: str) -> None:
    sent = ticking(step)
    answers = [signed_in.post(path + "tick", sent) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert Tick.objects.count() == 1


def test_a_stale_tick_is_told_in_its_row(signed_in: Client, step: Step, path: str, other: Person, htmx: Htmx) -> None:
    tick(step, other)
    answer = signed_in.post(path + "tick", ticking(step, version=0), headers=htmx())
    assert answer.status_code == 409
    page = answer.content.decode()
    assert re.search(r'role="alert">bo ticked this (on .* )?at \d\d:\d\d\. Your tap changed nothing\.<', page)
    assert 'aria-pressed="true"' in page
    assert 'name="version" value="1"' in page
    assert Tick.objects.count() == 1


def test_a_stale_tick_keeps_the_note_that_was_typed_with_it(
    signed_in: Client, step: Step, path: str, other: Person
) -> None:
    tick(step, other)
    answer = signed_in.post(path + "tick", ticking(step, version=0, back="step", text="half of it"))
    assert answer.status_code == 409
    page = answer.content.decode()
    assert re.search(r"bo ticked this (on .* )?at", page)
    assert 'value="half of it"' in page
    assert not StepNote.objects.exists()


def test_a_note_typed_with_a_tick_is_kept_with_it(signed_in: Client, step: Step, path: str) -> None:
    signed_in.post(path + "tick", ticking(step, back="step", text=" blade swapped "))
    assert StepNote.objects.get().text == "blade swapped"


def test_a_used_tick_with_a_note_typed_since_is_told_and_the_note_can_be_kept(
    signed_in: Client, step: Step, path: str
) -> None:
    sent = ticking(step, back="step")
    signed_in.post(path + "tick", sent)
    answer = signed_in.post(path + "tick", {**sent, "text": "burr on the edge"})
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "This form was sent already: edda ticked" in page
    assert 'value="burr on the edge"' in page
    assert str(sent["form_key"]) not in page
    again = answer.context["note"]["form_key"].value()
    assert signed_in.post(path + "note", {"text": "burr on the edge", "form_key": again}).status_code == 302
    assert (StepNote.objects.get().text, Tick.objects.count()) == ("burr on the edge", 1)


def test_a_used_tick_that_was_taken_back_since_is_told(signed_in: Client, step: Step, path: str, other: Person) -> None:
    sent = ticking(step, back="step")
    signed_in.post(path + "tick", sent)
    tick(step, other, done=False)
    answer = signed_in.post(path + "tick", sent)
    assert answer.status_code == 409
    assert re.search(r"bo took the tick back (on .* )?at", answer.content.decode())
    assert Tick.objects.count() == 2


def test_a_note_kept_and_then_ticked_from_one_form_is_one_note(signed_in: Client, step: Step, path: str) -> None:
    sent = ticking(step, back="step", text="blade swapped")
    for action in ("note", "tick", "tick", "note"):
        assert signed_in.post(path + action, sent).status_code == 302
    assert (StepNote.objects.get().text, Tick.objects.count()) == ("blade swapped", 1)


def test_a_note_kept_and_another_ticked_with_from_one_form_are_both_there(
    signed_in: Client, step: Step, path: str
) -> None:
    sent = ticking(step, back="step")
    for action, text in (("note", "blade swapped"), ("tick", "burr on the edge"), ("tick", "burr on the edge")):
        assert signed_in.post(path + action, {**sent, "text": text}).status_code == 302
    assert [note.text for note in StepNote.objects.all()] == ["blade swapped", "burr on the edge"]
    assert Tick.objects.count() == 1


# Unicode: a right-to-left override, a line separator, a paragraph separator, a zero-width space, a line feed
@pytest.mark.parametrize("odd", ["\u202e", "\u2028", "\u2029", "\u200b", "\n"])
def test_words_that_turn_or_break_the_line_are_refused(
    signed_in: Client, step: Step, path: str, entry: TimeEntry, odd: str
) -> None:
    text = f"blade{odd}swapped"
    for action in ("note", "tick"):
        answer = signed_in.post(path + action, ticking(step, back="step", text=text))
        assert answer.status_code == 422
        assert "must be one line of plain text" in answer.content.decode()
    answer = signed_in.post(f"{path}time/{entry.pk}", correcting(entry, reason=text))
    assert answer.status_code == 422
    assert "must be one line of plain text" in answer.content.decode()
    assert not any(kind.objects.exists() for kind in (StepNote, Tick, TimeCorrection))


@pytest.fixture
def gone(job: Job, owner: Person, sheet: dict[str, Any]) -> int:
    """The key of a step that went as the job was planned anew."""
    taken = Step.objects.latest("pk")
    planning.store(fabrication=taken.fabrication, plan=calc.plan(sheet), by=owner)
    Step.objects.filter(pk=taken.pk).delete()
    return taken.pk


@pytest.mark.parametrize(
    ("action", "typed"),
    [
        ("note", {"text": "half of it"}),
        ("tick", {"text": "half of it"}),
        ("time", {"day": "2031-05-09", "took": "1 h 20"}),
        ("time/7", {"entry7-took": "1 h 20", "entry7-reason": "<b>tea</b>"}),
        ("timer", {}),
    ],
)
def test_what_is_typed_for_a_step_that_a_revision_took_away_comes_back(
    signed_in: Client, gone: int, action: str, typed: dict[str, str]
) -> None:
    answer = signed_in.post(f"/jobs/1/steps/{gone}/{action}", {**typed, "form_key": uuid.uuid4()})
    assert answer.status_code == 409
    page = answer.content.decode()
    assert re.search(r'role="alert">edda made revision 2 (on .* )?at \d\d:\d\d', page)
    assert 'href="/jobs/1/#make"' in page
    for words in typed.values():
        assert f"<dd>{words.replace('<', '&lt;').replace('>', '&gt;')}</dd>" in page
    assert not any(kind.objects.exists() for kind in (StepNote, Tick, TimeEntry))


def test_the_row_of_a_step_that_a_revision_took_away_says_so(signed_in: Client, gone: int, htmx: Htmx) -> None:
    for action in ("tick", "timer"):
        path = f"/jobs/1/steps/{gone}/{action}"
        answer = signed_in.post(path, {"form_key": uuid.uuid4()}, headers=htmx("http://testserver/jobs/1/"))
        page = answer.content.decode()
        assert answer.status_code == 409
        assert f'<li id="step-{gone}" class="step" hx-swap-oob="true">' in page
        assert "edda made revision 2" in page
    assert signed_in.get(f"/jobs/1/steps/{gone}/").status_code == 404


def test_a_step_taken_away_while_it_is_written_to_is_told(
    signed_in: Client, step: Step, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def taken_away(**given: Any) -> None:
        Step.objects.filter(pk=step.pk).delete()
        planning.store(fabrication=step.fabrication, plan=planning.restore(step.revision), by=given["by"])
        Step.objects.filter(pk=step.pk).delete()
        raise StepChanged(step, "gone")

    monkeypatch.setattr("fabjobs.views.steps.note_add", taken_away)
    answer = signed_in.post(path + "note", {"text": "half of it", "form_key": uuid.uuid4()})
    assert answer.status_code == 409
    assert "<dd>half of it</dd>" in answer.content.decode()


@pytest.mark.parametrize(
    "given",
    [
        {"version": ""},
        {"version": "-1"},
        {"version": "x"},
        {"version": "9" * 30},
        {"revision": ""},
        {"done": "2"},
        {"done": ""},
        {"form_key": "x"},
        {"form_key": ""},
        {"text": "n" * (LONGEST_NOTE + 1)},
        {"back": "https://elsewhere.example/"},
    ],
)
def test_a_tick_that_is_not_whole_ticks_nothing(
    signed_in: Client, step: Step, path: str, given: dict[str, str], htmx: Htmx
) -> None:
    for headers in ({}, htmx()):
        answer = signed_in.post(path + "tick", ticking(step, **given), headers=headers)
        assert answer.status_code in {409, 422}
        assert "told" in answer.content.decode() or "at most 500" in answer.content.decode()
    assert not Tick.objects.exists()


# --- a note


def test_a_note_is_added_once(signed_in: Client, step: Step, path: str) -> None:
    sent = {"text": "guide slipped", "form_key": uuid.uuid4()}
    for _ in range(2):
        assert signed_in.post(path + "note", sent)["Location"] == path
    assert StepNote.objects.get().text == "guide slipped"


def test_a_used_form_with_other_words_is_told_and_can_be_sent_again(signed_in: Client, step: Step, path: str) -> None:
    key = uuid.uuid4()
    signed_in.post(path + "note", {"text": "guide slipped", "form_key": key})
    answer = signed_in.post(path + "note", {"text": "and again", "form_key": key})
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "sent already and made: guide slipped" in page
    assert 'value="and again"' in page
    assert str(key) not in page
    again = answer.context["note"]["form_key"].value()
    assert signed_in.post(path + "note", {"text": "and again", "form_key": again}).status_code == 302
    assert StepNote.objects.count() == 2


@pytest.mark.parametrize(
    ("text", "words"), [("", "Not given yet."), ("  ", "Not given yet."), ("n" * 501, "at most 500")]
)
def test_a_note_needs_words_and_not_too_many(signed_in: Client, step: Step, path: str, text: str, words: str) -> None:
    answer = signed_in.post(path + "note", {"text": text, "form_key": uuid.uuid4()})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not StepNote.objects.exists()


# --- time by hand


def test_time_by_hand_is_logged_once(signed_in: Client, step: Step, path: str, owner: Person) -> None:
    sent = by_hand()
    for _ in range(2):
        assert signed_in.post(path + "time", sent)["Location"] == path
    entry = TimeEntry.objects.get()
    assert (entry.seconds, entry.person, entry.by_hand) == (80 * 60, owner, True)
    assert timezone.localtime(entry.started_at).date() == timezone.localdate()


def test_a_used_form_with_another_time_is_told_and_kept(signed_in: Client, step: Step, path: str) -> None:
    sent = by_hand()
    signed_in.post(path + "time", sent)
    answer = signed_in.post(path + "time", {**sent, "took": "35"})
    assert answer.status_code == 409
    assert 'value="35"' in answer.content.decode()
    assert TimeEntry.objects.count() == 1


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"took": ""}, "Not given yet."),
        ({"took": "soon"}, "is no time: write it like 80, 1:20, 1 h 20 or 1.5 h (got &#x27;soon&#x27;)"),
        ({"took": "0"}, "must be more than nothing"),
        ({"took": "25 h"}, "must be at most 24 hours"),
        ({"day": ""}, "Not given yet."),
        ({"day": "31.2.2026"}, "Enter a valid date."),
        ({"day": (timezone.localdate() + timedelta(1)).isoformat()}, "must not lie ahead"),
        ({"day": (timezone.localdate() - timedelta(400)).isoformat()}, "must be within the last year"),
        ({"form_key": ""}, "That form was not whole."),
    ],
)
def test_a_time_that_cannot_be_is_refused_beside_its_field(
    signed_in: Client, step: Step, path: str, given: dict[str, str], words: str
) -> None:
    answer = signed_in.post(path + "time", by_hand(**given))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not TimeEntry.objects.exists()


# --- a correction


def test_a_correction_shows_the_old_time_and_why(signed_in: Client, path: str, entry: TimeEntry) -> None:
    sent = correcting(entry)
    for _ in range(2):
        assert signed_in.post(f"{path}time/{entry.pk}", sent)["Location"] == path
    entry.refresh_from_db()
    line = TimeCorrection.objects.get()
    assert (line.was, line.now, line.reason, entry.seconds) == (4800, 3000, "tea", 3000)


def test_a_stale_correction_is_told_and_kept_with_the_new_time(
    signed_in: Client, path: str, entry: TimeEntry, other: Person
) -> None:
    client = Client()
    client.force_login(other)
    client.post(f"{path}time/{entry.pk}", correcting(entry, took="60"))
    answer = signed_in.post(f"{path}time/{entry.pk}", correcting(entry, took="35", reason="lunch"))
    assert answer.status_code == 409
    page = answer.content.decode()
    assert re.search(r"bo corrected this (on .* )?at", page)
    assert "from 80 min to 60 min: tea" in page
    assert 'value="35"' in page
    assert 'value="lunch"' in page
    assert f'name="entry{entry.pk}-was" value="3600"' in page
    assert TimeCorrection.objects.count() == 1


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"took": ""}, "Not given yet."),
        ({"took": "x"}, "is no time"),
        ({"reason": ""}, "Not given yet."),
        ({"reason": "n" * 501}, "at most 500"),
        ({"was": ""}, "That form was not whole."),
        ({"form_key": "x"}, "That form was not whole."),
    ],
)
def test_a_correction_needs_a_time_and_a_reason(
    signed_in: Client, path: str, entry: TimeEntry, given: dict[str, str], words: str
) -> None:
    answer = signed_in.post(f"{path}time/{entry.pk}", correcting(entry, **given))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert "<details open>" in answer.content.decode()
    assert not TimeCorrection.objects.exists()


def test_an_entry_is_corrected_on_its_own_step_only(signed_in: Client, path: str, entry: TimeEntry, step: Step) -> None:
    elsewhere = Step.objects.exclude(pk=step.pk)[0]
    assert signed_in.post(f"/jobs/1/steps/{elsewhere.pk}/time/{entry.pk}", correcting(entry)).status_code == 404
    assert signed_in.post(f"{path}time/{entry.pk + 1}", correcting(entry)).status_code == 404


def test_a_running_timer_has_no_correction(signed_in: Client, step: Step, path: str, owner: Person) -> None:
    running = timer_start(step=step, by=owner, form_key=uuid.uuid4())
    assert "Correct" not in signed_in.get(path).content.decode()
    assert signed_in.post(f"{path}time/{running.pk}", correcting(running, was=0)).status_code == 409
    assert not TimeCorrection.objects.exists()


# --- who may, and what is not there


@pytest.mark.parametrize("action", ["", *ACTIONS])
def test_signed_out(client: Client, step: Step, path: str, action: str) -> None:
    for method in ("get", "post"):
        assert getattr(client, method)(path + action)["Location"].startswith("/sign-in?next=")
    assert not Tick.objects.exists()


@pytest.mark.parametrize("action", ACTIONS)
def test_signed_out_by_htmx(client: Client, step: Step, path: str, action: str, htmx: Htmx) -> None:
    answer = client.post(path + action, ticking(step), headers=htmx("http://testserver/jobs/1/"))
    assert answer["HX-Redirect"] == "/sign-in?next=/jobs/1/"


def test_someone_who_was_closed_out_may_nothing(signed_in: Client, owner: Person, step: Step, path: str) -> None:
    Person.objects.filter(pk=owner.pk).update(is_active=False)
    assert signed_in.post(path + "tick", ticking(step)).status_code == 302
    assert not Tick.objects.exists()


@pytest.mark.parametrize("action", ACTIONS)
def test_wrong_method(signed_in: Client, path: str, action: str) -> None:
    assert signed_in.get(path + action).status_code == 405
    assert signed_in.post(path).status_code == 405


@pytest.mark.parametrize("action", ["", *ACTIONS])
def test_a_step_that_is_not_there(signed_in: Client, step: Step, plan: calc.Plan, owner: Person, action: str) -> None:
    job_create(plan=plan, due_day=None, by=owner)
    method = signed_in.post if action else signed_in.get
    for missing in (f"/jobs/2/steps/{step.pk}/", "/jobs/1/steps/0/", f"/jobs/1/steps/{'9' * 30}/", "/jobs/7/steps/1/"):
        assert method(missing + action, ticking(step)).status_code == 404, missing


def test_a_form_of_another_site_is_refused(owner: Person, step: Step, path: str) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    for action in ACTIONS:
        assert client.post(path + action, ticking(step)).status_code == 403
