"""New job: the form, its preview, its corners, and saving."""

import re
from collections.abc import Callable

import pytest
from django.test import Client

from fabjobs.models import Job, Part, Revision, ShopSettings, Step

PAGE, PREVIEW, CORNERS = "/jobs/new", "/jobs/new/preview", "/jobs/new/ask"
Headers = Callable[..., dict[str, str]]


def fault_beside(page: str, field: str) -> str:
    """What stands in the fault line of a field."""
    found = re.search(rf'<p class="fault[^"]*" id="fault-{field}"[^>]*>([^<]*)</p>', page)
    assert found, f"no place for faults beside {field}"
    return found[1]


def value_of(page: str, field: str) -> str:
    found = re.search(rf'<input[^>]*name="{field}"[^>]*>', page)
    assert found, f"no field {field}"
    value = re.search(r'value="([^"]*)"', found[0])
    return value[1] if value else ""


def test_the_page_opens_with_a_drawing_of_what_to_measure(signed_in: Client) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert page.index("<svg") < page.index('name="title"')
    assert all(f'data-field="{name}"' in page for name in ("corner-1-x", "corner-4-y", "low-x", "depth", "bore"))
    assert value_of(page, "kerf") == "2"


def test_saving_makes_the_job_with_its_plan(signed_in: Client, form: dict[str, str]) -> None:
    answer = signed_in.post(PAGE, form)
    job = Job.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/jobs/{job.number}/")
    assert (job.title, str(job.due_day)) == ("Coolant tray", "2031-05-09")
    revision = Revision.objects.get()
    assert revision.sheet["shape"]["rim"] == [[0, 0], [812, 9], [797, 391], [-14, 402]]
    assert revision.sheet["shape"]["outlet"] == {"bore": 32}
    assert revision.sheet["making"]["kerf"] == 2.2
    assert revision.sheet["stock"][0]["price"] == "96.00"
    assert revision.sheet["rates"]["labour"] == "40.00"
    assert (Part.objects.count(), Step.objects.count() > 20) == (4, True)


def test_the_same_form_twice_makes_one_job(signed_in: Client, form: dict[str, str]) -> None:
    form["form_key"] = value_of(signed_in.get(PAGE).content.decode(), "form_key")
    answers = [signed_in.post(PAGE, form) for _ in range(2)]
    assert [answer["Location"] for answer in answers] == ["/jobs/1/"] * 2
    assert (Job.objects.count(), Revision.objects.count()) == (1, 1)
    form["form_key"] = value_of(signed_in.get(PAGE).content.decode(), "form_key")
    assert signed_in.post(PAGE, form)["Location"] == "/jobs/2/"


def test_gone_back_to_and_typed_over_a_form_is_not_taken_for_a_repeat(signed_in: Client, form: dict[str, str]) -> None:
    form["form_key"] = value_of(signed_in.get(PAGE).content.decode(), "form_key")
    signed_in.post(PAGE, form)
    answer = signed_in.post(PAGE, {**form, "depth": "60"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "This form made job 1 already" in page
    assert value_of(page, "depth") == "60"
    assert Job.objects.count() == 1
    again = signed_in.post(PAGE, {**form, "depth": "60", "form_key": value_of(page, "form_key")})
    assert again["Location"] == "/jobs/2/"


def test_sent_again_with_another_due_day_it_is_told(signed_in: Client, form: dict[str, str]) -> None:
    form["form_key"] = value_of(signed_in.get(PAGE).content.decode(), "form_key")
    signed_in.post(PAGE, form)
    answer = signed_in.post(PAGE, {**form, "due_day": "2031-06-01"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "This form made job 1 already" in page
    assert value_of(page, "due_day") == "2031-06-01"
    assert str(Job.objects.get().due_day) == "2031-05-09"


def test_a_form_key_that_is_none_is_told(signed_in: Client, form: dict[str, str]) -> None:
    answer = signed_in.post(PAGE, {**form, "form_key": "x"})
    assert answer.status_code == 422
    assert "did not come back whole" in answer.content.decode()
    assert not Job.objects.exists()


def test_sent_by_htmx_it_leads_the_whole_page_on_or_gives_the_form_back(
    signed_in: Client, form: dict[str, str], htmx: Headers
) -> None:
    refused = signed_in.post(PAGE, {**form, "depth": "-5"}, headers=htmx())
    assert refused.status_code == 422
    assert refused.content.decode().lstrip().startswith('<form id="new-job"')
    assert signed_in.post(PAGE, form, headers=htmx())["HX-Redirect"] == "/jobs/1/"


def test_a_bare_number_is_in_the_shops_unit(signed_in: Client, shop: ShopSettings, form: dict[str, str]) -> None:
    ShopSettings.objects.update(unit="in", rule="1/16")
    form |= {
        "corner_1_x": "32",
        "corner_1_y": "9 mm",
        "corner_2_x": "31 3/8",
        "corner_2_y": "1'-3 3/8\"",
        "thickness": "1.5 mm",
    }
    form |= {
        "corner_3_x": "-14 mm",
        "corner_3_y": "40,2 cm",
        "low_x": "21 1/2",
        "low_y": "163 mm",
        "depth": "1 7/8",
        "bore": "1 1/4",
    }
    form |= {"sheet_length": "8 ft", "sheet_width": "48", "kerf": "1/16", "edge_trim": "1/4", "seam_gap": "0"}
    assert signed_in.post(PAGE, form).status_code == 302
    sheet = Revision.objects.get().sheet
    # 1 in = 25.4 mm exactly (1959 agreement)
    assert sheet["shape"]["rim"] == [[0, 0], [812.8, 9], [796.925, 390.525], [-14, 402]]
    assert sheet["shape"]["low_point"] == [546.1, 163]
    assert (sheet["shape"]["depth"], sheet["shape"]["outlet"]["bore"]) == (47.625, 31.75)
    assert (sheet["stock"][0]["length"], sheet["stock"][0]["width"]) == (2438.4, 1219.2)
    assert sheet["making"]["units"] == "in"


def test_a_rim_by_four_sides_and_both_diagonals(signed_in: Client, form: dict[str, str]) -> None:
    form = {name: value for name, value in form.items() if not name.startswith("corner_")}
    # a 3-4-5 rectangle: its diagonals follow from its sides
    form |= {"rim_by": "sides", "side_0": "800", "side_1": "600", "side_2": "800", "side_3": "600"}
    form |= {"diagonal_0": "1000", "diagonal_1": "1000", "low_x": "500", "low_y": "200"}
    assert signed_in.post(PAGE, form).status_code == 302
    vertices = Revision.objects.get().plan["shell"]["vertices"]
    assert [[round(x, 6), round(y, 6)] for x, y, _ in vertices[:4]] == [[0, 0], [800, 0], [800, 600], [0, 600]]


def test_what_stands_in_the_way_of_measuring_that_is_not_used_does_not_matter(
    signed_in: Client, form: dict[str, str]
) -> None:
    assert signed_in.post(PAGE, {**form, "side_0": "about a yard", "diagonal_1": "?"}).status_code == 302


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"title": ""}, "title", "Not given yet."),
        ({"title": "x" * 201}, "title", "at most 200 characters"),
        ({"due_day": "next week"}, "due_day", "valid date"),
        ({"quantity": "0"}, "quantity", "a whole number from 1 to 500"),
        ({"quantity": "501"}, "quantity", "a whole number from 1 to 500"),
        ({"alloy": "unobtainium"}, "alloy", "not one of the available choices"),
        ({"depth": "-5"}, "depth", "must be more than 0 mm (got &quot;-5 mm&quot;)"),
        ({"depth": "1,500"}, "depth", "the comma may mark thousands or decimals"),
        ({"depth": "deep"}, "depth", "no number"),
        ({"depth": ""}, "depth", "Not given yet."),
        ({"depth": "9" * 70}, "depth", "at most 60 characters"),
        ({"corner_2_x": "0", "corner_2_y": "0"}, "corner_2_x", "is the same point as corner 1"),
        ({"corner_2_y": "30001"}, "corner_2_y", "at most 20000"),
        ({"low_x": "2000"}, "low_x", "must lie inside the rim"),
        ({"bore": "900"}, "bore", "must be less than"),
        ({"thickness": "40"}, "thickness", "at most 25"),
        ({"kerf": "11"}, "kerf", "at most 10"),
        ({"kerf": "0"}, "kerf", "at least 0.5 mm where blanks are sawn"),
        ({"price": "cheap"}, "price", "an amount such as"),
        ({"labour": "-1"}, "labour", "an amount such as"),
        ({"effort": "heroic"}, "effort", "not one of the available choices"),
    ],
)
def test_a_fault_stands_beside_its_field_and_what_was_typed_stays(
    signed_in: Client, form: dict[str, str], change: dict[str, str], field: str, words: str
) -> None:
    answer = signed_in.post(PAGE, {**form, **change})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in fault_beside(page, field).replace("&#x27;", "'")
    assert value_of(page, "corner_3_y") == "402"
    assert not Job.objects.exists()


def test_a_fault_of_the_whole_rim_stands_beside_the_corners(signed_in: Client, form: dict[str, str]) -> None:
    form |= {"corner_1_x": "797", "corner_1_y": "391", "corner_2_x": "812", "corner_2_y": "9"}
    page = signed_in.post(PAGE, form).content.decode()
    assert re.search(r'<p class="fault whole" id="fault-rim_by">crosses itself', page)


@pytest.mark.parametrize("typed", ["10", "1 in 10", "1:10", "10 %"])
def test_the_depth_for_a_wanted_fall_is_never_too_little(signed_in: Client, form: dict[str, str], typed: str) -> None:
    """800 x 400, low point 500 along and 200 up: the worst seams run hypot(500, 200) = 538.516 in plan, so 1 in 10 takes
    53.8516 mm: 54 at a rule of 0.5. It is told before any depth was typed."""
    corners = {"corner_0_x": "0", "corner_0_y": "0", "corner_1_x": "800", "corner_1_y": "0", "corner_2_x": "800"}
    corners |= {"corner_2_y": "400", "corner_3_x": "0", "corner_3_y": "400", "low_x": "500", "low_y": "200"}
    page = signed_in.post(PREVIEW, {**form, **corners, "depth": "", "wanted_fall": typed}).content.decode()
    assert "1 in 10 at the least takes a depth of 54 mm." in page


@pytest.mark.parametrize("typed", ["steep", "0", "0 %", "1 in 0.5", "1 in 99999", "-3", "1e3", "2 % 3"])
def test_a_wanted_fall_that_is_none_is_told(signed_in: Client, form: dict[str, str], typed: str) -> None:
    page = signed_in.post(PREVIEW, {**form, "wanted_fall": typed}).content.decode()
    assert re.search(r'id="fault-wanted_fall"[^>]*>(?:Must be from 1 in 1|.* is no fall)', page)


def test_a_thickness_may_be_a_gauge(signed_in: Client, form: dict[str, str]) -> None:
    assert signed_in.post(PAGE, {**form, "alloy": "304", "thickness": "16 ga"}).status_code == 302
    sheet = Revision.objects.get().sheet
    assert sheet["material"]["thickness"] == 1.5875  # stainless 16 gauge, 1/16 in


def test_an_inch_shop_begins_with_inch_sizes(signed_in: Client) -> None:
    ShopSettings.objects.update(unit="in", rule="1/32", kerf=25.4 * 5 / 64, edge_trim=25.4 * 3 / 16, seam_gap=0.508)
    page = signed_in.get(PAGE).content.decode()
    for name, figure in {
        "sheet_length": "96",
        "sheet_width": "48",
        "kerf": "5/64",
        "edge_trim": "3/16",
        "seam_gap": "0.02",
    }.items():
        assert re.search(rf'name="{name}" value="{figure}"', page)


@pytest.mark.parametrize("corners", ["", "x", "-3", "2", "25", "9" * 400, "²"])
def test_a_nonsense_count_of_corners_is_no_crash(signed_in: Client, form: dict[str, str], corners: str) -> None:
    assert signed_in.post(PAGE, {**form, "corners": corners}).status_code == 422


def test_words_typed_are_words_on_every_page(signed_in: Client, form: dict[str, str]) -> None:
    nasty = '"><script>alert(1)</script>{{ 7|add:1 }}'
    form |= {"title": nasty, "customer": nasty, "machine": nasty}
    assert signed_in.post(PAGE, form).status_code == 302
    for page in ("/", "/jobs/", "/jobs/1/"):
        content = signed_in.get(page).content.decode()
        assert "<script>alert" not in content
        assert "&lt;script&gt;alert(1)&lt;/script&gt;{{ 7|add:1 }}" in content


def test_the_preview_shows_the_tray_and_its_figures(signed_in: Client, form: dict[str, str], htmx: Headers) -> None:
    answer = signed_in.post(PREVIEW, {**form, "title": ""}, headers=htmx())
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in page
    # Litres of a pyramid: rim area x depth / 3; the area by the shoelace formula over the corners as typed.
    area = abs(0 * 9 - 812 * 0 + 812 * 391 - 797 * 9 + 797 * 402 - -14 * 391 + -14 * 0 - 0 * 402) / 2
    assert f"{area * 48 / 3 / 1e6:.1f} litres" in page
    assert "seam C-D" in page
    assert 'id="picture"' in page
    assert 'hx-swap-oob="true"' in page
    assert not Job.objects.exists()


def test_a_low_point_that_does_not_fit_is_drawn_where_it_was_put(
    signed_in: Client, form: dict[str, str], htmx: Headers
) -> None:
    page = signed_in.post(PREVIEW, {**form, "low_x": "2000"}, headers=htmx()).content.decode()
    assert "must lie inside the rim" in fault_beside(page, "low_x")
    assert re.search(r'data-field="low-x">.*2000', page)


def test_the_preview_answers_what_depth_gives_a_wanted_fall(
    signed_in: Client, form: dict[str, str], htmx: Headers
) -> None:
    page = signed_in.post(PREVIEW, {**form, "wanted_fall": "10"}, headers=htmx()).content.decode()
    # The longest seam runs sqrt(561^2 + 239^2) = 609.8 mm in plan; a tenth of it, at a rule of half millimetres.
    assert "1 in 10 at the least takes a depth of 61 mm." in page


def test_while_typing_what_is_not_filled_in_yet_is_no_fault(
    signed_in: Client, form: dict[str, str], htmx: Headers
) -> None:
    page = signed_in.post(PREVIEW, {**form, "depth": "", "kerf": "eh"}, headers=htmx()).content.decode()
    assert fault_beside(page, "depth") == ""
    assert "no number" in fault_beside(page, "kerf")
    assert "Still to give: Depth." in page
    assert "<svg" in page  # the rim is drawn all the same


def test_without_a_script_the_button_gives_the_whole_page(signed_in: Client, form: dict[str, str]) -> None:
    page = signed_in.post(PREVIEW, form).content.decode()
    assert page.startswith("<!doctype html>")
    assert "litres" in page
    assert value_of(page, "corner_1_x") == "812"
    assert "Not given yet." in fault_beside(signed_in.post(PREVIEW, {**form, "depth": ""}).content.decode(), "depth")


def test_a_preview_of_nothing(signed_in: Client, htmx: Headers) -> None:
    answer = signed_in.post(PREVIEW, {}, headers=htmx())
    assert answer.status_code == 200
    assert "Still to give:" in answer.content.decode()


def test_one_corner_more_and_one_less(signed_in: Client, form: dict[str, str], htmx: Headers) -> None:
    more = signed_in.post(CORNERS, {**form, "add": "1"}, headers=htmx()).content.decode()
    assert value_of(more, "corners") == "5"
    assert value_of(more, "corner_4_x") == ""
    assert fault_beside(more, "corner_4_x") == ""
    less = signed_in.post(CORNERS, {**form, "take_out": "1"}).content.decode()
    assert less.startswith("<!doctype html>")
    assert value_of(less, "corners") == "3"
    assert [value_of(less, f"corner_{i}_x") for i in range(3)] == ["0", "797", "-14"]
    assert 'name="corner_3_x"' not in less


@pytest.mark.parametrize("change", [{"take_out": "4"}, {"take_out": "-1"}, {"take_out": "x"}, {}])
def test_a_corner_that_is_not_there_cannot_go(signed_in: Client, form: dict[str, str], change: dict[str, str]) -> None:
    assert value_of(signed_in.post(CORNERS, {**form, **change}).content.decode(), "corners") == "4"


def test_three_to_twenty_four_corners(signed_in: Client, form: dict[str, str]) -> None:
    three = signed_in.post(CORNERS, {**form, "corners": "3", "take_out": "0"}).content.decode()
    assert value_of(three, "corners") == "3"
    most = signed_in.post(CORNERS, {**form, "corners": "24", "add": "1"}).content.decode()
    assert value_of(most, "corners") == "24"


@pytest.mark.parametrize(("page", "method"), [(PAGE, "put"), (PAGE, "delete"), (PREVIEW, "get"), (CORNERS, "get")])
def test_wrong_method(signed_in: Client, page: str, method: str) -> None:
    assert getattr(signed_in, method)(page).status_code == 405


@pytest.mark.parametrize("page", [PAGE, PREVIEW, CORNERS])
def test_nothing_is_taken_without_the_forms_own_token(form: dict[str, str], owner: object, page: str) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)  # type: ignore[arg-type]
    assert client.post(page, form).status_code == 403
    assert not Job.objects.exists()


def test_a_flood_is_refused(signed_in: Client, form: dict[str, str]) -> None:
    assert signed_in.post(PAGE, {**form, "title": "x" * 300_000}).status_code == 400
    assert signed_in.post(PAGE, {**form, **{f"more_{i}": "1" for i in range(3000)}}).status_code == 400
