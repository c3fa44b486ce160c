"""What a tray has to bear: asked of a new job, typed back, kept through a change."""

import re

import pytest
from django.test import Client

from calc.duty import USUAL_DUTY
from calc.records import as_json
from fabjobs.forms import ChangeForm
from fabjobs.models import Job, Revision, ShopSettings
from tests.fabjobs.changing import latest, typed
from tests.fabjobs.test_new_job import fault_beside, value_of

PAGE = "/jobs/new"
DUTY = {
    "pump_flow": "30",
    "over_outlet": "open",
    "freeboard": "12",
    "out_of_level": "8",
    "coolant_density": "0.9",
    "chips": "45",
    "point_load": "60",
    "load_width": "80",
    "sag": "150",
}
STORED = {
    "pump_flow": 30, "strainer": False, "freeboard": 12, "out_of_level": 8, "coolant_density": 0.9,
    "chips": 45, "point_load": 60, "load_width": 80, "sag": 150,
}  # fmt: skip
GALLON = 3.785411784  # l, NIST SP 811


def test_what_is_typed_is_on_the_sheet(signed_in: Client, form: dict[str, str]) -> None:
    assert signed_in.post(PAGE, {**form, **DUTY}).status_code == 302
    assert Revision.objects.get().sheet["duty"] == STORED


def test_left_empty_it_is_the_usual_and_the_pump_unknown(signed_in: Client, form: dict[str, str]) -> None:
    assert signed_in.post(PAGE, {**form, **dict.fromkeys(DUTY, "")}).status_code == 302
    assert Revision.objects.get().sheet["duty"] == as_json(USUAL_DUTY)


def test_in_a_shop_of_inches_a_bare_flow_is_in_us_gallons(signed_in: Client, form: dict[str, str]) -> None:
    ShopSettings.objects.update(unit="in", rule="1/16")
    assert "Pump delivers, US gal/min" in signed_in.get(PAGE).content.decode()
    bare = ("quantity", "corners", "price", "labour")
    with_unit = {
        name: f"{value} mm" for name, value in form.items() if name not in bare and re.fullmatch(r"-?[\d.]+", value)
    }
    sent = {**form, **with_unit, "pump_flow": "8", "freeboard": "1/2"}
    assert signed_in.post(PAGE, sent).status_code == 302
    duty = Revision.objects.get().sheet["duty"]
    assert duty["pump_flow"] == pytest.approx(8 * GALLON, abs=1e-6)
    assert duty["freeboard"] == 12.7


@pytest.mark.parametrize(
    ("name", "given", "words"),
    [
        ("pump_flow", "lots", "a flow with its unit"),
        ("pump_flow", "0", "must be more than 0 l/min"),
        ("over_outlet", "a lid", "not one of the available choices"),
        ("freeboard", "2000", "must be at most 1000 mm"),
        ("out_of_level", "tilted", "no number"),
        ("coolant_density", "1000", "Must be a number from 0.5 to 2."),
        ("chips", "many", "Must be a number from 0 to 2000."),
        ("point_load", "-1", "Must be a number from 0 to 1000."),
        ("load_width", "1", "must be at least 5 mm"),
        ("sag", "1", "Must be a number from 20 to 2000."),
    ],
)
def test_a_fault_stands_beside_its_field_and_the_part_is_open(
    signed_in: Client, form: dict[str, str], name: str, given: str, words: str
) -> None:
    answer = signed_in.post(PAGE, {**form, name: given})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in fault_beside(page, name)
    assert re.search(r"<details open>\s*<summary>Pump, chips and loads", page)
    assert name == "over_outlet" or value_of(page, name) == given
    assert not Revision.objects.exists()


def test_a_pan_has_no_pump_and_flat_parts_bear_nothing(signed_in: Client, form: dict[str, str]) -> None:
    for family, named in (("pan", {"chips", "point_load", "sag"}), ("flat-parts", set())):
        page = signed_in.post(PAGE, {**form, **DUTY, "family": family, "title": ""}).content.decode()
        asked = set(re.findall(r'<input type="text" name="(\w+)"', page))
        assert named <= asked
        assert not asked & {"pump_flow", "out_of_level", "freeboard"}
        assert value_of(page, "pump_flow") == "30"  # what was typed goes along, for whoever goes back to a tray


def test_the_form_of_a_change_opens_with_what_is_stored_and_says_what_changed(
    signed_in: Client, form: dict[str, str]
) -> None:
    signed_in.post(PAGE, {**form, **DUTY})
    page = signed_in.get("/jobs/1/change").content.decode()
    assert value_of(page, "pump_flow") == "30 l/min"
    assert {name: value_of(page, name) for name in DUTY if name not in ("pump_flow", "over_outlet")} == {
        name: value for name, value in DUTY.items() if name not in ("pump_flow", "over_outlet")
    }
    job = Job.objects.get()
    changed = typed(job, pump_flow="40", freeboard="15", reason="Larger pump")
    assert signed_in.post("/jobs/1/change", changed).status_code == 302
    assert latest(job).sheet["duty"] == {**STORED, "pump_flow": 40, "freeboard": 15}
    told = signed_in.get("/jobs/1/revisions/1/2/").content.decode()
    for words in ("Pump delivers", "40 l/min", "To stay dry below the rim", "12 mm"):
        assert words in told


def test_a_sheet_of_an_earlier_day_opens_with_the_usual(job: Job) -> None:
    sheet = {key: value for key, value in latest(job).sheet.items() if key != "duty"}
    opened = ChangeForm.from_sheet(sheet, shop=ShopSettings.current())
    assert "pump_flow" not in opened
    assert (opened["over_outlet"], opened["freeboard"], opened["sag"]) == ("strainer", "10", "60")
