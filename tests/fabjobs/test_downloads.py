"""The papers to cut and buy by, as the job page hands them out: templates, DXF, takeoff, drawings, all in one."""

import csv
import io
import re
import zipfile
from xml.etree import ElementTree

import pdfplumber
import pytest
import shapely
from django.test import Client
from ezdxf import recover

import calc
from fabjobs import papers
from fabjobs.models import Job, Person, Revision
from fabjobs.services import job_create
from tests.fabjobs.changing import DEEPER, typed

PATHS = {
    "templates": "/jobs/1/templates.pdf",
    "patterns": "/jobs/1/patterns.dxf",
    "takeoff": "/jobs/1/takeoff.csv",
    "drawings": "/jobs/1/drawings.zip",
    "papers": "/jobs/1/papers.zip",
}
OLD = {kind: path.replace("/jobs/1/", "/jobs/1/revisions/1/") for kind, path in PATHS.items()}
EVERY = [*PATHS.values(), *OLD.values()]
TYPESET = [PATHS["templates"], PATHS["papers"], OLD["templates"], OLD["papers"]]
MM = 25.4 / 72


def rows_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def files_of(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert archive.testzip() is None
        return {entry.filename: archive.read(entry) for entry in archive.infolist()}


def test_the_page_links_to_each(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    section = page[page.index('id="papers"') :]
    for kind in ("patterns", "takeoff", "drawings"):
        assert f'href="{PATHS[kind]}"' in section
    form = section[section.index("<form") : section.index("</form>")]
    assert f'action="{PATHS["templates"]}"' in form
    assert f'formaction="{PATHS["papers"]}"' in form
    assert re.findall("<option>([^<]*)<", form) == ["A4", "A3", "Letter"]
    assert 'method="get"' in form
    assert OLD["papers"] in section


def test_every_kind_has_its_address() -> None:
    assert set(papers.KINDS) == set(PATHS)


@pytest.mark.parametrize("size", ["A4", "A3", "Letter"])
def test_templates_are_on_the_paper_asked_for(signed_in: Client, job: Job, size: str) -> None:
    answer = signed_in.get(PATHS["templates"], {"paper": size})
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'inline; filename="job-1-revision-1-templates-{size}.pdf"'
    pages = pdfplumber.open(io.BytesIO(answer.content)).pages
    # ISO 216; 8 1/2 x 11 in
    wide, high = {"A4": (210, 297), "A3": (297, 420), "Letter": (215.9, 279.4)}[size]
    assert {(round(page.width * MM, 1), round(page.height * MM, 1)) for page in pages} == {(wide, high)}
    code = Revision.objects.get().check_code
    assert all(code in page.extract_text() for page in pages)
    assert "Job 1, revision 1" in pages[-1].extract_text()


def test_a4_is_usual_and_nothing_is_remembered(signed_in: Client, job: Job) -> None:
    usual = signed_in.get(PATHS["templates"])
    assert "templates-A4" in usual["Content-Disposition"]
    signed_in.get(PATHS["templates"], {"paper": "A3"})
    assert signed_in.get(PATHS["templates"]).content == usual.content


def test_patterns_for_a_laser(signed_in: Client, job: Job) -> None:
    answer = signed_in.get(PATHS["patterns"])
    assert answer["Content-Disposition"] == 'attachment; filename="job-1-revision-1-patterns.dxf"'
    document, auditor = recover.read(io.BytesIO(answer.content))
    assert not auditor.errors
    assert document.header["$INSUNITS"] == 4
    lines = document.modelspace().query("LWPOLYLINE")
    areas = [shapely.Polygon(list(line.vertices())).area for line in lines]
    blanks = [blank for blank in Revision.objects.get().plan["blanks"] if blank["same_as"] is None]
    assert areas == pytest.approx([shapely.Polygon(blank["cut_outline"]).area for blank in blanks], abs=1e-3)


def test_the_takeoff_as_a_table_without_money(signed_in: Client, job: Job) -> None:
    answer = signed_in.get(PATHS["takeoff"])
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="job-1-revision-1-takeoff.csv"'
    rows = rows_of(answer.content)
    plan = Revision.objects.get().plan
    by_item = {row["Item"]: row for row in rows}
    assert float(by_item["In the work"]["Quantity"]) == pytest.approx(plan["takeoff"]["net_mass"], abs=5e-4)
    assert float(by_item["Cut"]["Quantity"]) == pytest.approx(plan["takeoff"]["cut_length"] / 1000, abs=5e-4)
    text = answer.content.decode()
    for words in ("EUR", "96.00", plan["cost"]["total"]):
        assert words not in text


def test_drawings_in_one_file(signed_in: Client, job: Job) -> None:
    answer = signed_in.get(PATHS["drawings"])
    assert answer["Content-Type"] == "application/zip"
    files = files_of(answer.content)
    assert {"pattern-A.svg", "drawing-tray.svg", "drawing-blank-A.svg", "drawing-sheet-1.svg"} <= set(files)
    for name, content in files.items():
        assert name.endswith(".svg")
        ElementTree.fromstring(content)  # noqa: S314 - our own text


def test_all_papers_in_one_file_that_carries_no_money(signed_in: Client, job: Job) -> None:
    answer = signed_in.get(PATHS["papers"], {"paper": "A3"})
    assert answer["Content-Disposition"] == 'attachment; filename="job-1-revision-1-papers-A3.zip"'
    files = files_of(answer.content)
    drawings = files_of(signed_in.get(PATHS["drawings"]).content)
    assert set(files) == {"traveller-shop.pdf", "templates.pdf", "patterns.dxf", "takeoff.csv", *drawings}
    assert files["templates.pdf"] == signed_in.get(PATHS["templates"], {"paper": "A3"}).content
    assert files["patterns.dxf"] == signed_in.get(PATHS["patterns"]).content
    assert files["takeoff.csv"] == signed_in.get(PATHS["takeoff"]).content
    assert files["traveller-shop.pdf"] == signed_in.get("/jobs/1/traveller-shop.pdf").content
    total = Revision.objects.get().plan["cost"]["total"].encode()
    assert not any(total in content for name, content in files.items() if not name.endswith(".pdf"))


@pytest.mark.parametrize("kind", PATHS)
def test_the_same_revision_gives_the_same_bytes(signed_in: Client, job: Job, kind: str) -> None:
    kept = signed_in.get(PATHS[kind]).content
    signed_in.post("/jobs/1/change", typed(job, **DEEPER))
    assert signed_in.get(OLD[kind]).content == kept
    now = signed_in.get(PATHS[kind])
    assert now.content != kept
    assert "job-1-revision-2-" in now["Content-Disposition"]


def test_a_plan_of_an_earlier_day_still_gives_its_papers(signed_in: Client, plan: calc.Plan, owner: Person) -> None:
    data = plan.as_json()
    del data["rounding"]
    for blank in data["blanks"]:
        for key in ("rounded", "hole_centres", "fold_ends", "swings", "swing_checks"):
            del blank["marking"][key]
        for check in blank["marking"]["checks"]:
            del check["rounded"]
    job_create(plan=calc.Plan.from_json(data), due_day=None, by=owner)
    for path in (*PATHS.values(), "/jobs/1/", "/jobs/1/traveller.pdf"):
        assert signed_in.get(path).status_code == 200, path


@pytest.mark.parametrize("path", EVERY)
def test_refusals(signed_in: Client, job: Job, path: str) -> None:
    assert signed_in.post(path).status_code == 405
    assert signed_in.get(path.replace("jobs/1", "jobs/2")).status_code == 404
    assert signed_in.get(path.replace("jobs/1", "jobs/" + "9" * 30)).status_code == 404
    assert signed_in.get(path, {"paper": "A7"}).status_code == 400
    assert signed_in.get(path, {"paper": "<b>"}).status_code == 400
    answer = Client().get(path)
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in?next=")


@pytest.mark.parametrize("path", OLD.values())
def test_a_revision_that_is_not_there(signed_in: Client, job: Job, path: str) -> None:
    assert signed_in.get(path.replace("revisions/1", "revisions/2")).status_code == 404


@pytest.mark.parametrize("path", PATHS.values())
def test_a_job_without_a_plan(signed_in: Client, job: Job, path: str) -> None:
    Job.objects.create(number=2, title="Empty", created_by=job.created_by)
    assert signed_in.get(path.replace("jobs/1", "jobs/2")).status_code == 404


@pytest.mark.parametrize("path", EVERY)
def test_without_pango_what_needs_it_says_so_and_the_others_still_come(
    signed_in: Client, job: Job, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(papers, "lacking", lambda: papers.LACKING)
    answer = signed_in.get(path)
    assert answer.status_code == (503 if path in TYPESET else 200)
    if path in TYPESET:
        assert "apt install libpango-1.0-0" in answer.content.decode()
