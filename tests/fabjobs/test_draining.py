"""How a tray drains in use, on its job's page and on its traveller."""

import html
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import Client

import calc
from calc.drainage import drain
from calc.papers.traveller import Heading, traveller_html
from fabjobs.models import Person
from fabjobs.services import job_create
from tests.shapes import MIRROR, PLATES, SUMPS, pan, sheet_of, valley_tray

LONG = valley_tray([[0, 0], [900, 0], [900, 400], [0, 400]], [[200, 200, 50], [700, 200, 52]], outlet={"bore": 40})


def page_of(client: Client, owner: Person, shape: dict[str, Any], **duty: Any) -> str:
    made = calc.plan(sheet_of(shape, duty=duty))
    job = job_create(plan=made, due_day=date(2031, 5, 9), by=owner)
    return html.unescape(client.get(job.get_absolute_url()).content.decode())


def paper_of(shape: dict[str, Any], units: str = "mm", **duty: Any) -> str:
    made = calc.plan(sheet_of(shape, duty=duty, making={"units": units}))
    return html.unescape(traveller_html(made, Heading(), made.sheet.making.display, render_to_string, money=False))


def test_the_page_tells_the_outlet_at_the_pumps_flow(signed_in: Client, owner: Person) -> None:
    page = page_of(signed_in, owner, LONG, pump_flow=12)
    outlet = calc.plan(sheet_of(LONG, duty={"pump_flow": 12})).drainage.outlet
    assert "Over the outlet at 12 l/min" in page
    assert f"{outlet.running.freeboard:.1f}"[:2] in page.split("Freeboard left")[1][:40]
    assert outlet.enough.name in page.split("Smallest usual outlet")[1][:60]
    assert "Weighs full" in page
    assert 'class="drawing capacity"' in page
    assert "must run free below" in page


def test_the_page_tells_each_way_out_of_level(signed_in: Client, owner: Person) -> None:
    """Left side 9 low over 900: the valley falls 6 in 1000 the wrong way."""
    page = page_of(signed_in, owner, LONG, out_of_level=9)
    table = page.split("Set out of level by 9 mm")[1].split("</table>")[0]
    assert [side for side in ("left", "right", "front", "back") if f'<th scope="row">{side}</th>' in table] == [
        "left",
        "right",
        "front",
        "back",
    ]
    assert "1 in 167 the wrong way" in table
    assert "Freeboard" not in table  # nobody said what the pump delivers
    assert "Set it up true within 3.6 mm" in page
    falls = page.split("Set up level, the least first")[1].split("</table>")[0]
    assert falls.index("seam E-F") < falls.index("facet C")


def test_a_pan_has_no_outlet_and_loose_parts_no_drain(signed_in: Client, owner: Person) -> None:
    page = page_of(signed_in, owner, pan(620, 410, 55, inside_radius=2))
    assert "stay in it till pumped or baled out" in page
    assert "side 5 mm low: holds 12.8 litres" in page
    assert "must run free below" not in page
    assert 'id="drain"' not in page_of(signed_in, owner, PLATES)


def test_a_job_of_an_earlier_day_tells_it_too(signed_in: Client, owner: Person) -> None:
    """Its stored plan has the falls alone."""
    made = calc.plan(sheet_of(LONG))
    made = replace(made, drainage=drain(made.shell))
    job = job_create(plan=made, due_day=date(2031, 5, 9), by=owner)
    assert "Weighs full" in signed_in.get(job.get_absolute_url()).content.decode()


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_traveller_tells_it(units: str) -> None:
    page = paper_of(LONG, units, pump_flow=12, out_of_level=9)
    drain = page.split("<h2>Drain")[1].split("</section>")[0]
    for label in ("Freeboard left", "Smallest usual outlet", "Empties in", "Weighs full", "Out of level, at worst"):
        assert label in drain
    assert "1 in 167 the wrong way" in drain
    assert 'class="drawing capacity"' in drain


def test_the_traveller_of_loose_parts_has_none_of_it() -> None:
    assert "<h2>Drain" not in paper_of(PLATES)


@pytest.mark.parametrize(
    ("shape", "making", "made"),
    [
        (MIRROR, {}, "bored after welding"),
        (MIRROR, {"joins": "fewest-welds"}, "drilled before folding, trued after welding"),
        (SUMPS["rectangle"], {}, "bored before welding"),
    ],
)
def test_it_says_when_the_outlet_is_bored(
    signed_in: Client, owner: Person, shape: dict[str, Any], making: dict[str, str], made: str
) -> None:
    planned = calc.plan(sheet_of({**shape, "outlet": {"bore": 38}}, making=making))
    job = job_create(plan=planned, due_day=date(2031, 5, 9), by=owner)
    page = html.unescape(signed_in.get(job.get_absolute_url()).content.decode())
    assert f'<dt>Outlet</dt><dd>38 mm</dd><dd class="aside">{made}</dd>' in page
    (bored,) = [step.text for step in planned.steps if step.key == "outlet:bore"]
    words = {"drilled": "True the outlet, drilled before folding", "bored": "Bore the outlet"}[
        made.split(maxsplit=1)[0]
    ]
    assert bored.startswith(words)
    assert ("before anything is folded or welded" in bored) is made.endswith("before welding")
