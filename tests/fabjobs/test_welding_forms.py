"""How it is welded, how true it is cut, what it is let into: asked of a new job, typed back, set for the shop."""

import re

import pytest
from django.test import Client

from fabjobs.models import Job, Revision, ShopSettings
from tests.fabjobs.changing import latest, typed
from tests.fabjobs.test_new_job import fault_beside, value_of
from tests.fabjobs.test_settings_page import shop_form

PAGE = "/jobs/new"
WELDING = {
    "process": "MIG",
    "service_temperature": "60",
    "weld_side": "wet",
    "marking_error": "0.3",
    "cutting_error": "1",
    "bench_alloy": "6061-T6",
    "bench_thickness": "3",
}


def chosen(page: str, name: str) -> str:
    options = re.search(rf'<select name="{name}".*?</select>', page, re.DOTALL)
    assert options, name
    found = re.search(r'value="([^"]*)" selected', options[0])
    return found[1] if found else ""


def test_what_is_typed_is_on_the_sheet(signed_in: Client, form: dict[str, str]) -> None:
    assert signed_in.post(PAGE, {**form, **WELDING}).status_code == 302
    sheet = Revision.objects.get().sheet
    making = {name: sheet["making"][name] for name in WELDING if not name.startswith("bench")}
    assert making == {
        "process": "MIG", "service_temperature": 60, "weld_side": "wet", "marking_error": 0.3, "cutting_error": 1,
    }  # fmt: skip
    assert sheet["bench"] == {"alloy": "6061-T6", "thickness": 3}


def test_left_empty_it_is_the_shops_own_or_the_usual(signed_in: Client, form: dict[str, str]) -> None:
    ShopSettings.objects.update(process="MIG", marking_error=0.25, cutting_error=0.75)
    page = signed_in.get(PAGE).content.decode()
    assert (chosen(page, "process"), value_of(page, "marking_error")) == ("MIG", "0.25")
    assert signed_in.post(PAGE, {**form, **dict.fromkeys(WELDING, "")}).status_code == 302
    sheet = Revision.objects.get().sheet
    making = {name: sheet["making"][name] for name in ("process", "weld_side", "marking_error", "cutting_error")}
    assert making == {"process": "MIG", "weld_side": "dry", "marking_error": 0.25, "cutting_error": 0.75}
    assert sheet["making"]["service_temperature"] == 20
    assert sheet["bench"] == {"alloy": None, "thickness": None}


@pytest.mark.parametrize(
    ("name", "given", "words"),
    [
        ("process", "rivets", "not one of the available choices"),
        ("service_temperature", "warm", "Must be a number of °C, from -50 to 300."),
        ("service_temperature", "301", "Must be a number of °C, from -50 to 300."),
        ("weld_side", "both", "not one of the available choices"),
        ("marking_error", "11", "must be at most 10 mm"),
        ("cutting_error", "fine", "no number"),
        ("bench_alloy", "oak", "not one of the available choices"),
        # no rod joins aluminium and steel (filler charts of welding handbooks)
        ("bench_alloy", "S235JR", "can&#x27;t be welded to 5052-H32"),
        ("bench_thickness", "40", "must be at most 25 mm"),
        ("bench_thickness", "12 ga", "not a unit of length"),
    ],
)
def test_a_fault_stands_beside_its_field_and_the_part_is_open(
    signed_in: Client, form: dict[str, str], name: str, given: str, words: str
) -> None:
    answer = signed_in.post(PAGE, {**form, name: given})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in fault_beside(page, name)
    assert re.search(r"<details open>\s*<summary>Welding, bench and errors", page)
    assert not Revision.objects.exists()


def test_a_metal_that_no_rod_welds_for_that_heat_is_told_beside_it(signed_in: Client, form: dict[str, str]) -> None:
    # what welds 5083 has over 3 % magnesium, and may not serve above 65 °C (filler charts of welding handbooks)
    page = signed_in.post(PAGE, {**form, "alloy": "5083-H111", "service_temperature": "90"}).content.decode()
    assert "must be at most 65 °C to weld 5083-H111" in fault_beside(page, "service_temperature")


def test_a_pan_has_no_bench_and_flat_parts_no_welds(signed_in: Client, form: dict[str, str]) -> None:
    for family, named in (("pan", {"process", "marking_error"}), ("flat-parts", set())):
        page = signed_in.post(PAGE, {**form, **WELDING, "family": family, "title": ""}).content.decode()
        asked = set(re.findall(r'<(?:select|input type="text") name="(\w+)"', page))
        assert named <= asked
        assert "bench_alloy" not in asked
        # what was typed goes along, for whoever goes back to a tray
        assert value_of(page, "bench_thickness") == "3"


def test_the_form_of_a_change_opens_with_what_is_stored(signed_in: Client, form: dict[str, str]) -> None:
    signed_in.post(PAGE, {**form, **WELDING})
    page = signed_in.get("/jobs/1/change").content.decode()
    assert {name: chosen(page, name) for name in ("process", "weld_side", "bench_alloy")} == {
        "process": "MIG", "weld_side": "wet", "bench_alloy": "6061-T6",
    }  # fmt: skip
    for name in ("service_temperature", "marking_error", "cutting_error", "bench_thickness"):
        assert value_of(page, name) == WELDING[name]
    job = Job.objects.get()
    assert signed_in.post("/jobs/1/change", typed(job, marking_error="0.6", reason="New rule")).status_code == 302
    sheet = latest(job).sheet
    assert (sheet["making"]["marking_error"], sheet["bench"]["alloy"]) == (0.6, "6061-T6")
    told = signed_in.get("/jobs/1/revisions/1/2/").content.decode()
    assert "Marking error, either way" in told
    assert "0.3 mm" in told


def test_a_sheet_of_an_earlier_day_opens_with_what_it_meant(signed_in: Client, job: Job) -> None:
    # stored before anything was asked of the welding: TIG from the dry side, at shop temperature, half a millimetre
    revision = latest(job)
    sheet = {**revision.sheet, "making": {k: v for k, v in revision.sheet["making"].items() if k not in WELDING}}
    del sheet["bench"]
    ShopSettings.objects.update(process="MIG", marking_error=2)
    from fabjobs.forms import ChangeForm

    opened = ChangeForm.from_sheet(sheet, shop=ShopSettings.current())
    assert {name: opened[name] for name in ("process", "weld_side", "service_temperature", "marking_error")} == {
        "process": "TIG", "weld_side": "dry", "service_temperature": "20", "marking_error": "0.5",
    }  # fmt: skip
    assert opened["bench_alloy"] == ""


def test_the_shop_says_how_it_welds_and_how_true_it_cuts(signed_in: Client) -> None:
    sent = shop_form(process="MIG", marking_error="0.2", cutting_error="1.5")
    assert signed_in.post("/settings/shop", sent).status_code == 302
    reading = ShopSettings.objects.get().reading
    assert (reading["process"], reading["marking_error"], reading["cutting_error"]) == ("MIG", 0.2, 1.5)
