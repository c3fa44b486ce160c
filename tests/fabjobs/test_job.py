"""A job's page and its papers."""

import json
import re

import pytest
from django.db import connection
from django.test import Client

from calc.papers.cut_lines import cut_lines
from fabjobs import papers
from fabjobs.models import Job, Revision, Step
from fabjobs.planning import restore

PDFS = ["/jobs/1/traveller.pdf", "/jobs/1/traveller-shop.pdf"]


def test_it_reads_downward_in_the_order_of_the_work(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    headings = re.findall(r"<h2[^>]*><span[^>]*>(\d)</span> ([^<]*)</h2>", page)
    names = [
        "Shape",
        "Blanks and marking out",
        "Sheets and cuts",
        "Make",
        "Fit",
        "Time and metal",
        "Money",
        "Papers",
    ]
    assert headings == [(str(place), name) for place, name in enumerate(names, start=1)]


def test_it_shows_the_stored_plan(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    revision = Revision.objects.get()
    assert revision.check_code in page
    assert "9 May 2031" in page
    for blank in revision.plan["blanks"]:
        if blank["same_as"] is None:
            assert f"Blank {blank['name']}" in page
    for step in Step.objects.all():
        assert step.text.split(":")[0].replace("'", "&#x27;") in page
    for line in revision.plan["cost"]["lines"]:
        assert f'<td class="num">{line["amount"]}</td>' in page
    assert f"Cut list, {len(revision.plan['layout']['sheets'][0]['cuts'])} cuts" in page


def test_the_cut_list_is_on_the_piece_in_hand(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    plan = restore(Revision.objects.get())
    for index, used in enumerate(plan.layout.sheets):
        for row in cut_lines(plan, index, plan.sheet.making.display):
            assert f'<th scope="row" class="num">{row.number}</th><td>{row.marks}</td>' in page
            assert f"<td>{row.guide}</td>" in page
            assert row.cautions in page
        assert used.cuts


def test_a_plan_of_an_earlier_day_whose_cuts_cannot_be_followed_still_shows_them(signed_in: Client, job: Job) -> None:
    revision = Revision.objects.get()
    plan = revision.plan
    plan["layout"]["sheets"][0]["cuts"][0] |= {"from": [10, 10], "to": [500, 500]}
    for key in ("guide_offset", "least_clamp", "saw"):
        del plan["sheet"]["making"][key]
    text = json.dumps(plan)
    with connection.cursor() as cursor:  # a stored revision is never changed, so the lock is taken off for once
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'fabjobs_revision'")
        triggers = cursor.fetchall()
        for name, _ in triggers:
            cursor.execute(f"DROP TRIGGER {name}")
        cursor.execute("UPDATE fabjobs_revision SET plan = %s", [text])
        for _, sql in triggers:
            cursor.execute(sql)
    page = signed_in.get("/jobs/1/")
    assert page.status_code == 200
    assert "<td>10; 10 to 500; 500</td>" in page.content.decode()
    step = Step.objects.filter(kind="cut")[0]
    shown = signed_in.get(f"/jobs/1/steps/{step.pk}/")
    assert shown.status_code == 200
    assert "cut-drawing" not in shown.content.decode()
    assert signed_in.get("/jobs/1/traveller-shop.pdf").content.startswith(b"%PDF-")


def test_figures_on_the_page_are_those_of_the_geometry(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    # Rim (0, 0) (812, 9) (797, 391) (-14, 402): area by the shoelace formula; a pyramid holds a third of area x depth.
    area = (0 * 9 - 812 * 0 + 812 * 391 - 797 * 9 + 797 * 402 - -14 * 391 + -14 * 0 - 0 * 402) / 2
    assert f"<dd>{area * 48 / 3 / 1e6:.1f} litres</dd>" in page
    assert "<dd>48 mm</dd>" in page
    # The least fall: depth over the longest seam in plan, corner 4 to the low point (547, 163), by Pythagoras.
    assert f"<dd>1 in {(561**2 + 239**2) ** 0.5 / 48:.1f}</dd>" in page
    assert "<dt>Outlet</dt><dd>32 mm</dd>" in page


def test_cautions_stand_where_people_can_be_hurt(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    assert page.index("Eyes, face and ears covered") < page.index("Cut list")
    assert "No chlorinated degreaser anywhere near an arc" in page
    assert "Estimates and layouts to be checked by a competent person" in page


@pytest.mark.parametrize("path", PDFS)
def test_the_traveller_opens_as_pdf(signed_in: Client, job: Job, path: str) -> None:
    answer = signed_in.get(path)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith("inline; filename=")
    assert answer.content.startswith(b"%PDF-")


def test_the_same_revision_prints_the_same_traveller(signed_in: Client, job: Job) -> None:
    office, again, shop = (signed_in.get(path).content for path in (PDFS[0], PDFS[0], PDFS[1]))
    assert office == again
    assert office != shop


@pytest.mark.parametrize("path", PDFS)
def test_without_pango_the_answer_is_what_to_install(
    signed_in: Client, job: Job, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(papers, "lacking", lambda: papers.LACKING)
    answer = signed_in.get(path)
    assert answer.status_code == 503
    assert "apt install libpango-1.0-0" in answer.content.decode()


@pytest.mark.parametrize("path", ["/jobs/1/", *PDFS])
def test_a_job_that_is_not_there(signed_in: Client, path: str) -> None:
    assert signed_in.get(path).status_code == 404
    assert signed_in.get(path.replace("1", "9" * 30)).status_code == 404


def test_a_job_without_a_plan(signed_in: Client, job: Job) -> None:
    Job.objects.create(number=2, title="Empty", created_by=job.created_by)
    assert signed_in.get("/jobs/2/").status_code == 404


@pytest.mark.parametrize("path", ["/jobs/1/", *PDFS])
def test_wrong_method(signed_in: Client, job: Job, path: str) -> None:
    assert signed_in.post(path).status_code == 405
