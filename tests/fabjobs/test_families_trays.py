"""Valley trays, sumps and keep-clear rectangles in the form; the faults of every family in words beside their fields."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from calc.units import Display
from fabjobs.models import Job
from tests.fabjobs.changing import latest, typed
from tests.fabjobs.test_families import MAKING, METAL, PAN, SHEET, same_again, shape_sent
from tests.fabjobs.test_new_job import fault_beside, value_of
from tests.shapes import SUMPS, sump_trays, valley_trays

PAGE, PREVIEW, ASK = "/jobs/new", "/jobs/new/preview", "/jobs/new/ask"
Headers = Callable[..., dict[str, str]]
ENDS = {"valley_0_x": "200", "valley_0_y": "200", "valley_0_depth": "40"}
ENDS |= {"valley_1_x": "400", "valley_1_y": "200", "valley_1_depth": "60"}
SQUARE = (("0", "0"), ("600", "0"), ("600", "400"), ("0", "400"))
CORNERS = {
    f"corner_{place}_{axis}": at for place, at_both in enumerate(SQUARE) for axis, at in zip("xy", at_both, strict=True)
}
# a rectangle 600 x 400: both diagonals sqrt(600^2 + 400^2) = 721.1103
SIDES = {
    "side_0": "600",
    "side_1": "400",
    "side_2": "600",
    "side_3": "400",
    "diagonal_0": "721.1",
    "diagonal_1": "721.1",
}
COMMON = {"title": "Long tray", "rim_by": "corners", "rim_finish": "bare", **METAL, **CORNERS, **MAKING, **SHEET}
VALLEY: dict[str, str] = {"family": "valley-tray", **COMMON, **ENDS}
FALL: dict[str, str] = {"family": "fall-tray", **COMMON, "corners": "4", "low_x": "240", "low_y": "180", "depth": "40"}
KEEP = {
    "keeps": "1",
    "keep_0_x": "20",
    "keep_0_y": "-30",
    "keep_0_length": "60",
    "keep_0_width": "70",
    "keep_0_name": "leg",
}
FAMILIES = {"fall": (FALL, "depth"), "valley": (VALLEY, "valley_1_depth"), "pan": (PAN, "height")}


def words_beside(client: Client, form: dict[str, str], field: str) -> str:
    """What the fault beside a field says, once the form was sent and refused."""
    answer = client.post(PAGE, form)
    assert answer.status_code == 422
    assert not Job.objects.exists()
    return fault_beside(answer.content.decode(), field).replace("&#x27;", "'").replace("&quot;", '"')


# The valley tray


def test_a_valley_tray_is_saved_with_what_was_typed(signed_in: Client) -> None:
    shape = shape_sent(signed_in, {**VALLEY, "bore": "32", "rim_finish": "lap", "lap_width": "25", **KEEP})
    assert shape["valley"] == [[200, 200, 40], [400, 200, 60]]
    assert shape["rim"] == [[0, 0], [600, 0], [600, 400], [0, 400]]
    assert (shape["outlet"], shape["rim_finish"]["width"]) == ({"bore": 32}, 25)
    assert shape["keep_clear"] == [{"at": [20, -30], "length": 60, "width": 70, "name": "leg"}]


def test_a_valley_tray_by_four_sides_and_both_diagonals(signed_in: Client) -> None:
    shape = shape_sent(signed_in, {**VALLEY, "rim_by": "sides", **SIDES})
    assert shape["rim"] == {"sides": [600, 400, 600, 400], "diagonals": [721.1, 721.1]}


def test_its_preview_reckons_it(signed_in: Client, htmx: Headers) -> None:
    page = signed_in.post(PREVIEW, VALLEY, headers=htmx()).content.decode()
    # the valley drops 20 on 200; ends and long sides fall 40 or 60 on 200 and steeper
    assert "1 in 10.0" in page
    assert 'data-field="valley-1-depth"' in page


def test_the_depths_for_a_wanted_fall_are_both_told(signed_in: Client, htmx: Headers) -> None:
    # 20 on 200 is 1 in 10; 1 in 5 takes twice the depths
    page = signed_in.post(PREVIEW, {**VALLEY, "wanted_fall": "5"}, headers=htmx()).content.decode()
    assert "1 in 5 at the least takes depths of 80 mm and 120 mm." in page


def test_that_a_level_valley_falls_nowhere_is_told(signed_in: Client, htmx: Headers) -> None:
    level = {**VALLEY, "valley_1_depth": "40", "wanted_fall": "50"}
    page = signed_in.post(PREVIEW, level, headers=htmx()).content.decode()
    assert "falls nowhere, whatever the depth" in page


@pytest.mark.parametrize("missing", ["valley_0_depth", "valley_1_x", "corner_2_y"])
def test_while_something_is_missing_no_depth_is_told(signed_in: Client, htmx: Headers, missing: str) -> None:
    answer = signed_in.post(PREVIEW, {**VALLEY, "wanted_fall": "50", missing: ""}, headers=htmx())
    assert "at the least takes" not in answer.content.decode()
    assert "Still to give:" in answer.content.decode()


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"valley_0_x": "-20"}, "valley_0_x", "must lie inside the rim"),
        ({"valley_1_x": "700"}, "valley_1_x", "must lie inside the rim"),
        ({"valley_1_x": "200.2"}, "valley_1_x", "at least 1 mm from the valley's first point"),
        ({"valley_0_x": "400", "valley_1_x": "200"}, "valley_0_x", "swap the two"),
        ({"valley_1_depth": "-3"}, "valley_1_depth", "must be more than 0 mm"),
        ({"valley_0_y": "20001"}, "valley_0_y", "at most 20000"),
        ({"bore": "900"}, "bore", "must be less than"),
        (
            {"corner_1_x": "600", "corner_1_y": "400", "corner_2_x": "600", "corner_2_y": "0"},
            "rim_by",
            "crosses itself",
        ),
        ({"corner_2_x": "600", "corner_2_y": "0"}, "corner_2_x", "is the same point as corner 2"),
        ({"rim_by": "sides", **SIDES, "diagonal_0": "2000"}, "diagonal_0", "makes no triangle with sides 1 and 2"),
        ({"rim_by": "sides", **SIDES, "diagonal_1": "640"}, "rim_by", "tape all six again"),
    ],
)
def test_a_fault_of_a_valley_tray_lands_beside_its_field(
    signed_in: Client, change: dict[str, str], field: str, words: str
) -> None:
    assert words in words_beside(signed_in, {**VALLEY, **change}, field)


def test_an_edge_that_the_deep_end_cannot_see_is_told_with_a_place_that_would_do(signed_in: Client) -> None:
    """Corner 3 lies at (250, 120): the line of side 2 from (600, 0) through it is at y 185 where x is 60, so the deep end
    at (60, 250) lies behind it."""
    unseen = {"corner_2_x": "250", "corner_2_y": "120", "valley_0_x": "60", "valley_0_y": "100"}
    words = words_beside(signed_in, {**VALLEY, **unseen, "valley_1_x": "60", "valley_1_y": "250"}, "valley_1_x")
    assert "must see side 2 (corner 2 to 3), which falls to it" in words
    assert "would do" in words


def test_a_shallow_end_beside_the_valley_is_told(signed_in: Client) -> None:
    words = words_beside(signed_in, {**VALLEY, "valley_0_y": "390"}, "valley_0_x")
    assert "must lie in the triangle of side 4 (corner 4 to 1) and the valley's second point" in words


# Sump and keep-clear


def test_a_sump_is_saved(signed_in: Client) -> None:
    shape = shape_sent(signed_in, {**FALL, "sump_length": "90", "sump_width": "60"})
    assert shape["sump"] == {"length": 90, "width": 60}


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"sump_length": "90"}, "sump_width", "Not given yet."),
        ({"sump_width": "60"}, "sump_length", "Not given yet."),
        ({"sump_length": "90", "sump_width": "0"}, "sump_width", "must be more than 0 mm"),
        ({"sump_length": "590", "sump_width": "60"}, "sump_length", "for the sump to lie 1 mm inside the rim"),
        ({"sump_length": "90", "sump_width": "30", "bore": "32"}, "bore", "across the floor of the sump"),
        ({**KEEP, "keep_0_width": ""}, "keep_0_width", "Not given yet."),
        ({**KEEP, "keep_0_length": "0"}, "keep_0_length", "must be more than 0 mm"),
        ({**KEEP, "keep_0_x": "30000"}, "keep_0_x", "at most 20000"),
        ({**KEEP, "keep_0_name": "x" * 41}, "keep_0_name", "at most 40 characters"),
        ({**KEEP, "keep_0_name": "leg\u202e"}, "keep_0_name", "one line of plain text"),
    ],
)
def test_a_fault_of_a_sump_or_a_rectangle_lands_beside_its_field(
    signed_in: Client, change: dict[str, str], field: str, words: str
) -> None:
    assert words in words_beside(signed_in, {**FALL, **change}, field)


def test_empty_rows_are_dropped_and_faults_keep_their_row(signed_in: Client) -> None:
    rows = {"keeps": "4", "keep_1_x": "20", "keep_1_y": "30", "keep_1_length": "40", "keep_1_width": "50"}
    rows |= {"keep_3_x": "1", "keep_3_y": "2", "keep_3_length": "3", "keep_3_width": "-4"}
    assert "must be more than 0 mm" in words_beside(signed_in, {**FALL, **rows}, "keep_3_width")
    shape = shape_sent(signed_in, {**FALL, **rows, "keep_3_width": "4"})
    assert [rectangle["at"] for rectangle in shape["keep_clear"]] == [[20, 30], [1, 2]]


def test_rows_come_and_go(signed_in: Client) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert 'name="keep_0_x"' not in page
    page = signed_in.post(ASK, {**FALL, **KEEP, "add_keep": "1"}).content.decode()
    assert (value_of(page, "keep_0_name"), value_of(page, "keep_1_x"), value_of(page, "keeps")) == ("leg", "", "2")
    page = signed_in.post(ASK, {**FALL, **KEEP, "keeps": "2", "keep_1_x": "7", "take_out_keep": "0"}).content.decode()
    assert (value_of(page, "keep_0_x"), value_of(page, "keep_0_name"), value_of(page, "keeps")) == ("7", "", "1")
    page = signed_in.post(ASK, {**FALL, **KEEP, "take_out_keep": "0"}).content.decode()
    assert 'name="keep_0_x"' not in page
    assert value_of(page, "low_x") == "240"


@pytest.mark.parametrize("gone", ["9", "-1", "x", "\u00b2", "9" * 400])
def test_a_row_that_is_none_stays(signed_in: Client, gone: str) -> None:
    page = signed_in.post(ASK, {**FALL, **KEEP, "take_out_keep": gone}).content.decode()
    assert value_of(page, "keep_0_name") == "leg"


def test_there_are_fifty_rows_at_most(signed_in: Client) -> None:
    page = signed_in.post(ASK, {**FALL, "keeps": "50", "add_keep": "1"}).content.decode()
    assert 'name="keep_49_x"' in page
    assert 'name="keep_50_x"' not in page
    assert 'id="add-keep"' not in page


def test_a_row_given_up_for_another_family_comes_back(signed_in: Client) -> None:
    pan = signed_in.post(ASK, {**FALL, **KEEP, "sump_length": "90", "family": "pan"}).content.decode()
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', pan))
    assert (hidden["keeps"], hidden["keep_0_y"], hidden["sump_length"]) == ("1", "-30", "90")
    back = signed_in.post(ASK, {**hidden, "family": "valley-tray"}).content.decode()
    assert value_of(back, "keep_0_name") == "leg"


def test_a_change_shows_the_rows_and_the_sump(signed_in: Client) -> None:
    shape_sent(signed_in, {**FALL, **KEEP, "sump_length": "90", "sump_width": "60"})
    job = Job.objects.get()
    page = signed_in.get("/jobs/1/change").content.decode()
    found = [value_of(page, name) for name in ("sump_length", "sump_width", "keeps", "keep_0_y", "keep_0_name")]
    assert found == ["90", "60", "1", "-30", "leg"]
    given_up = {"sump_length": "", "sump_width": "", "keeps": "0", "reason": "No sump after all"}
    assert signed_in.post("/jobs/1/change", typed(job, **given_up)).status_code == 302
    assert (latest(job).sheet["shape"]["sump"], latest(job).sheet["shape"]["keep_clear"]) == (None, [])


# All families


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize(
    ("length", "words"),
    [
        ("0", "must be more than 0 mm"),
        ("-5", "must be more than 0 mm"),
        ("20001", "must be at most 20000 mm"),
        ("1e9", ""),
        ("9" * 59, "too long for a length"),
        ("nan", ""),
        ("deep", "no number"),
        ("12 parsec", "not a unit of length known here"),
        ("", "Not given yet."),
    ],
)
def test_a_length_that_is_none_is_told_in_words(signed_in: Client, family: str, length: str, words: str) -> None:
    form, field = FAMILIES[family]
    told = words_beside(signed_in, {**form, field: length}, field)
    assert told
    assert words in told


@pytest.mark.parametrize("form", [FALL, VALLEY])
def test_the_faults_of_a_rim_finish_are_told_on_every_tray(signed_in: Client, form: dict[str, str]) -> None:
    lap = {"rim_finish": "lap", "lap_width": "4", "rim_radius": "30"}
    assert "must be at most 200 mm" in words_beside(signed_in, {**form, **lap, "rim_radius": "201"}, "rim_radius")
    assert "must be more than 0 mm" in words_beside(signed_in, {**form, **lap, "lap_width": "-1"}, "lap_width")
    no_flat = "no flat beside its fold of inside radius 30 mm"
    assert no_flat in words_beside(signed_in, {**form, **lap}, "lap_width")
    upstand = {"rim_finish": "upstand", "upstand_height": "4", "rim_radius": "30"}
    assert no_flat in words_beside(signed_in, {**form, **upstand}, "upstand_height")


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        (  # the line of side 2, from (600, 0) through (250, 120), is at y 185 where x is 60
            {"corner_2_x": "250", "corner_2_y": "120", "low_x": "60", "low_y": "280"},
            "low_x",
            "must see every side of the rim: side 2 (corner 2 to 3) is hidden",
        ),
        ({"low_x": "600"}, "low_x", "must lie inside the rim"),
        (
            {"corner_1_x": "600", "corner_1_y": "400", "corner_2_x": "600", "corner_2_y": "0"},
            "rim_by",
            "crosses itself",
        ),
        ({"rim_by": "sides", **SIDES, "side_2": "0"}, "side_2", "must be more than 0 mm"),
    ],
)
def test_a_fault_of_a_fall_tray_lands_beside_its_field(
    signed_in: Client, change: dict[str, str], field: str, words: str
) -> None:
    assert words in words_beside(signed_in, {**FALL, **change}, field)


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        (
            {"return_width": "5", "inside_radius": "10"},
            "return_width",
            "no flat beside its fold of inside radius 10 mm",
        ),
        ({"inside_radius": "60"}, "height", "no flat beside its fold of inside radius 60 mm"),
        ({"inside_radius": "150"}, "inside_radius", "leaves nothing flat of face A"),
    ],
)
def test_a_radius_larger_than_its_flange_is_told(
    signed_in: Client, change: dict[str, str], field: str, words: str
) -> None:
    assert words in words_beside(signed_in, {**PAN, **change}, field)


def test_each_field_on_a_drawing_is_asked_once_and_named(signed_in: Client) -> None:
    for form, _ in FAMILIES.values():
        page = signed_in.post(ASK, form).content.decode()
        asked = re.findall(r'<input type="text" name="([^"]*)"', page)
        assert len(asked) == len(set(asked))
        for name in asked:
            assert f'<label class="hush" for="id_{name}"' in page or f'for="id_{name}"' in page
            assert page.count(f'id="fault-{name}"') == 1, name
            assert f'aria-describedby="fault-{name}"' in page


# Typed back


@pytest.mark.django_db
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_any_stored_tray_typed_back_is_the_same(unit: str) -> None:
    display = Display("in") if unit == "in" else Display()
    rectangle = st.fixed_dictionaries(
        {
            "at": st.tuples(st.integers(-300, 300), st.floats(-300, 300).map(lambda at: round(at, 3))).map(list),
            "length": st.integers(1, 200),
            "width": st.integers(1, 200),
            "name": st.sampled_from(("", "leg", "brace, left")),
        }
    )

    @given(valley_trays() | sump_trays(), st.lists(rectangle, max_size=3))
    def check(shape: dict[str, Any], keep_clear: list[dict[str, Any]]) -> None:
        assert same_again({**shape, "keep_clear": keep_clear}, display)

    check()


@pytest.mark.django_db
def test_the_form_of_a_stored_sump_says_it_again() -> None:
    for shape in SUMPS.values():
        assert same_again(shape, Display())
