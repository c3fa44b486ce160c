"""A job's revisions: the list on its page, and any traveller printed again."""

import re

import pytest
from django.test import Client

from fabjobs import papers
from fabjobs.models import Job, Revision
from tests.fabjobs.changing import DEEPER, typed

OLD = ["/jobs/1/revisions/1/traveller.pdf", "/jobs/1/revisions/1/traveller-shop.pdf"]


def test_who_when_why_and_links(signed_in: Client, job: Job) -> None:
    signed_in.post("/jobs/1/change", typed(job, **DEEPER))
    page = signed_in.get("/jobs/1/").content.decode()
    table = page[page.index('class="tight revisions"') :]
    rows = re.findall(r"<tr>(.*?)</tr>", table[: table.index("</table>")], re.DOTALL)[1:]
    first, second = Revision.objects.order_by("number")
    assert [re.search(r"<th[^>]*>(\d+)<", row)[1] for row in rows] == ["2", "1"]  # type: ignore[index]
    assert "Pump sits lower" in rows[0]
    assert second.check_code in rows[0]
    assert "/jobs/1/revisions/1/2/" in rows[0]
    assert first.check_code in rows[1]
    assert all("edda, " in row and "/traveller.pdf" in row and "/traveller-shop.pdf" in row for row in rows)
    assert '<span class="label">Revision</span>2' in page
    assert f'<b class="code">{second.check_code}</b>' in page
    assert 'href="/jobs/1/change"' in page


@pytest.mark.parametrize("path", OLD)
def test_an_old_traveller_prints_again_exactly(signed_in: Client, job: Job, path: str) -> None:
    kept = signed_in.get(path.replace("revisions/1/", "")).content
    assert kept.startswith(b"%PDF-")
    signed_in.post("/jobs/1/change", typed(job, **DEEPER))
    answer = signed_in.get(path)
    assert answer.content == kept
    assert "job-1-revision-1-" in answer["Content-Disposition"]
    assert signed_in.get(path.replace("/1/traveller", "/2/traveller")).content != kept


@pytest.mark.parametrize("path", OLD)
def test_refusals(signed_in: Client, job: Job, path: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert signed_in.get(path.replace("revisions/1", "revisions/2")).status_code == 404
    assert signed_in.get(path.replace("jobs/1", "jobs/2")).status_code == 404
    assert signed_in.post(path).status_code == 405
    assert Client().get(path).status_code == 302
    monkeypatch.setattr(papers, "lacking", lambda: papers.LACKING)
    assert signed_in.get(path).status_code == 503
