"""What pages tell of shared sheets: how far blanks elsewhere are sawn, and what serves no more since one of the two changed."""

import re
from decimal import Decimal
from unittest.mock import Mock
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

import calc
from fabjobs import planning
from fabjobs.models import Improvement, Job, Person, Step
from fabjobs.shared_sheets import SharedSheets
from fabjobs.together import plan_apart
from tests.fabjobs.changing import first_cut, latest, typed
from tests.fabjobs.pairs import first_cut_of, lay_together, renumbering, shares, two_jobs
from tests.fabjobs.test_together_services import set_tick

Pair = tuple[Job, Job]
EVERY = ["A.1", "B.1", "C.1", "D.1"]


@pytest.fixture
def pair(owner: Person) -> Pair:
    """Guest, job 1, and host, job 2, on one sheet."""
    jobs = two_jobs(owner)
    lay_together(*jobs, owner)
    return jobs


def shown(client: Client, path: str) -> str:
    """The text of a page."""
    page = client.get(path)
    assert page.status_code == 200
    return text_of(page.content.decode())


def text_of(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", page))


def test_the_guests_page_follows_the_saw(signed_in: Client, pair: Pair, owner: Person) -> None:
    """Sawn is a blank once the cut is ticked that leaves it with every edge done."""
    host = latest(pair[1])
    lie = "A.1, B.1, C.1, D.1 of this job lie on job 2, sheet 1, and are cut there: "
    assert f"{lie}that sheet is not cut into yet." in shown(signed_in, "/jobs/1/")
    freed: set[str] = set()
    cuts = host.plan["layout"]["sheets"][0]["cuts"]
    steps = Step.objects.filter(fabrication__job=pair[1], kind="cut", retired=False).order_by("position")
    for step in steps:
        set_tick(step, owner)
        number = int(re.findall(r"Sheet 1, cut (\d+)", step.text)[0])
        freed |= {name.removeprefix("1/") for name in cuts[number - 1]["frees"] if name.startswith("1/")}
        page = shown(signed_in, "/jobs/1/")
        if freed == set(EVERY):
            assert f"{lie}all sawn." in page
            return
        there, left = (", ".join(name for name in EVERY if (name in freed) == is_sawn) for is_sawn in (True, False))
        assert f"{lie}sawn: {there or 'none'}; not yet: {left}." in page
    pytest.fail("the last cut freed the last blank")


def test_a_tick_taken_back_is_a_blank_not_sawn(signed_in: Client, pair: Pair, owner: Person) -> None:
    cut = first_cut(pair[1])
    set_tick(cut, owner)
    set_tick(cut, owner, done=False)
    assert "that sheet is not cut into yet" in shown(signed_in, "/jobs/1/")


def test_a_guest_made_deeper_once_the_sheet_is_cut_into(signed_in: Client, pair: Pair, owner: Person) -> None:
    set_tick(first_cut(pair[1]), owner)
    deeper = typed(pair[0], depth="60", reason="Pump sits lower")
    told = "On job 2, sheet 1: A.1, B.1, C.1, D.1 are of an earlier shape, not for this tray."
    assert told in text_of(signed_in.post("/jobs/1/change/preview", deeper).content.decode())
    assert signed_in.post("/jobs/1/change", deeper).status_code == 302
    page = shown(signed_in, "/jobs/1/")
    assert told in page
    assert "The share of that metal stays charged." in page
    assert "of this job lie on" not in page
    assert "are cut there" not in page
    host = shown(signed_in, "/jobs/2/")
    assert "Job 1 has changed and has no use for 1/A.1, 1/B.1, 1/C.1, 1/D.1 on these sheets." in host


def test_nothing_is_unwanted_while_both_say_the_same(signed_in: Client, pair: Pair, owner: Person) -> None:
    set_tick(first_cut(pair[1]), owner)
    revision = latest(pair[1])
    assert SharedSheets.of(revision, planning.restore(revision)).unwanted == []
    assert "No longer wanted" not in shown(signed_in, "/jobs/2/")
    assert "Charged still" not in shown(signed_in, "/jobs/1/")


def test_a_guest_of_another_metal_is_told_what_it_leaves_and_what_stays_charged(
    signed_in: Client, pair: Pair, owner: Person
) -> None:
    set_tick(first_cut(pair[1]), owner)
    ((share,), (entry,)) = (shares(), latest(pair[0]).sheet["elsewhere"])
    assert Decimal(entry["price"]) == share.item.price
    stiffer = typed(pair[0], thickness="2", reason="Stiffer")
    preview = text_of(signed_in.post("/jobs/1/change/preview", stiffer).content.decode())
    assert "Left behind. A.1, B.1, C.1, D.1 lie on job 2, sheet 1, which is cut into, but of another metal" in preview
    assert f"The share of that sheet, {entry['price']} EUR, stays charged to this job." in preview
    assert signed_in.post("/jobs/1/change", stiffer).status_code == 302
    page = shown(signed_in, "/jobs/1/")
    assert "Charged still." in page
    assert f"The {share.item.label}" in page
    assert f"{entry['price']} EUR, stays charged to this job." in page
    assert "has no use for 1/A.1, 1/B.1, 1/C.1, 1/D.1" in shown(signed_in, "/jobs/2/")


def test_of_another_metal_before_anything_is_cut_leaves_nothing(signed_in: Client, pair: Pair) -> None:
    preview = signed_in.post("/jobs/1/change/preview", typed(pair[0], thickness="2")).content.decode()
    assert "Parts them." in preview
    assert "Left behind" not in preview


def test_a_change_that_moves_numbers_names_whom_it_tells(signed_in: Client, owner: Person) -> None:
    """The host's second and third sheets are shared and cut into; they come first in its next layout."""
    guest, host = renumbering(owner)
    for number in (2, 3):
        set_tick(first_cut_of(host, number), owner)
    told = f"Sheets get other numbers. Blanks of job {guest.number} lie on sheets that are cut into"
    for path in ("change", "joins/"):
        page = shown(signed_in, f"/jobs/{host.number}/{path}")
        assert told in page
        assert "Parts them." not in page
    assert told not in shown(signed_in, f"/jobs/{guest.number}/change")
    sent = typed(host, quantity="3", reason="Three are wanted")
    assert signed_in.post(f"/jobs/{host.number}/change", sent).status_code == 302
    now = latest(guest)
    assert now.reason == f"Job {host.number}'s sheets have other numbers"
    page = shown(signed_in, f"/jobs/{guest.number}/")
    assert f"lie on job {host.number}, sheet 1, and are cut there" in page or "sheet 1, and is cut there" in page
    assert "sheet 3" not in page


def test_a_better_layout_that_leaves_the_other_without_one_says_so(
    signed_in: Client, pair: Pair, owner: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As it may be where the other's sizes of sheet can't be read any more."""
    revision = latest(pair[1])
    plan = plan_apart(revision)
    asked = Improvement.objects.create(
        fabrication=revision.fabrication,
        revision=revision,
        by=owner,
        plan=plan.as_json(),
        started_at=timezone.now(),
        ended_at=timezone.now(),
    )
    faults = calc.SheetFaults([calc.Fault("sheet.stock", "sheet.stock: must hold a sheet")])
    monkeypatch.setattr(planning, "compute", Mock(side_effect=faults))
    answer = signed_in.post(f"/jobs/2/better-layout/{asked.pk}/take", {"form_key": str(uuid4())})
    assert answer.status_code == 422
    assert "Job 1, which shares sheets with it, can&#x27;t be laid out again" in answer.content.decode()
    assert [latest(job).number for job in pair] == [2, 2]
