"""Home."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

import calc
from fabjobs.models import Job, Person
from fabjobs.services import job_create
from fabjobs.views.in_hand import JOBS_A_PAGE


def test_an_empty_shop_leads_on_to_a_new_job(signed_in: Client) -> None:
    page = signed_in.get("/").content.decode()
    assert "Nothing in hand yet." in page
    assert 'href="/jobs/new"' in page


def test_a_job_shows_its_drawing_its_day_and_what_comes_next(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/").content.decode()
    assert "Coolant tray" in page
    assert '<svg xmlns="http://www.w3.org/2000/svg" class="drawing' in page
    assert "9 May 2031" in page
    assert "Isolate and lock off the machine" in page


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


@pytest.mark.parametrize("count", [1, 5])
def test_queries_do_not_grow_with_the_jobs(
    signed_in: Client, plan: calc.Plan, owner: Person, count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:  # fmt: skip
    for _ in range(count):
        job_create(plan=plan, due_day=None, by=owner)
    with django_assert_num_queries(6):  # session, person, shop, how many jobs, jobs, their revisions
        signed_in.get("/")


def test_more_jobs_than_a_page_holds(signed_in: Client, plan: calc.Plan, owner: Person) -> None:
    for _ in range(JOBS_A_PAGE + 1):
        job_create(plan=plan, due_day=None, by=owner)
    assert "1 of 2" in signed_in.get("/").content.decode()
    for page in ("2", "99", "-1", "x"):
        assert signed_in.get("/", {"page": page}).status_code == 200


def test_wrong_method(signed_in: Client) -> None:
    assert signed_in.post("/").status_code == 405
