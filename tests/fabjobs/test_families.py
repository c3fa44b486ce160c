"""The families of the form: what each asks for, what a stored shape looks like typed back, what goes along unseen."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from hypothesis import given

import calc
from calc.families import FAMILIES as COMPUTED
from calc.tables.alloys import alloy, least_inside_radius
from calc.units import Display
from fabjobs.forms import ChangeForm, NewJobForm
from fabjobs.forms.families import FAMILIES
from fabjobs.models import Fabrication, Job, Person, Revision, ShopSettings
from fabjobs.services import job_create
from tests.fabjobs.changing import latest, typed
from tests.fabjobs.test_new_job import fault_beside, value_of
from tests.shapes import finished_trays, pans

PAGE, PREVIEW, ASK = "/jobs/new", "/jobs/new/preview", "/jobs/new/ask"
Headers = Callable[..., dict[str, str]]
MAKING = {"kerf": "2", "edge_trim": "5", "seam_gap": "0.5", "effort": "quick"}
SHEET = {"sheet_length": "2500", "sheet_width": "1250", "price": "96.00", "labour": "40.00"}
METAL = {"quantity": "1", "alloy": "5052-H32", "thickness": "2"}
SIZES = {"family": "pan", "length": "420", "width": "265", "height": "55"}
PAN: dict[str, str] = {"title": "Swarf pan", **METAL, **SIZES, **MAKING, **SHEET}


def shape_sent(client: Client, form: dict[str, str]) -> dict[str, Any]:
    """The shape that a form makes."""
    answer = client.post(PAGE, form)
    assert answer.status_code == 302, re.findall(r'id="(fault-[^"]*)"[^>]*>([^<]+)<', answer.content.decode())
    shape: dict[str, Any] = Revision.objects.latest("pk").sheet["shape"]
    return shape


def test_every_family_that_is_computed_can_be_typed() -> None:
    assert set(FAMILIES) == set(COMPUTED)


def test_the_family_comes_first_and_each_asks_for_its_own(signed_in: Client) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert page.index('name="family"') < page.index('name="rim_by"')
    assert 'name="corner_0_x"' in page
    assert 'name="return_width"' not in page
    pan = signed_in.post(ASK, {"family": "pan"}).content.decode()
    assert 'name="return_width"' in pan
    assert 'name="depth"' not in pan
    assert 'name="wanted_fall"' not in pan
    assert 'name="joins"' not in pan


def test_a_family_that_is_none_is_told_beside_the_choice(signed_in: Client, form: dict[str, str]) -> None:
    answer = signed_in.post(PAGE, {**form, "family": "bucket"})
    assert answer.status_code == 422
    assert "not one of the available choices" in fault_beside(answer.content.decode(), "family")


def test_by_htmx_only_the_form_comes_back_and_what_was_typed_stays(
    signed_in: Client, form: dict[str, str], htmx: Headers
) -> None:
    pan = signed_in.post(ASK, {**form, "family": "pan"}, headers=htmx()).content.decode()
    assert pan.lstrip().startswith('<form id="new-job"')
    assert value_of(pan, "title") == "Coolant tray"
    assert value_of(pan, "thickness") == "1.5"
    assert fault_beside(pan, "length") == ""


def test_going_back_finds_what_was_typed_for_the_other_family(signed_in: Client, form: dict[str, str]) -> None:
    page = signed_in.post(ASK, {**form, "corners": "5", "corner_4_x": "-20", "family": "pan"}).content.decode()
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', page))
    assert (hidden["corners"], hidden["corner_4_x"], hidden["low_x"], hidden["depth"]) == ("5", "-20", "547", "48")
    back = signed_in.post(ASK, {**hidden, "family": "fall-tray"}).content.decode()
    assert value_of(back, "corner_4_x") == "-20"
    assert value_of(back, "low_y") == "163"


# The pan


def test_a_pan_is_saved_with_what_was_typed(signed_in: Client) -> None:
    shape = shape_sent(signed_in, {**PAN, "inside_radius": "3", "fall": "9", "return_width": "18"})
    assert shape == {
        "family": "pan", "length": 420, "width": 265, "height": 55, "inside_radius": 3, "fall": 9, "return_width": 18,
    }  # fmt: skip
    assert (Fabrication.objects.get().name, Revision.objects.get().sheet["making"]["joins"]) == ("Pan", "weld-all")


def test_left_empty_a_pan_has_no_fall_no_return_and_the_usual_radius(signed_in: Client) -> None:
    shape = shape_sent(signed_in, PAN)
    least = least_inside_radius(alloy("5052-H32"), 2.0)  # its source stands in its row
    assert (shape["inside_radius"], shape["fall"], shape["return_width"]) == (least.radius, 0, None)


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"length": "-3"}, "length", "must be more than 0 mm (got &quot;-3 mm&quot;)"),
        ({"width": "4"}, "width", "must be more than two thicknesses, 4 mm"),
        ({"height": "1"}, "height", "must be more than one thickness, 2 mm"),
        ({"inside_radius": "300"}, "inside_radius", "must be at most 200 mm"),
        ({"fall": "-1"}, "fall", "must be at least 0 mm"),
        ({"return_width": "0"}, "return_width", "must be more than 0 mm"),
        ({"height": "deep"}, "height", "no number"),
    ],
)
def test_a_fault_of_a_pan_lands_beside_its_field(
    signed_in: Client, change: dict[str, str], field: str, words: str
) -> None:
    answer = signed_in.post(PAGE, {**PAN, **change})
    assert answer.status_code == 422
    assert words in fault_beside(answer.content.decode(), field)


def test_the_preview_of_a_pan_draws_and_reckons_it(signed_in: Client, htmx: Headers) -> None:
    page = signed_in.post(PREVIEW, PAN, headers=htmx()).content.decode()
    # inside: 416 x 261 x 53, from 420 x 265 x 55 outside in 2 mm
    assert f"{416 * 261 * 53 / 1e6:.1f} litres" in page
    assert 'data-field="return-width"' in page
    assert "1 to mark out" in page


def test_a_pan_half_typed_says_what_is_missing(signed_in: Client, htmx: Headers) -> None:
    page = signed_in.post(PREVIEW, {**PAN, "height": "", "thickness": ""}, headers=htmx()).content.decode()
    assert "Still to give: Height, Thickness." in page


# Rims


@pytest.mark.parametrize(
    ("typed", "finish"),
    [
        ({}, {"kind": "bare"}),
        ({"rim_finish": "bare", "lap_width": "thick"}, {"kind": "bare"}),
        ({"rim_finish": "lap", "lap_width": "25"}, {"kind": "lap", "width": 25, "inside_radius": 1.5}),
        (
            {"rim_finish": "lap", "lap_width": "1 in", "rim_radius": "3"},
            {"kind": "lap", "width": 25.4, "inside_radius": 3},
        ),
        (
            {"rim_finish": "upstand", "upstand_height": "20", "lap_width": "25", "rim_radius": "2"},
            {"kind": "upstand", "height": 20, "inside_radius": 2},
        ),
    ],
)
def test_a_rim_ends_as_it_was_typed(
    signed_in: Client, form: dict[str, str], typed: dict[str, str], finish: dict[str, Any]
) -> None:
    assert shape_sent(signed_in, {**form, **typed})["rim_finish"] == finish


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"rim_finish": "lap"}, "lap_width", "Not given yet."),
        ({"rim_finish": "upstand"}, "upstand_height", "Not given yet."),
        ({"rim_finish": "lap", "lap_width": "0"}, "lap_width", "must be more than 0 mm"),
        ({"rim_finish": "lap", "lap_width": "25", "rim_radius": "201"}, "rim_radius", "must be at most 200 mm"),
        ({"rim_finish": "rolled"}, "rim_finish", "not one of the available choices"),
        ({"joins": "rivets"}, "joins", "not one of the available choices"),
    ],
)
def test_a_fault_of_a_rim_lands_beside_its_field(
    signed_in: Client, form: dict[str, str], change: dict[str, str], field: str, words: str
) -> None:
    answer = signed_in.post(PAGE, {**form, **change})
    assert answer.status_code == 422
    assert words in fault_beside(answer.content.decode(), field)


def test_facets_are_joined_as_chosen(signed_in: Client, form: dict[str, str]) -> None:
    signed_in.post(PAGE, {**form, "joins": "fewest-welds"})
    assert Revision.objects.get().sheet["making"]["joins"] == "fewest-welds"


def test_the_shops_way_of_bending_goes_into_the_sheet(signed_in: Client) -> None:
    folder = {"bend_method": "k-factor", "k_factor": 0.38, "longest_fold": 1000.0, "largest_blank": 1800.0}
    ShopSettings.objects.update(**folder)
    shape_sent(signed_in, {**PAN, "inside_radius": "2"})
    revision = Revision.objects.get()
    assert {key: revision.sheet["making"][key] for key in folder} == folder
    # a 90 degree bend takes pi/2 (R + K T): R = T = 2 mm
    bends = [fold["allowance"] for blank in revision.plan["blanks"] for fold in blank["folds"]]
    assert bends == pytest.approx([3.141592654 / 2 * (2 + 0.38 * 2)] * 4)
    ShopSettings.objects.update(bend_method="faa")
    assert calc.plan(revision.sheet).as_json() == revision.plan


# Typed back


def same_again(shape: dict[str, Any], display: Display) -> bool:
    """Whether a sheet of this shape, typed back into the form and sent, is the same sheet."""
    sheet = {"shape": shape, "material": {"alloy": "5052-H32", "thickness": 2}, "title": "x", "making": {}}
    try:
        stored = calc.read_sheet(sheet).as_json()
    except calc.SheetFaults:
        return True  # a lap too wide for its rim is none
    shop = ShopSettings(pk=1, unit=display.unit, rule="0.5" if display.unit == "mm" else "1/32")
    form = NewJobForm(NewJobForm.from_sheet(stored, shop=shop), shop=shop)
    return bool(form.is_valid() and calc.read_sheet(form.sheet).as_json()["shape"] == stored["shape"])


@pytest.mark.django_db
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_any_stored_shape_typed_back_is_the_same(unit: str) -> None:
    display = Display("in") if unit == "in" else Display()

    @given(pans() | finished_trays())
    def check(shape: dict[str, Any]) -> None:
        assert same_again(shape, display)

    check()


def test_a_usual_radius_stays_empty_so_that_it_follows_the_metal(owner: Person) -> None:
    sheet = {"shape": {"family": "pan", "length": 400, "width": 250, "height": 60}, "title": "Pan"}
    job = job_create(
        plan=calc.plan({**sheet, "material": {"alloy": "5052-H32", "thickness": 1.5}}), due_day=None, by=owner
    )
    form = ChangeForm(typed(job, thickness="3", reason="thicker"), revision=latest(job), shop=ShopSettings.current())
    assert form.is_valid()
    made = calc.read_sheet(form.sheet)
    usual = made.material.usual_radius
    assert usual != latest(job).sheet["shape"]["inside_radius"]
    assert (made.as_json()["shape"]["inside_radius"], made.making.fold_radius) == (usual, usual)


def test_a_radius_of_ones_own_stays(owner: Person) -> None:
    shape = {"family": "pan", "length": 400, "width": 250, "height": 60, "inside_radius": 4}
    metal = {"alloy": "5052-H32", "thickness": 1.5}
    plan = calc.plan({"shape": shape, "title": "Pan", "material": metal, "making": {"fold_radius": 5}})
    job = job_create(plan=plan, due_day=None, by=owner)
    form = ChangeForm(typed(job, thickness="3", reason="thicker"), revision=latest(job), shop=ShopSettings.current())
    assert form.is_valid()
    made = calc.read_sheet(form.sheet)
    assert (made.as_json()["shape"]["inside_radius"], made.making.fold_radius) == (4, 5)


# Changed


def test_a_tray_may_become_a_pan(signed_in: Client, job: Job) -> None:
    asked = signed_in.post("/jobs/1/change/ask", {**typed(job), "family": "pan"}).content.decode()
    assert 'name="return_width"' in asked
    sizes = {"family": "pan", "length": "600", "width": "400", "height": "60", "reason": "A pan will do"}
    answer = signed_in.post("/jobs/1/change", typed(job, **sizes))
    assert answer.status_code == 302
    assert latest(job).sheet["shape"]["family"] == "pan"
    page = signed_in.get("/jobs/1/revisions/1/2/").content.decode()
    for what in ("Low point", "Depth", "Outlet", "Length", "Height"):
        assert f'<th scope="row">{what}</th>' in page
    assert signed_in.get("/jobs/1/").status_code == 200


def test_a_pan_may_become_a_tray(signed_in: Client, owner: Person) -> None:
    shape = {"family": "pan", "length": 400, "width": 250, "height": 60}
    metal = {"alloy": "5052-H32", "thickness": 1.5}
    plan = calc.plan({"shape": shape, "material": metal, "title": "Pan", "making": {"effort": "quick"}})
    job = job_create(plan=plan, due_day=None, by=owner)
    asked = signed_in.post("/jobs/1/change/ask", {**typed(job), "family": "fall-tray"}).content.decode()
    for name, value in (("rim_by", "corners"), ("rim_finish", "bare"), ("joins", "weld-all")):
        assert re.search(rf'name="{name}" value="{value}"[^>]*checked', asked), name
    corners = {"corner_0_x": "0", "corner_0_y": "0", "corner_1_x": "600", "corner_1_y": "0", "corner_2_x": "0"}
    corners |= {"corner_2_y": "400", "corners": "3", "low_x": "150", "low_y": "120", "depth": "40"}
    sent = {"family": "fall-tray", "rim_by": "corners", "rim_finish": "bare", "reason": "A tray after all", **corners}
    assert signed_in.post("/jobs/1/change", typed(job, **sent)).status_code == 302
    assert latest(job).sheet["shape"]["depth"] == 40


def test_a_change_of_a_pan_is_named_by_its_sizes(signed_in: Client, owner: Person, htmx: Headers) -> None:
    shape = {"family": "pan", "length": 400, "width": 250, "height": 60, "return_width": 20}
    metal = {"alloy": "5052-H32", "thickness": 1.5}
    plan = calc.plan({"shape": shape, "material": metal, "title": "Pan", "making": {"effort": "quick"}})
    job = job_create(plan=plan, due_day=None, by=owner)
    page = signed_in.post(
        "/jobs/1/change/preview", typed(job, height="72", return_width=""), headers=htmx()
    ).content.decode()
    moved = re.search(r"<caption[^>]*>What moved.*?</table>", page, re.DOTALL)
    assert moved
    rows = re.findall(r'<th scope="row">([^<]*)</th>.*?data-label="by">([^<]*)<', moved[0])
    assert rows == [("Height", "+12 mm"), ("Return width", "gone")]
