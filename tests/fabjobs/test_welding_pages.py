"""How it is welded, on the page of a job and of a step: the maps, the settings, what it takes, what to reckon with."""

import re
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

import calc
from fabjobs.models import Job, Person, Revision, Step
from fabjobs.services import job_create
from tests.conftest import SHEET
from tests.shapes import PLATES, pan

PAGE = "/jobs/1/"


def page_of(client: Client, path: str = PAGE) -> str:
    answer = client.get(path)
    assert answer.status_code == 200
    return answer.content.decode()


def rows(page: str, label: str) -> list[list[str]]:
    """The cells of the body of the table in the box of this label."""
    box = page[page.index(f'aria-label="{label}"') :]
    body = box[box.index("<tbody>") : box.index("</tbody>")]
    return [re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row) for row in re.findall(r"<tr>(.*?)</tr>", body, re.DOTALL)]


def test_the_page_has_both_maps_the_settings_and_what_it_takes(signed_in: Client, job: Job) -> None:
    page = page_of(signed_in)
    plan = calc.plan(SHEET)
    assert plan.weld_plan
    for name in ("weld-map", "run-map"):
        assert f'class="drawing {name}"' in page
    assert page.count('class="drawing run-map"') == 2  # of the seams, and of the bare rim
    for headed in re.findall(r"\((Weld map: [^)]+)\)", " ".join(step.detail for step in plan.steps)):
        assert f'aria-label="{headed}"' in page  # the name by which the steps call a drawing
    table = rows(page, "Settings, weld by weld")
    assert [row[1] for row in table] == [weld.name for weld in plan.weld_plan.welds]
    for row, weld in zip(table, plan.weld_plan.welds, strict=True):
        assert row[2] == plan.sheet.making.display.length(weld.length)
        assert float(row[9]) == pytest.approx(weld.length / 400, abs=0.051)  # 400 mm a minute (welding handbooks)
    # 5052 may hold 2.8 % magnesium: no silicon rod, and its ER5356 must not serve hot (filler charts of handbooks)
    assert page.count("No silicon rod (ER4043)") == 1
    assert page.count("never in service above 65 °C with ER5356") == 1
    assert "ER5356 rod 1.6 mm" in page
    assert "The blanks are not cut larger for it." in page
    assert "19 times in 20" in page


def test_the_page_says_that_stainless_is_backed(signed_in: Client, owner: Person) -> None:
    stainless = {**SHEET, "material": {"alloy": "304", "thickness": 1.5}}
    job_create(plan=calc.plan(stainless), due_day=None, by=owner)
    page = page_of(signed_in)
    assert "Back every root, the wet face, with argon" in page
    assert "at the torch alone" in page


def test_every_tack_and_run_is_in_a_table(signed_in: Client, job: Job) -> None:
    page, welds = page_of(signed_in), calc.plan(SHEET).weld_plan
    assert welds
    assert [row[0] for row in rows(page, "Order of tacks")] == [weld.name for weld in welds.welds]
    assert len(rows(page, "Order of runs")) == sum(len(weld.runs) for weld in welds.welds)


def test_a_step_tells_how_it_is_done_on_the_list_and_on_its_own_page(signed_in: Client, job: Job) -> None:
    step = Step.objects.filter(kind="weld").order_by("position")[0]
    assert step.detail
    assert f'<p class="hint">{step.detail}</p>' in page_of(signed_in)
    assert f'<p class="how">{step.detail}</p>' in page_of(signed_in, f"/jobs/1/steps/{step.pk}/")
    plain = Step.objects.filter(kind="mark").order_by("position")[0]
    assert 'class="how"' not in page_of(signed_in, f"/jobs/1/steps/{plain.pk}/")


def test_a_tick_leaves_how_it_is_done_in_its_row(signed_in: Client, job: Job) -> None:
    step = Step.objects.filter(kind="weld").order_by("position")[0]
    sent = {"version": step.version, "revision": step.revision_id, "done": "1", "form_key": str(uuid4())}
    answer = signed_in.post(f"/jobs/1/steps/{step.pk}/tick", sent, headers={"HX-Request": "true"})
    assert answer.status_code == 200
    assert step.detail in answer.content.decode()


@pytest.mark.parametrize("shape", [PLATES, pan(420, 265, 55)])
def test_what_is_not_welded_or_stands_free(signed_in: Client, owner: Person, shape: dict[str, Any]) -> None:
    job_create(plan=calc.plan({**SHEET, "shape": shape}), due_day=date(2031, 5, 9), by=owner)
    page = page_of(signed_in)
    is_welded = shape is not PLATES
    assert ("Settings, weld by weld" in page) is is_welded
    assert page.count('class="drawing run-map"') == (1 if is_welded else 0)


def test_a_revision_of_an_earlier_day_shows_its_welding_too(
    signed_in: Client, owner: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = calc.plan(SHEET)
    as_now = calc.Plan.as_json
    monkeypatch.setattr(
        calc.Plan,
        "as_json",
        lambda self: {key: value for key, value in as_now(self).items() if key not in ("welding", "budget")},
    )
    job_create(plan=plan, due_day=None, by=owner)
    monkeypatch.undo()
    assert "welding" not in Revision.objects.get().plan
    page = page_of(signed_in)
    assert "Settings, weld by weld" in page
    assert 'class="drawing run-map"' in page
    assert 'id="errors"' not in page
