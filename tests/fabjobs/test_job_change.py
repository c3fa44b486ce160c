"""The write behind a change: all of it or none, once a form, never over someone else's."""

from collections.abc import Callable
from datetime import date
from multiprocessing import get_context
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection

import calc
from fabjobs import planning
from fabjobs.frozen import frozen_sheets
from fabjobs.heading import Heading
from fabjobs.models import Fabrication, Job, Person, Revision, ShopSettings
from fabjobs.services import JobIsStale, job_change, job_create, job_describe
from tests.fabjobs.changing import first_cut, tick


@pytest.fixture
def deeper(sheet: dict[str, Any]) -> calc.Plan:
    sheet["shape"]["depth"] = 60
    return planning.compute(sheet)


def change(job: Job, plan: calc.Plan, by: Person, **given: Any) -> Revision:
    heading = Heading.of(job)
    usual = {"heading": heading, "started_from": 1, "job_version": job.version, "reason": "Deeper", "form_key": uuid4()}
    return job_change(fabrication=Fabrication.objects.get(job=job), plan=plan, by=by, **{**usual, **given})


def test_a_form_key_makes_one_job_and_one_revision(plan: calc.Plan, deeper: calc.Plan, owner: Person) -> None:
    key = uuid4()
    first, again = (job_create(plan=plan, due_day=None, by=owner, form_key=key) for _ in range(2))
    assert first == again == Job.objects.get()
    key = uuid4()
    one, two = (change(first, deeper, owner, form_key=key) for _ in range(2))
    assert one == two
    assert Revision.objects.count() == 2


def test_a_revision_that_came_first_is_told(job: Job, deeper: calc.Plan, owner: Person) -> None:
    change(job, deeper, owner)
    with pytest.raises(JobIsStale, match=r"^edda saved revision 2 .*at .* \(Deeper\)\.$"):
        change(job, deeper, owner)
    assert Revision.objects.count() == 2


def test_a_cut_ticked_while_it_was_planned_is_told(job: Job, deeper: calc.Plan, owner: Person) -> None:
    cut = first_cut(job)
    tick(cut, owner)
    with pytest.raises(JobIsStale, match=r"edda ticked a cut .*at .*: Sheet 1, cut 1"):
        change(job, deeper, owner)
    fabrication = Fabrication.objects.get(job=job)
    knowing = planning.compute({**deeper.sheet.as_json(), "frozen": frozen_sheets(fabrication)})
    assert change(job, knowing, owner).number == 2
    first_cut(job)
    cut.done_at = cut.done_by = None
    cut.save()
    with pytest.raises(JobIsStale, match="a tick was taken back"):
        change(job, knowing, owner, started_from=2)


def test_lines_that_are_stale_keep_the_revision_back(job: Job, deeper: calc.Plan, owner: Person) -> None:
    other = Heading("Other", "", "", None)
    with pytest.raises(
        JobIsStale, match="They changed: Coolant tray, Hill Street Turning, Bench lathe 3; due 9 May 2031"
    ):
        change(job, deeper, owner, heading=other, job_version=9)
    assert Revision.objects.count() == 1
    job.refresh_from_db()
    assert job.title == "Coolant tray"


def test_a_revision_that_cannot_be_stored_whole_leaves_the_job_as_it_was(
    job: Job, deeper: calc.Plan, owner: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: Any) -> None:
        raise RuntimeError("no room on the disk")

    monkeypatch.setattr(planning, "bring_steps_in_line", fail)
    with pytest.raises(RuntimeError):
        change(job, deeper, owner, heading=Heading("Other", "", "", date(2031, 1, 1)))
    job.refresh_from_db()
    assert (job.title, job.version, Revision.objects.count()) == ("Coolant tray", 1, 1)


def _change_too(database: str, plan: calc.Plan, started: Callable[[], Any], told: Any) -> None:
    """In a process of its own: the same revision changed, as a second worker would."""
    connection.close()
    connection.settings_dict["NAME"] = database
    job, by = Job.objects.get(), Person.objects.get()
    started()
    try:
        told.put(change(job, plan, by).number)
    except JobIsStale:
        told.put(0)


@pytest.mark.django_db(transaction=True)
def test_of_four_who_change_at_once_one_is_first_and_the_rest_are_told(plan: calc.Plan, deeper: calc.Plan) -> None:
    ShopSettings(pk=1).save()
    job_create(plan=plan, due_day=None, by=Person.objects.create_user("edda"))
    database = str(connection.settings_dict["NAME"])
    connection.close()
    context = get_context("fork")
    together, told = context.Barrier(4), context.Queue()
    workers = [context.Process(target=_change_too, args=(database, deeper, together.wait, told)) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    assert sorted(told.get() for _ in workers) == [0, 0, 0, 2]
    assert [worker.exitcode for worker in workers] == [0, 0, 0, 0]
    assert list(Revision.objects.values_list("number", flat=True)) == [1, 2]


def test_lines_change_once_a_version(job: Job, owner: Person) -> None:
    job_describe(job=job, heading=Heading("One", "", "", None), version=1, by=owner)
    job_describe(job=job, heading=Heading("One", "", "", None), version=1, by=owner)  # the same: nothing to do
    with pytest.raises(JobIsStale, match=r"edda changed the job's own lines .*at .*: One; due no day set"):
        job_describe(job=job, heading=Heading("Two", "", "", None), version=1, by=owner)
    job.refresh_from_db()
    assert (job.title, job.version) == ("One", 2)
