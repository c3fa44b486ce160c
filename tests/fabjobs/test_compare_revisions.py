"""Two revisions side by side."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from django.test import Client

from calc.units import Display
from fabjobs import planning
from fabjobs.changes import Difference
from fabjobs.models import Job, Person, Revision, Step
from tests.fabjobs.changing import DEEPER, WIDER, typed, work_on

PAGE = "/jobs/1/revisions/1/2/"


@pytest.fixture
def changed(signed_in: Client, job: Job, owner: Person) -> Job:
    """Deeper first (all blanks change), then wider; work on marking A done under the first."""
    work_on(Step.objects.get(key="mark:A"), owner)
    assert signed_in.post("/jobs/1/change", typed(job, **DEEPER)).status_code == 302
    assert signed_in.post("/jobs/1/change", typed(job, **WIDER)).status_code == 302
    return job


def cells(page: str, what: str) -> list[str]:
    """The cells of the table row that begins with this."""
    row = re.search(rf'<tr[^>]*><th scope="row">{what}</th>(.*?)</tr>', page)
    assert row, f"no row {what}"
    return re.findall(r"<td[^>]*>(.*?)</td>", row[1])


def test_was_now_and_difference(signed_in: Client, changed: Job) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert cells(page, "Depth") == ["48 mm", "60 mm", "+12 mm"]
    # Litres of a pyramid: area by the shoelace formula over the corners x depth / 3.
    area = (812 * 391 - 797 * 9 + 797 * 402 - -14 * 391) / 2
    was, now = area * 48 / 3e6, area * 60 / 3e6
    more = Decimal(f"{now:.1f}") - Decimal(f"{was:.1f}")  # of the figures shown, so that they prove
    assert cells(page, "Holds") == [f"{was:.1f} litres", f"{now:.1f} litres", f"+{more} litres"]
    first, second = Revision.objects.filter(number__lte=2).order_by("number")
    assert cells(page, "Cost")[:2] == [f"{first.total_cost} EUR", f"{second.total_cost} EUR"]
    assert cells(page, "Cost")[2] == f"{second.total_cost - first.total_cost:+} EUR".replace("-", "−")
    assert cells(page, "A")[0] == "<b>changed</b>"
    assert page.count("<svg") == 4  # the tray and its plan, before and after
    assert "Pump sits lower" in page
    assert first.check_code in page
    assert second.check_code in page


def test_the_work_that_was_undone_stands_with_who_and_when(signed_in: Client, changed: Job) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert re.search(r"Mark out A.*edda, .*: ticked; edda, .*: 15 min; edda, .*: “blade changed”", page)
    later = signed_in.get("/jobs/1/revisions/2/3/").content.decode()
    assert "Work that no longer counts" not in later  # that was undone by the revision before
    assert cells(later, "Corner 3") == ["797, 391 mm", "803, 399 mm", "10 mm"]
    assert "Mark out A" in signed_in.get("/jobs/1/revisions/1/3/").content.decode()


def test_the_later_one_first_leads_to_the_earlier_one_first(signed_in: Client, changed: Job) -> None:
    answer = signed_in.get("/jobs/1/revisions/2/1/")
    assert (answer.status_code, answer["Location"]) == (302, PAGE)


def test_figures_that_do_not_change_say_none(signed_in: Client, job: Job) -> None:
    signed_in.post("/jobs/1/change", typed(job, kerf="2.6", reason="Other blade"))
    page = signed_in.get(PAGE).content.decode()
    assert cells(page, "Holds")[2] == "none"
    assert "Nothing: the shape is the same." in page
    assert cells(page, "Saw kerf") == ["2 mm", "2.6 mm", "+0.6 mm"]


def test_drain_and_stiffness_stand_side_by_side(signed_in: Client, job: Job) -> None:
    """A wider outlet and thicker sheet, the reasons of the change; 26 l/min pumped."""
    signed_in.post("/jobs/1/change", typed(job, bore="77.93", thickness="2", pump_flow="26", reason="Drain too small"))
    page = signed_in.get(PAGE).content.decode()
    was, now = (planning.restore(one) for one in Revision.objects.order_by("number"))
    assert now.sheet.duty.pump_flow == 26
    passes = [f"{round(one.drainage.outlet.passes)} l/min" for one in (was, now)]
    assert cells(page, "Passes at the brim")[:2] == passes
    freeboard = now.sheet.making.display.length(max(0, now.drainage.outlet.running.freeboard)).replace("0 mm", "none")
    assert cells(page, "Freeboard left") == ["–", freeboard, "–"]  # no pump was given before
    shares = [max(one.stiffness.facets, key=lambda facet: facet.share) for one in (was, now)]
    percents = [round(worst.share * 100) for worst in shares]
    told = [f"{worst.face}, at {share} %" for worst, share in zip(shares, percents, strict=True)]
    assert cells(page, "Nearest to what is borne") == [*told, f"−{percents[0] - percents[1]} %"]
    assert cells(page, "Thickness, mm") == ["1.5", "2", "+0.5"]
    assert cells(page, "Outlet")[1] == "77.93 mm"
    assert cells(page, "Weld")[0] == f"{was.takeoff.weld_length / 1000:.1f} m"


def test_a_plan_of_an_earlier_day_shows_a_dash(signed_in: Client, job: Job) -> None:
    signed_in.post("/jobs/1/change", typed(job, kerf="2.6", reason="Other blade"))
    before, after = Revision.objects.order_by("number")
    old = planning.restore(before)
    old = replace(old, drainage=replace(old.drainage, outlet=None, full=None), stiffness=None)
    lines = {line.what: line for line in Difference(old, planning.restore(after), Display(), []).figures}
    for what in ("Passes at the brim", "Nearest to what is borne"):
        assert (lines[what].was, lines[what].by) == ("–", "–")
        assert lines[what].now != "–"
    assert "Freeboard left" not in lines  # neither knows of a pump


@pytest.mark.parametrize("path", ["1/1/", "1/9/", "0/2/", f"1/{'9' * 30}/"])
def test_a_pair_that_is_not_there(signed_in: Client, changed: Job, path: str) -> None:
    assert signed_in.get(f"/jobs/1/revisions/{path}").status_code == 404


def test_missing_signed_out_and_wrong_method(signed_in: Client, changed: Job) -> None:
    assert signed_in.get("/jobs/7/revisions/1/2/").status_code == 404
    assert signed_in.post(PAGE).status_code == 405
    answer = Client().get(PAGE)
    assert (answer.status_code, answer["Location"]) == (302, f"/sign-in?next={PAGE}")
