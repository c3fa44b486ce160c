"""Cuts and seams on the drawings of a job's page: each a link to its step, done where that is, and told by the row's answer."""

import io
import re
import uuid
import zipfile
from collections.abc import Callable
from xml.etree import ElementTree as ET

import pytest
from django.test import Client

from fabjobs.models import Job, Person, Step
from fabjobs.services import step_tick

Htmx = Callable[..., dict[str, str]]
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def steps(job: Job) -> dict[str, Step]:
    return {step.key: step for step in Step.objects.filter(fabrication__job=job)}


def touches(client: Client) -> dict[str, ET.Element]:
    """Every link over a number or a seam on the job's page, by the key of the step that it ticks."""
    page = client.get("/jobs/1/").content.decode()
    found = {}
    for kind in ("sheet-drawing", "weld-map"):
        for drawn in re.findall(rf'<svg [^>]*class="drawing {kind}".*?</svg>', page, re.DOTALL):
            for link in ET.fromstring(drawn).iter(f"{SVG}a"):  # noqa: S314 - our own
                if "touch-line" not in link.get("class", ""):
                    found[link.get("data-ticks", "")] = link
    return found


def tick(step: Step, by: Person) -> None:
    step_tick(step=step, version=step.version, done=True, by=by, form_key=uuid.uuid4())


def test_every_cut_and_seam_has_a_link_to_its_step(signed_in: Client, steps: dict[str, Step]) -> None:
    found = touches(signed_in)
    wanted = [step for step in steps.values() if step.kind in {"cut", "weld"}]
    assert set(found) == {str(step.pk) for step in wanted}
    for key, link in found.items():
        assert link.get("href") == f"/jobs/1/at-work/{key}/"
        assert signed_in.get(f"/jobs/1/at-work/{key}/").status_code == 200


def test_a_cut_is_named_by_its_number_and_what_it_frees(signed_in: Client, steps: dict[str, Step]) -> None:
    found = touches(signed_in)
    for step in steps.values():
        if step.kind == "cut":
            number = re.findall(r"cut (\d+)", step.text)[0]
            frees = re.findall(r"; frees ([^;]*?)\.(?: |$)", step.text)
            assert found[str(step.pk)].get("data-name") == f"Cut {number}" + (f", frees {frees[0]}" if frees else "")
        elif step.kind == "weld":
            assert found[str(step.pk)].get("data-name") == f"Seam {step.key.removeprefix('weld:')}"


def test_what_is_ticked_is_done_in_the_drawing(signed_in: Client, steps: dict[str, Step], owner: Person) -> None:
    cut = next(step for step in steps.values() if step.kind == "cut")
    tick(cut, owner)
    tick(steps["weld:A-B"], owner)
    found = touches(signed_in)
    done = {key for key, link in found.items() if "done" in link.get("class", "").split()}
    assert done == {str(cut.pk), str(steps["weld:A-B"].pk)}
    assert found[str(cut.pk)].get("aria-label", "").endswith(", done")


def test_each_has_the_row_whose_form_a_tap_sends(signed_in: Client, steps: dict[str, Step]) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    for key in touches(signed_in):
        row = page[page.index(f'<li id="step-{key}"') :]
        assert f'<form class="box" method="post" action="/jobs/1/steps/{key}/tick"' in row[: row.index("</li>")]
    assert "fabjobs/touch.js" in page


def test_a_cut_out_of_turn_is_told_in_its_row(signed_in: Client, steps: dict[str, Step], htmx: Htmx) -> None:
    cuts = sorted((step for step in steps.values() if step.kind == "cut"), key=lambda step: step.position)
    sent = {"version": 0, "revision": cuts[2].revision_id, "done": "1", "form_key": uuid.uuid4()}
    answer = signed_in.post(f"/jobs/1/steps/{cuts[2].pk}/tick", sent, headers=htmx("http://testserver/jobs/1/"))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "Ticked out of turn: cuts 1 and 2 are not ticked yet." in page
    sent = {"version": 0, "revision": cuts[0].revision_id, "done": "1", "form_key": uuid.uuid4()}
    answer = signed_in.post(f"/jobs/1/steps/{cuts[0].pk}/tick", sent, headers=htmx("http://testserver/jobs/1/"))
    assert "out of turn" not in answer.content.decode()


def test_a_retired_cut_is_no_longer_touched(signed_in: Client, steps: dict[str, Step]) -> None:
    cut = next(step for step in steps.values() if step.kind == "cut")
    Step.objects.filter(pk=cut.pk).update(retired=True)
    assert str(cut.pk) not in touches(signed_in)


def test_papers_have_no_links(signed_in: Client, steps: dict[str, Step]) -> None:
    bundle = signed_in.get("/jobs/1/drawings.zip")
    assert bundle.status_code == 200
    with zipfile.ZipFile(io.BytesIO(b"".join(bundle) if bundle.streaming else bundle.content)) as files:
        drawn = [files.read(name).decode() for name in files.namelist() if name.endswith(".svg")]
    assert drawn
    assert not any("<a " in each for each in drawn)
