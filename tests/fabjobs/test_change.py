"""Changing a job: the stored sheet typed back, a new revision, what was logged kept, what is stale told."""

import copy
import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

import calc
from calc.comparing import compare
from fabjobs.changes import cuts_told
from fabjobs.forms import ChangeForm
from fabjobs.frozen import cut_into
from fabjobs.models import Job, Part, Person, RateBook, Revision, ShopSettings, Step, StepNote, Tick, TimeEntry
from fabjobs.planning import restore
from fabjobs.services import job_create, time_enter
from tests.conftest import PASSWORD
from tests.fabjobs.changing import DEEPER, WIDER, first_cut, latest, tick, typed, work_on
from tests.fabjobs.test_new_job import fault_beside, value_of

PAGE, PREVIEW, CORNERS = "/jobs/1/change", "/jobs/1/change/preview", "/jobs/1/change/ask"
Headers = Callable[..., dict[str, str]]


def numbers() -> list[int]:
    return list(Revision.objects.order_by("number").values_list("number", flat=True))


def rows() -> list[list[Any]]:
    return [list(model.objects.order_by("pk").values()) for model in (Job, Revision, Part, Step, Tick, TimeEntry)]


def sent_by(page: str) -> dict[str, str]:
    """What a browser would send of the page's form, nothing typed."""
    form = page[page.index("<form id=") :]
    fields = {}
    for tag in re.findall(r"<input[^>]*>", form):
        kind = re.search(r'type="(\w+)"', tag)
        name, value = re.search(r'name="(\w+)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and (kind is None or kind[1] not in ("radio", "checkbox") or " checked" in tag):
            ticked = "on" if kind and kind[1] == "checkbox" else ""
            fields[name[1]] = value[1].replace("&#x27;", "'") if value else ticked
    for name, options in re.findall(r'<select name="(\w+)"(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', options)
        fields[name] = chosen[1] if chosen else ""
    return fields


def test_the_form_opens_with_what_is_stored(signed_in: Client, job: Job) -> None:
    page = signed_in.get(PAGE).content.decode()
    given = {name: value_of(page, name) for name in ("title", "due_day", "corner_2_x", "corner_3_x", "low_y", "depth")}
    assert given == {
        "title": "Coolant tray", "due_day": "2031-05-09", "corner_2_x": "797", "corner_3_x": "-14", "low_y": "163",
        "depth": "48",
    }  # fmt: skip
    assert (value_of(page, "bore"), value_of(page, "sheet_length"), value_of(page, "price")) == ("32", "2500", "96.00")
    assert (value_of(page, "started_from"), value_of(page, "job_version")) == ("1", "1")
    assert 'name="labour"' not in page
    assert page.index("<svg") < page.index('name="title"')


def test_sent_as_it_opened_it_changes_nothing(signed_in: Client, job: Job) -> None:
    before = rows()
    answer = signed_in.post(PAGE, sent_by(signed_in.get(PAGE).content.decode()))
    assert (answer.status_code, answer["Location"]) == (302, "/jobs/1/")
    assert rows() == before


def test_a_shop_that_reads_inches_gets_the_same_lengths_back(signed_in: Client, job: Job) -> None:
    ShopSettings.objects.update(unit="in", rule="1/16")
    page = signed_in.get(PAGE).content.decode()
    assert value_of(page, "corner_1_x") == "812 mm"  # no fraction of an inch is 812 mm: 1 in = 25.4 mm exactly
    assert value_of(page, "corner_0_x") == "0"
    before = rows()
    assert signed_in.post(PAGE, sent_by(page)).status_code == 302
    assert rows() == before
    assert signed_in.post(PAGE, typed(job, depth="2 1/2", reason="Deeper")).status_code == 302
    sheet = latest(job).sheet
    assert sheet["shape"]["depth"] == 63.5  # 2.5 x 25.4
    assert sheet["making"]["units"] == "mm"  # the job's papers go on in the unit that they began with


def test_new_measurements_make_the_next_revision(signed_in: Client, job: Job, owner: Person) -> None:
    answer = signed_in.post(PAGE, typed(job, **DEEPER))
    assert (answer.status_code, answer["Location"]) == (302, "/jobs/1/")
    first, second = Revision.objects.order_by("number")
    assert (second.number, second.reason, second.created_by) == (2, "Pump sits lower", owner)
    assert second.sheet == {**first.sheet, "shape": {**first.sheet["shape"], "depth": 60}}
    assert second.check_code != first.check_code
    assert not compare(restore(second), restore(second)).is_any
    assert set(Step.objects.values_list("revision__number", flat=True)) == {2}


def test_the_same_form_twice_makes_one_revision(signed_in: Client, job: Job) -> None:
    sent = typed(job, **DEEPER)
    answers = [signed_in.post(PAGE, sent) for _ in range(2)]
    assert [(answer.status_code, answer["Location"]) for answer in answers] == [(302, "/jobs/1/")] * 2
    assert numbers() == [1, 2]


def test_sent_by_htmx_it_leads_the_whole_page_on_or_gives_the_form_back(
    signed_in: Client, job: Job, htmx: Headers
) -> None:
    refused = signed_in.post(PAGE, typed(job, depth="-5"), headers=htmx())
    assert refused.status_code == 422
    assert refused.content.decode().lstrip().startswith('<form id="change"')
    sent = typed(job, **DEEPER)
    assert [signed_in.post(PAGE, sent, headers=htmx())["HX-Redirect"] for _ in range(2)] == ["/jobs/1/"] * 2
    assert numbers() == [1, 2]


def test_gone_back_to_and_typed_over_a_form_is_not_taken_for_a_repeat(signed_in: Client, job: Job) -> None:
    sent = typed(job, **DEEPER)
    signed_in.post(PAGE, sent)
    answer = signed_in.post(PAGE, {**sent, "depth": "65"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "This form made revision 2 already." in page
    assert (value_of(page, "depth"), numbers()) == ("65", [1, 2])
    assert signed_in.post(PAGE, sent_by(page)).status_code == 302
    assert latest(job).sheet["shape"]["depth"] == 65


def test_measurements_without_a_reason_are_not_changed(signed_in: Client, job: Job) -> None:
    before = rows()
    answer = signed_in.post(PAGE, typed(job, **{**DEEPER, "reason": "  "}))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Say why the measurements change" in fault_beside(page, "reason")
    assert value_of(page, "depth") == "60"
    assert rows() == before


def test_the_jobs_own_lines_change_without_a_revision(signed_in: Client, job: Job, owner: Person) -> None:
    sent = typed(job, title="Swarf tray", customer="", due_day="2031-06-01")
    assert signed_in.post(PAGE, sent).status_code == 302
    job.refresh_from_db()
    assert (job.title, job.customer, str(job.due_day), job.version) == ("Swarf tray", "", "2031-06-01", 2)
    assert (job.changed_by, job.changed_at is not None) == (owner, True)
    assert numbers() == [1]
    assert latest(job).sheet["title"] == "Coolant tray"
    assert signed_in.post(PAGE, sent).status_code == 302  # the same once more
    job.refresh_from_db()
    assert job.version == 2
    signed_in.post(PAGE, typed(job, **DEEPER))
    assert latest(job).sheet["title"] == "Swarf tray"  # the words follow with the next revision
    assert restore(latest(job)).sheet.customer == ""


def test_both_change_together(signed_in: Client, job: Job) -> None:
    assert signed_in.post(PAGE, typed(job, title="Swarf tray", **DEEPER)).status_code == 302
    job.refresh_from_db()
    assert (job.title, job.version, latest(job).sheet["title"], numbers()) == ("Swarf tray", 2, "Swarf tray", [1, 2])


def test_what_the_form_does_not_show_is_carried_over(signed_in: Client, owner: Person, sheet: dict[str, Any]) -> None:
    from fabjobs import planning
    from fabjobs.services import job_create

    sheet["making"] |= {"least_offcut": 222, "tack_pitch": 55, "tolerance_class": "C", "two_person_mass": 31}
    sheet["stock"] = [
        {"label": "Big", "length": 2500, "width": 1250, "price": "96.00", "count": 4},
        {"label": "Rest", "length": 900, "width": 700, "price": "12.00", "count": 1},
    ]
    sheet["rates"] = {"labour": "51.00", "labour_by_kind": {"weld": "63.00"}, "filler": "30.00", "currency": "EUR"}
    job = job_create(plan=planning.compute(sheet), due_day=None, by=owner)
    assert signed_in.post(PAGE, typed(job, **DEEPER, price="99.50")).status_code == 302
    first, second = (revision.sheet for revision in Revision.objects.order_by("number"))
    assert second["making"] == first["making"]
    assert second["rates"] == first["rates"]
    assert second["stock"] == [{**first["stock"][0], "price": "99.50"}, first["stock"][1]]


def test_rates_are_the_revisions_own_unless_todays_are_asked_for(signed_in: Client, job: Job, owner: Person) -> None:
    book = {"labour": "71.00", "filler": "31.00", "gas": "0.0300", "outlet_fitting": "19.00"}
    RateBook.objects.create(created_by=owner, labour_by_kind={"weld": "80.00"}, **book)
    signed_in.post(PAGE, typed(job, **DEEPER))
    assert latest(job).sheet["rates"]["labour"] == "42.00"
    signed_in.post(PAGE, typed(job, todays_rates="on", reason="New year"))
    assert numbers() == [1, 2, 3]
    rates = latest(job).sheet["rates"]
    assert (rates["labour"], rates["labour_by_kind"], rates["outlet_fitting"]) == ("71.00", {"weld": "80.00"}, "19.00")
    assert Step.objects.get(key="weld:A-B").rate == 80
    assert Revision.objects.get(number=1).sheet["rates"]["labour"] == "42.00"


def test_work_on_steps_that_stay_is_kept_and_the_rest_is_retired(signed_in: Client, job: Job, owner: Person) -> None:
    same, other = Step.objects.get(key="mark:A"), Step.objects.get(key="mark:C")
    untouched = Step.objects.get(key="mark:B")
    for step in (same, other):
        work_on(step, owner)
    logged = [list(model.objects.order_by("pk").values()) for model in (Tick, TimeEntry, StepNote)]
    assert signed_in.post(PAGE, typed(job, **WIDER)).status_code == 302  # moves facets B and C, not A and D
    assert [list(model.objects.order_by("pk").values()) for model in (Tick, TimeEntry, StepNote)] == logged
    same.refresh_from_db()
    assert (same.retired, same.done_by, same.revision.number) == (False, owner, 2)
    other.refresh_from_db()
    assert (other.retired, other.revision.number) == (True, 1)
    anew = Step.objects.get(key="mark:C", retired=False)
    assert (anew.done_at, anew.revision.number, anew.pk != other.pk) == (None, 2, True)
    assert Step.objects.get(key="mark:B").pk == untouched.pk  # nothing was logged on it: the row is written over


def test_another_metal_undoes_all_work_but_the_measuring(signed_in: Client, job: Job, owner: Person) -> None:
    steps = [Step.objects.get(key=key) for key in ("measure:rim", "mark:A", "aperture:rim", "weld:A-B")]
    for step in [*steps, first_cut(job)]:
        tick(step, owner)
    assert signed_in.post(PAGE, typed(job, thickness="2", reason="Stiffer")).status_code == 302
    still_done = set(Step.objects.filter(retired=False, done_at__isnull=False).values_list("key", flat=True))
    assert still_done == {"measure:rim"}
    assert latest(job).sheet["frozen"] == []


def test_what_is_good_on_a_sheet_that_was_cut_into_stays_and_the_rest_is_laid_out_beside_it(
    signed_in: Client, job: Job, owner: Person
) -> None:
    cut = first_cut(job)
    work_on(cut, owner)
    before = latest(job).plan["layout"]["sheets"]
    page = signed_in.post(PREVIEW, typed(job, **WIDER)).content.decode()
    cuts = len(before[0]["cuts"])
    assert re.search(rf"<b>Sheet 1</b> \(S1\): it was cut into\. 1 of {cuts} cuts, last by edda, \d+ \w+\.", page)
    lines = told_of_sheets(page)
    assert "Stays where it lies: A.1, D.1." in lines
    assert "Marked out, not cut, its metal used again: B.1, C.1. Strike its lines out." in lines
    assert sorted(re.findall(r"[A-Z]\.\d", " ".join(line for line in lines if "anew on a piece left" in line))) == [
        "B.2",
        "C.2",
    ]
    assert "Made anew." not in page  # nothing of B and C is cut yet
    assert signed_in.post(PAGE, typed(job, **WIDER)).status_code == 302
    second = latest(job)
    made = copy.deepcopy(before)
    made[0]["cuts"][0]["made"] = True
    assert second.sheet["frozen"] == made
    (first,) = second.plan["layout"]["sheets"]
    lies = {f"{one['blank']}.{one['copy']}": one["outline"] for one in first["placed"] if one["fits"]}
    assert set(lies) == {"A.1", "B.2", "C.2", "D.1"}  # B and C are of another shape now
    assert {name: lies[name] for name in ("A.1", "D.1")} == {
        f"{one['blank']}.{one['copy']}": one["outline"] for one in before[0]["placed"] if one["blank"] in "AD"
    }
    cut.refresh_from_db()
    assert (cut.retired, cut.done_by, cut.revision.number) == (False, owner, 2)
    assert cut.times.get().seconds == 900


def told_of_sheets(page: str) -> list[str]:
    """What the page says of the sheets that were cut into, line by line."""
    (told,) = re.findall(r'<div class="frozen">(.*?)</div>', page, re.DOTALL)
    return re.findall(r"<li>([^<>]+)</li>", told)


def test_blanks_cut_free_that_no_longer_fit_are_told_and_not_laid_over(
    signed_in: Client, job: Job, owner: Person
) -> None:
    cuts = Step.objects.filter(fabrication__job=job, retired=False, kind="cut")
    for step in cuts:
        tick(step, owner)
    page = signed_in.post(PREVIEW, typed(job, **WIDER)).content.decode()
    lines = told_of_sheets(page)
    assert "No use for it now: B.1, C.1." in lines
    assert "no longer fit the new shape, or are more than the job needs: B, C. Write that on them" in page
    assert not any("used again" in line for line in lines)
    assert signed_in.post(PAGE, typed(job, **WIDER)).status_code == 302
    stored = signed_in.get("/jobs/1/revisions/1/2/").content.decode()
    assert told_of_sheets(stored) == lines
    (first,) = latest(job).plan["layout"]["sheets"]
    assert {one["blank"]: one["fits"] for one in first["placed"] if one["copy"] == 1} == {
        "A": True,
        "B": False,
        "C": False,
        "D": True,
    }
    assert [one["copy"] for one in first["placed"] if one["copy"] > 1] == [2, 2]  # on the end of the sheet


def test_another_size_of_sheet_leaves_what_was_cut_at_its_own_size_and_price(
    signed_in: Client, job: Job, owner: Person
) -> None:
    tick(first_cut(job), owner)
    assert (
        signed_in.post(PAGE, typed(job, **WIDER, sheet_length="2000", price="80.00", quantity="12")).status_code == 302
    )
    second = latest(job)
    typed_size, cut_size = second.sheet["stock"]
    assert (typed_size["label"], typed_size["length"], typed_size["price"]) == ("S2", 2000, "80.00")
    assert (cut_size["label"], cut_size["length"], cut_size["price"], cut_size["count"]) == ("S1", 2500, "96.00", 1)
    first, *others = [used["stock"] for used in second.plan["layout"]["sheets"]]
    assert (first, set(others)) == ("S1", {"S2"})
    metal = [line["amount"] for line in second.plan["cost"]["lines"] if line["kind"] == "metal"]
    assert metal == ["96.00", f"{80 * len(others)}.00"]


def test_who_saved_first_is_told_and_nothing_typed_is_lost(signed_in: Client, job: Job) -> None:
    other = Person.objects.create_user("bror", password=PASSWORD, role="owner")
    mine, theirs = typed(job, **DEEPER), typed(job, **WIDER)
    second = Client()
    second.force_login(other)
    assert second.post(PAGE, theirs).status_code == 302
    answer = signed_in.post(PAGE, mine)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert re.search(r"bror saved revision 2 (on .* )?at \d\d:\d\d \(Leg in the way\)\.", page)
    assert "/jobs/1/revisions/1/2/" in page
    assert (value_of(page, "depth"), value_of(page, "reason")) == ("60", "Pump sits lower")
    assert (value_of(page, "started_from"), numbers()) == ("2", [1, 2])
    # told of it, the person sends the same again, or puts the other's corner in first
    again = signed_in.post(PAGE, {**sent_by(page), "corner_2_x": "803", "corner_2_y": "399"})
    assert again.status_code == 302
    assert numbers() == [1, 2, 3]
    assert (latest(job).sheet["shape"]["depth"], latest(job).sheet["shape"]["rim"][2]) == (60, [803, 399])


def test_an_older_form_with_only_the_title_typed_is_told_of_the_revision_before_it_is_asked_why(
    signed_in: Client, job: Job
) -> None:
    mine = typed(job, title="Swarf tray")
    signed_in.post(PAGE, typed(job, **WIDER))
    answer = signed_in.post(PAGE, mine)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert re.search(r"edda saved revision 2 (on .* )?at \d\d:\d\d \(Leg in the way\)\.", page)
    assert "Say why" not in page
    assert (value_of(page, "title"), value_of(page, "started_from"), numbers()) == ("Swarf tray", "2", [1, 2])


def test_time_by_hand_has_a_day_and_no_hour_in_what_a_change_undoes(signed_in: Client, job: Job, owner: Person) -> None:
    step = Step.objects.get(key="mark:C")
    time_enter(step=step, day=date(2031, 5, 9), minutes=15, by=owner, form_key=uuid4())
    page = signed_in.post(PREVIEW, typed(job, **WIDER)).content.decode()
    assert "edda, 9 May 2031: 15 min" in page


def test_the_cuts_of_a_sheet_are_told_in_one_line(job: Job, owner: Person) -> None:
    cuts = list(Step.objects.filter(kind="cut").order_by("position")[:3])
    for step in cuts[:2]:
        tick(step, owner)
    Step.objects.filter(pk=cuts[0].pk).update(done_at=datetime(2024, 11, 19, 12, tzinfo=UTC))
    Step.objects.filter(pk=cuts[1].pk).update(done_at=datetime(2024, 11, 20, 12, tzinfo=UTC))
    TimeEntry.objects.create(step=cuts[2], person=owner, by=owner, started_at=timezone.now(), seconds=60, rate=40)
    (sheet,) = cut_into(cuts[0].fabrication)
    told = cuts_told(sheet)
    assert told == f"2 of {len(sheet.layout['cuts'])} cuts, last by edda, 20 Nov 2024; time was logged on 1 more cut"


def test_a_preview_laid_out_quickly_says_nothing_of_the_effort(
    signed_in: Client, owner: Person, sheet: dict[str, Any]
) -> None:
    sheet["making"]["effort"] = "normal"
    job = job_create(plan=calc.plan(sheet), due_day=None, by=owner)
    page = signed_in.post(PREVIEW, typed(job, **DEEPER)).content.decode()
    assert re.search(r"Depth</th>", page)
    assert "Effort of the layout" not in page


def test_a_due_day_changed_meanwhile_is_told(signed_in: Client, job: Job) -> None:
    mine = typed(job, title="Swarf tray")
    signed_in.post(PAGE, typed(job, due_day="2031-08-01"))
    answer = signed_in.post(PAGE, mine)
    assert answer.status_code == 409
    page = answer.content.decode()
    assert re.search(r"edda changed the job&#x27;s own lines .*at .*due 1 Aug 2031\.", page)
    assert (value_of(page, "title"), value_of(page, "job_version")) == ("Swarf tray", "2")
    job.refresh_from_db()
    assert (job.title, str(job.due_day)) == ("Coolant tray", "2031-08-01")
    mine = typed(job, title="Swarf tray", **DEEPER)
    Job.objects.update(version=7)
    assert signed_in.post(PAGE, mine).status_code == 409  # the revision is not kept without its lines
    assert numbers() == [1]


def test_the_preview_compares_and_keeps_nothing(signed_in: Client, job: Job, owner: Person, htmx: Headers) -> None:
    work_on(Step.objects.get(key="mark:C"), owner)
    before = rows()
    answer = signed_in.post(PREVIEW, typed(job, **WIDER), headers=htmx())
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in page
    assert re.search(
        r"Corner 3</th>.*797, 391 mm</td>.*803, 399 mm</td>.*10 mm</td>", page
    )  # 6 and 8: 10 by Pythagoras
    assert re.search(r"<th scope=\"row\">B</th><td><b>changed</b>", page)
    assert re.search(r"<th scope=\"row\">A</th><td>the same", page)
    assert "Work that no longer counts as done" in page
    assert re.search(r"Mark out C.*edda, .*: ticked; edda, .*: 15 min; edda, .*: “blade changed”", page)
    assert page.count("<svg") == 3  # from above before and after, and the rim as it is typed
    assert rows() == before


def test_a_timer_that_runs_on_what_changes_runs_on(signed_in: Client, job: Job, owner: Person) -> None:
    step = Step.objects.get(key="mark:C")
    running = TimeEntry.objects.create(step=step, person=owner, by=owner, started_at=timezone.now(), rate=step.rate)
    assert "timer running" in signed_in.post(PREVIEW, typed(job, **WIDER)).content.decode()
    assert signed_in.post(PAGE, typed(job, **WIDER)).status_code == 302
    running.refresh_from_db()
    assert (running.seconds, running.step.retired) == (None, True)


def test_a_preview_of_no_change_says_so(signed_in: Client, job: Job, htmx: Headers) -> None:
    page = signed_in.post(PREVIEW, typed(job), headers=htmx()).content.decode()
    assert "The measurements are those of revision 1." in page


def test_while_typing_what_is_not_filled_in_is_no_fault(signed_in: Client, job: Job, htmx: Headers) -> None:
    page = signed_in.post(PREVIEW, typed(job, depth=""), headers=htmx()).content.decode()
    assert fault_beside(page, "depth") == ""
    assert "Still to give: Depth." in page
    assert "Not given yet." in fault_beside(signed_in.post(PREVIEW, typed(job, depth="")).content.decode(), "depth")


def test_one_corner_more_and_one_less(signed_in: Client, job: Job, htmx: Headers) -> None:
    more = signed_in.post(CORNERS, typed(job, add="1"), headers=htmx()).content.decode()
    assert more.lstrip().startswith('<form id="change"')
    assert (value_of(more, "corners"), value_of(more, "corner_4_x")) == ("5", "")
    less = signed_in.post(CORNERS, typed(job, take_out="1")).content.decode()
    assert [value_of(less, f"corner_{i}_x") for i in range(3)] == ["0", "797", "-14"]
    assert Revision.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"title": ""}, "title", "Not given yet."),
        ({"due_day": "soon"}, "due_day", "valid date"),
        ({"depth": "-5"}, "depth", "must be more than 0 mm"),
        ({"depth": "1,500"}, "depth", "the comma may mark thousands or decimals"),
        ({"low_x": "2000"}, "low_x", "must lie inside the rim"),
        ({"price": "cheap"}, "price", "an amount such as"),
        ({"reason": "x" * 201}, "reason", "at most 200 characters"),
        ({"reason": "Pump\u202esits lower"}, "reason", "must be one line of plain text"),
        ({"reason": "Pump\u2028sits lower"}, "reason", "must be one line of plain text"),
        ({"quantity": "0"}, "quantity", "a whole number from 1 to 500"),
    ],
)
def test_a_fault_stands_beside_its_field(
    signed_in: Client, job: Job, change: dict[str, str], field: str, words: str
) -> None:
    before = rows()
    answer = signed_in.post(PAGE, typed(job, **{"reason": "Try", **change}))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in fault_beside(page, field).replace("&#x27;", "'")
    assert value_of(page, "corner_3_y") == "402"
    assert rows() == before


@pytest.mark.parametrize("name", ["started_from", "job_version", "form_key", "corners"])
def test_a_form_that_lost_its_marks_says_so(signed_in: Client, job: Job, name: str) -> None:
    before = rows()
    answer = signed_in.post(PAGE, typed(job, **{**DEEPER, name: "x"}))
    assert answer.status_code == 422
    assert "did not come back whole" in answer.content.decode()
    assert rows() == before


def test_words_typed_are_words_on_every_page(signed_in: Client, job: Job) -> None:
    nasty = '"><script>alert(1)</script>'
    assert signed_in.post(PAGE, typed(job, depth="60", reason=nasty, title=nasty)).status_code == 302
    for path in (
        "/jobs/1/",
        "/jobs/1/revisions/1/2/",
        PAGE,
        f"/jobs/1/?paper=1-{Revision.objects.get(number=1).check_code}",
    ):
        page = signed_in.get(path).content.decode()
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert(1)" in page


@pytest.mark.parametrize("path", [PAGE, PREVIEW, CORNERS])
def test_signed_out(job: Job, path: str) -> None:
    before = rows()
    answer = Client().post(path, typed(job, **DEEPER))
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in?next=/")
    assert rows() == before


@pytest.mark.parametrize(("path", "method"), [(PAGE, "put"), (PAGE, "delete"), (PREVIEW, "get"), (CORNERS, "get")])
def test_wrong_method(signed_in: Client, job: Job, path: str, method: str) -> None:
    assert getattr(signed_in, method)(path).status_code == 405


@pytest.mark.parametrize("path", [PAGE, PREVIEW, CORNERS])
def test_a_job_that_is_not_there(signed_in: Client, job: Job, path: str) -> None:
    sent = typed(job, **DEEPER)
    assert signed_in.post(path.replace("/1/", "/2/"), sent).status_code == 404
    Job.objects.create(number=3, title="Empty", created_by=job.created_by)
    assert signed_in.post(path.replace("/1/", "/3/"), sent).status_code == 404


@pytest.mark.parametrize("path", [PAGE, PREVIEW, CORNERS])
def test_nothing_is_taken_without_the_forms_own_token(job: Job, owner: Person, path: str) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    assert client.post(path, typed(job, **DEEPER)).status_code == 403
    assert numbers() == [1]


def test_a_job_laid_out_at_long_effort_is_changed_at_the_usual_one(signed_in: Client, job: Job) -> None:
    revision = job.fabrications.get().revisions.get()
    sheet = {**revision.sheet, "making": {**revision.sheet["making"], "effort": "long"}}
    laid_out = Revision(fabrication=revision.fabrication, number=1, sheet=sheet, plan=revision.plan)
    form = ChangeForm.of(job, laid_out, shop=ShopSettings.current())
    assert form.is_valid()
    assert not form.changes_the_sheet
    assert form.sheet["making"]["effort"] == "normal"
