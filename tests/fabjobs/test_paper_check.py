"""A paper in hand: by the form, and by the address that it carries."""

import pytest
from django.test import Client

from calc.papers import traveller
from fabjobs import papers
from fabjobs.models import Job, Revision, ShopSettings
from tests.fabjobs.changing import DEEPER, typed

PAGE = "/papers/"
CURRENT, OUTDATED, FOREIGN = "is the current one", "out of date", "not a paper of this shop"


@pytest.fixture
def codes(signed_in: Client, job: Job) -> tuple[str, str]:
    """The check codes of a first revision and of the second, which is in force."""
    assert signed_in.post("/jobs/1/change", typed(job, **DEEPER)).status_code == 302
    first, second = Revision.objects.order_by("number").values_list("check_code", flat=True)
    return first, second


def ask(client: Client, job: str, revision: str, code: str) -> str:
    answer = client.get(PAGE, {"job": job, "revision": revision, "code": code})
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_current_one(signed_in: Client, codes: tuple[str, str]) -> None:
    page = ask(signed_in, "1", "2", codes[1])
    assert CURRENT in page
    assert OUTDATED not in page
    assert 'href="/jobs/1/"' in page


def test_one_that_is_out_of_date_says_what_is_current_and_what_changed(
    signed_in: Client, codes: tuple[str, str]
) -> None:
    page = ask(signed_in, "1", "1", codes[0])
    assert OUTDATED in page
    assert "revision 2 is current (Pump sits lower), saved by edda" in page
    assert 'href="/jobs/1/revisions/1/2/"' in page


def test_a_code_is_read_as_it_was_meant(signed_in: Client, codes: tuple[str, str]) -> None:
    # Crockford's base 32, from memory of its page: small letters count, dashes do not, O is read as 0, I and L as 1.
    code = codes[1]
    misread = code.lower().replace("0", "o").replace("1", "l")
    assert CURRENT in ask(signed_in, "1", "2", f" {misread[:3]}-{misread[3:]} ")


@pytest.mark.parametrize(("job_number", "revision"), [("1", "1"), ("1", "3"), ("2", "2"), ("2147483647", "2")])
def test_another_shops_paper(signed_in: Client, codes: tuple[str, str], job_number: str, revision: str) -> None:
    assert FOREIGN in ask(signed_in, job_number, revision, codes[1])


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"job": ""}, "job", "Not given yet."),
        ({"job": "seven"}, "job", "whole number"),
        ({"revision": "0"}, "revision", "greater than or equal to 1"),
        ({"job": "9" * 30}, "job", "less than or equal to"),
        ({"code": ""}, "code", "Not given yet."),
        ({"code": "x" * 21}, "code", "at most 20 characters"),
    ],
)
def test_bad_input(signed_in: Client, shop: ShopSettings, change: dict[str, str], field: str, words: str) -> None:
    answer = signed_in.get(PAGE, {"job": "1", "revision": "1", "code": "ABCDEF", **change})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in page[page.index(f'id="fault-{field}"') :][:200]


def test_by_htmx_only_the_form_comes_back(signed_in: Client, codes: tuple[str, str]) -> None:
    asked = {"job": "1", "revision": "2", "code": codes[1]}
    page = signed_in.get(PAGE, asked, headers={"HX-Request": "true"}).content.decode()
    assert page.lstrip().startswith('<form id="paper-check"')
    assert CURRENT in page


def test_the_page_opens_empty_and_refuses_the_rest(signed_in: Client, shop: ShopSettings) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert "paper-in-hand" not in page
    assert signed_in.post(PAGE).status_code == 405
    answer = Client().get(f"{PAGE}?job=1&revision=2&code=ABC")
    assert (answer.status_code, answer["Location"].startswith("/sign-in?next=/papers/")) == (302, True)


def test_the_job_page_knows_the_paper_by_its_address(signed_in: Client, codes: tuple[str, str]) -> None:
    first, second = codes
    assert CURRENT in signed_in.get(f"/jobs/1/?paper=2-{second}").content.decode()
    page = signed_in.get(f"/jobs/1/?paper=1-{first}").content.decode()
    assert OUTDATED in page
    assert 'href="/jobs/1/revisions/1/2/"' in page
    assert "paper-in-hand" not in signed_in.get("/jobs/1/").content.decode()


@pytest.mark.parametrize("mark", ["", "-", "2", "x-y", "²-ABCDEF", f"{'9' * 30}-ABCDEF", "2-ABCDEF", "1-"])
def test_an_address_that_names_no_paper(signed_in: Client, codes: tuple[str, str], mark: str) -> None:
    answer = signed_in.get("/jobs/1/", {"paper": mark})
    assert answer.status_code == 200
    assert FOREIGN in answer.content.decode()


def test_another_jobs_paper_is_not_this_ones(signed_in: Client, codes: tuple[str, str]) -> None:
    job = Job.objects.get()
    other = Revision.objects.get(number=2)
    other_job = Job.objects.create(number=2, title="Other", created_by=job.created_by)
    from fabjobs.models import Fabrication
    from fabjobs.planning import restore, store

    fabrication = Fabrication.objects.create(job=other_job, name="Tray")
    store(fabrication=fabrication, plan=restore(other), by=job.created_by)
    assert FOREIGN in signed_in.get(f"/jobs/2/?paper=2-{codes[1]}").content.decode()


def test_the_paper_carries_the_address_that_its_page_knows_it_by(
    job: Job, shop: ShopSettings, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[traveller.Heading] = []

    def note(plan: object, heading: traveller.Heading, *_: object, **__: object) -> bytes:
        told.append(heading)
        return b""

    monkeypatch.setattr(papers, "traveller_pdf", note)
    revision = Revision.objects.get()
    papers.of_revision(revision, shop, money=True)
    shop.paper_address = "http://192.168.1.20:8000/"
    papers.of_revision(revision, shop, money=True)
    assert told[0].address is None
    assert told[1].address == f"http://192.168.1.20:8000/jobs/1/at-work/?paper=1-{revision.check_code}"
