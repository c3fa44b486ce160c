"""All jobs, and finding one."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

import calc
from fabjobs.models import Job, Person, Step
from fabjobs.services import job_create
from tests.fabjobs.ticking import tick


@pytest.fixture
def three_jobs(owner: Person) -> None:
    for number, (title, customer, machine) in enumerate(
        [
            ("Coolant tray", "Hill Street Turning", "Bench lathe 3"),
            ("Chip pan 100%", "Nordmarka Gear", "Hobber"),
            ("Splash tray", "Hill Street Turning", "Mill 12"),
        ],
        start=11,
    ):
        Job.objects.create(number=number, title=title, customer=customer, machine=machine, created_by=owner)


def numbers(client: Client, words: str) -> list[int]:
    return [job.number for job in client.get("/jobs/", {"q": words}).context["page"]]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("", [13, 12, 11]),
        ("tray", [13, 11]),
        ("TRAY lathe", [11]),
        ("hill mill", [13]),
        ("12", [13, 12]),
        ("%", [12]),
        ("_", []),
        ("999999999999999999999999", []),
        ("²", []),
        ("' OR 1=1 --", []),
    ],
)
def test_words_find_jobs(signed_in: Client, three_jobs: None, words: str, found: list[int]) -> None:
    assert numbers(signed_in, words) == found


def test_a_search_that_finds_nothing_says_so_in_plain_words(signed_in: Client, three_jobs: None) -> None:
    page = signed_in.get("/jobs/", {"q": "<b>gear"}).content.decode()
    assert "No job has <q>&lt;b&gt;gear</q> in it." in page


def test_an_endless_search_is_cut_short(signed_in: Client, three_jobs: None) -> None:
    answer = signed_in.get("/jobs/", {"q": "a" * 5000})
    assert answer.status_code == 200
    assert len(answer.context["words"]) == 120


def test_htmx_gets_the_list_alone(signed_in: Client, three_jobs: None, htmx: Callable[..., dict[str, str]]) -> None:
    answer = signed_in.get("/jobs/", {"q": "pan"}, headers=htmx())
    assert answer.content.decode().lstrip().startswith('<div id="list">')
    assert "HX-Request" in answer["Vary"]


def test_no_jobs_yet(signed_in: Client) -> None:
    assert "No jobs yet." in signed_in.get("/jobs/").content.decode()


def test_a_job_shows_its_stage(signed_in: Client, job: Job, owner: Person) -> None:
    assert '<td data-label="Stage">measured</td>' in signed_in.get("/jobs/").content.decode()
    for step in Step.objects.filter(fabrication__job=job, kind="cut"):
        tick(step, owner)
    assert '<td data-label="Stage">cutting</td>' in signed_in.get("/jobs/").content.decode()


@pytest.mark.parametrize("count", [1, 30])
def test_queries_do_not_grow_with_the_jobs(
    signed_in: Client, plan: calc.Plan, owner: Person, count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:  # fmt: skip
    for _ in range(count):
        job_create(plan=plan, due_day=None, by=owner)
    with django_assert_num_queries(7):  # session, person, shop, how many jobs, jobs, their progress, the running timer
        assert len(signed_in.get("/jobs/").context["rows"]) == count


def test_wrong_method(signed_in: Client) -> None:
    assert signed_in.post("/jobs/").status_code == 405


def test_a_finished_job_is_not_late_any_more(signed_in: Client, job: Job) -> None:
    Job.objects.update(due_day=timezone.localdate() - timedelta(days=3))
    assert "3 days late" in signed_in.get("/jobs/").content.decode()
    Step.objects.update(done_at=timezone.now())
    assert "late" not in signed_in.get("/jobs/").content.decode().split('id="list"')[1]
