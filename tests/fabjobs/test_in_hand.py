"""Home."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

import calc
from calc.drawing import tray_view
from fabjobs.models import Job, Person, Step
from fabjobs.services import job_create
from fabjobs.views.in_hand import JOBS_A_PAGE
from tests.fabjobs.ticking import tick


def test_an_empty_shop_leads_on_to_a_new_job(signed_in: Client) -> None:
    page = signed_in.get("/").content.decode()
    assert "Nothing in hand yet." in page
    assert 'href="/jobs/new"' in page


def test_a_job_shows_its_drawing_its_day_and_what_comes_next(signed_in: Client, job: Job, plan: calc.Plan) -> None:
    page = signed_in.get("/").content.decode()
    assert "Coolant tray" in page
    assert '<svg xmlns="http://www.w3.org/2000/svg" class="drawing' in page
    assert "9 May 2031" in page
    assert plan.steps[0].text.split(":")[0] in page


def test_the_job_due_first_stands_first_and_undated_ones_last(
    signed_in: Client, plan: calc.Plan, owner: Person
) -> None:
    today = timezone.localdate()
    days: list[date | None] = [today + timedelta(9), None, today - timedelta(2), today + timedelta(1)]
    for day in days:
        job_create(plan=plan, due_day=day, by=owner)
    answer = signed_in.get("/")
    assert [job.number for job in answer.context["page"]] == [3, 4, 1, 2]
    page = answer.content.decode()
    assert '<span class="warn">2 days late</span>' in page
    assert "tomorrow" in page
    assert "no day set" in page


def test_the_drawing_is_the_one_that_was_stored_with_the_plan(signed_in: Client, job: Job, plan: calc.Plan) -> None:
    assert tray_view(plan, plan.sheet.making.display) in signed_in.get("/").content.decode()


def test_the_next_step_is_the_first_that_is_not_ticked_and_still_made(
    signed_in: Client, job: Job, owner: Person
) -> None:
    first, second, third, *_ = Step.objects.filter(fabrication__job=job)
    tick(first, owner)
    Step.objects.filter(pk=second.pk).update(retired=True)
    page = signed_in.get("/").content.decode()
    assert first.text.split(":")[0] not in page
    assert second.text.split(":")[0] not in page
    assert third.text.split(":")[0] in page
    assert "Job 1, planned" in page


def test_a_finished_job_leaves_and_the_empty_page_says_where_it_went(
    signed_in: Client, job: Job, plan: calc.Plan, owner: Person
) -> None:
    other = job_create(plan=plan, due_day=None, by=owner)
    for step in Step.objects.filter(fabrication__job=job):
        tick(step, owner)
    assert [found.number for found in signed_in.get("/").context["page"]] == [other.number]
    for step in Step.objects.filter(fabrication__job=other):
        tick(step, owner)
    assert "every job is finished" in signed_in.get("/").content.decode()


@pytest.mark.parametrize("count", [1, 30])
def test_queries_do_not_grow_with_the_jobs(
    signed_in: Client, plan: calc.Plan, owner: Person, count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:  # fmt: skip
    for _ in range(count):
        job_create(plan=plan, due_day=None, by=owner)
    # session, person, shop, how many jobs, jobs, their drawings, their progress, the running timer
    with django_assert_num_queries(8) as asked:
        assert len(list(signed_in.get("/").context["page"])) == min(count, JOBS_A_PAGE)
    assert not any('"plan"' in query["sql"] or '"sheet"' in query["sql"] for query in asked.captured_queries)


def test_more_jobs_than_a_page_holds(signed_in: Client, plan: calc.Plan, owner: Person) -> None:
    for _ in range(JOBS_A_PAGE + 1):
        job_create(plan=plan, due_day=None, by=owner)
    assert "1 of 2" in signed_in.get("/").content.decode()
    for page in ("2", "99", "-1", "x"):
        assert signed_in.get("/", {"page": page}).status_code == 200


def test_wrong_method(signed_in: Client) -> None:
    assert signed_in.post("/").status_code == 405
