"""How stiff a tray is, on its job's page, on its traveller and before it is stored."""

from dataclasses import replace
from datetime import date
from typing import Any

from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

import calc
from calc.papers.traveller import Heading, traveller_html
from fabjobs.models import Job, Person
from fabjobs.services.job import job_create
from tests.shapes import FLAT, MIRROR, ring, sheet_of


def page_of(signed_in: Client, job: Job) -> str:
    return signed_in.get(reverse("job", args=[job.number])).content.decode()


def made(owner: Person, shape: dict[str, Any], **keys: Any) -> Job:
    return job_create(plan=calc.plan(sheet_of(shape, **keys)), due_day=date(2031, 5, 9), by=owner)


def paper(plan: calc.Plan) -> str:
    display = plan.sheet.making.display
    return traveller_html(plan, Heading(), display, lambda name, told: render_to_string(name, dict(told)), money=False)


def test_the_page_tells_sag_and_stress_of_each_facet(signed_in: Client, owner: Person) -> None:
    page = page_of(signed_in, made(owner, MIRROR, duty={"point_load": 20, "sag": 100}))
    assert "Too soft in 1.5 mm: 4 of 4 facets bear too little" in page
    assert "2 mm sheet would do" in page
    assert "by the tables (Timoshenko, Roark; from memory)" in page
    assert "may stay bent" in page  # among the warnings
    assert page.count('<th scope="row">B</th>') >= 1


def test_of_many_facets_the_worst_stand_open(signed_in: Client, owner: Person) -> None:
    page = page_of(signed_in, made(owner, ring(9)))
    assert "The other 3 facets" in page


def test_loose_parts_and_plans_of_before_have_none(signed_in: Client, owner: Person) -> None:
    assert 'id="stiffness"' not in page_of(signed_in, made(owner, FLAT["one"]))
    of_before = replace(calc.plan(sheet_of(MIRROR)), stiffness=None)
    job = job_create(plan=of_before, due_day=date(2031, 5, 9), by=owner)
    page = page_of(signed_in, job)
    assert 'id="stiffness"' not in page
    assert 'id="shape"' in page


def test_the_traveller_has_a_short_table() -> None:
    plan = calc.plan(sheet_of(ring(9)))
    page = paper(plan)
    assert "the 6 worst of 9 facets" in page
    assert "An estimate: each facet a flat plate by itself" in page
    assert "Stiffness" not in paper(calc.plan(sheet_of(FLAT["one"])))


def test_sheet_of_inches_is_told_in_inches(signed_in: Client, owner: Person) -> None:
    page = page_of(signed_in, made(owner, MIRROR, making={"units": "in"}, duty={"point_load": 20, "sag": 100}))
    assert "Too soft in 0.059 in" in page
    assert "0.081 in sheet would do for all" in page
