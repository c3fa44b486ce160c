"""Flat parts in the form: rows of parts and corners, sides and angles, faults beside their fields, typed back, changed."""

import re
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from hypothesis import given
from hypothesis import settings as tried

import calc
from calc.units import Display
from fabjobs.forms.families import FAMILIES
from fabjobs.forms.families.flat_parts import MOST_CORNERS, MOST_PARTS
from fabjobs.models import Job, Person, Revision
from fabjobs.services import job_create
from tests.fabjobs.changing import latest, typed
from tests.fabjobs.test_families import ASK, MAKING, METAL, PAGE, PREVIEW, SHEET, Headers, same_again, shape_sent
from tests.fabjobs.test_new_job import fault_beside, value_of
from tests.shapes import COVER, GUSSET, PLATES, flat_part_sets, flat_parts, part, sheet_of


def corners_typed(place: int, outline: list[list[int]]) -> dict[str, str]:
    fields = {f"part_{place}_by": "corners", f"part_{place}_corners": str(len(outline))}
    for row, corner in enumerate(outline):
        fields |= {f"part_{place}_corner_{row}_{axis}": str(at) for axis, at in zip("xy", corner, strict=True)}
    return fields


STAY = {
    "part_1_name": "stay", "part_1_count": "1", "part_1_by": "sides", "part_1_corners": "3",
    "part_1_side_0": "300", "part_1_angle_0": "90°", "part_1_side_1": "40 cm",
}  # fmt: skip
FLAT: dict[str, str] = {
    "title": "Guard plates", "family": "flat-parts", **METAL, **MAKING, **SHEET, "parts": "2",
    "part_0_name": "gusset", "part_0_count": "4", **corners_typed(0, GUSSET), **STAY,
}  # fmt: skip


def test_the_form_asks_for_parts(signed_in: Client) -> None:
    page = signed_in.post(ASK, {"family": "flat-parts"}).content.decode()
    assert value_of(page, "part_0_count") == "1"
    assert value_of(page, "part_0_corners") == "4"
    assert 'name="part_0_corner_3_y"' in page
    assert 'name="part_0_side_2"' in page
    assert 'name="part_0_angle_1"' in page
    assert 'name="part_0_side_3"' not in page  # the last follows
    assert 'name="part_1_name"' not in page
    assert 'name="joins"' not in page
    assert "An example of a flat part" in page


def test_parts_are_saved_as_typed(signed_in: Client) -> None:
    assert shape_sent(signed_in, FLAT) == {
        "family": "flat-parts",
        "parts": [
            {"name": "gusset", "outline": GUSSET, "count": 4},
            {"name": "stay", "outline": {"sides": [300, 400], "angles": [90]}, "count": 1},
        ],
    }
    revision = Revision.objects.get()
    assert revision.plan["drainage"] is None
    assert list(revision.parts.values_list("blank", "count")) == [("gusset", 4), ("stay", 1)]
    assert "flat-view" in revision.thumbnail


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"part_0_name": ""}, "part_0_name", "Not given yet."),
        ({"part_0_name": "end plate"}, "part_0_name", "a short name without spaces"),
        ({"part_1_name": "Gusset"}, "part_1_name", "Gusset is the name of an earlier part"),
        ({"part_1_count": "0"}, "part_1_count", "Must be a whole number from 1 to 2000."),
        ({"part_1_count": "two"}, "part_1_count", "Must be a whole number from 1 to 2000."),
        ({"part_0_count": "1999", "part_1_count": "2"}, None, "at most 2000 blanks in all (got 2001)"),
        ({"part_0_corner_1_x": "0", "part_0_corner_1_y": "0"}, "part_0_corner_1_x", "is the same point as corner 1"),
        ({"part_0_corner_2_y": "wide"}, "part_0_corner_2_y", "no number"),
        ({"part_0_corner_4_y": "30000"}, "part_0_corner_4_y", "must be at most 20000 mm"),
        ({"part_1_side_0": ""}, "part_1_side_0", "Not given yet."),
        ({"part_1_angle_0": "steep"}, "part_1_angle_0", "steep is no angle. Write degrees, such as 90 or 92.5."),
        ({"part_1_angle_0": "400"}, "part_1_angle_0", "must be at most 359.99 degrees (got 400)"),
        ({"part_1_angle_0": "180"}, "part_1_angle_0", "must not be 180"),
        ({"part_1_angle_0": "300"}, "part_1_by", "these angles run round the outside"),
        ({"part_0_by": "guess"}, "part_0_by", "not one of the available choices"),
    ],
)
def test_a_fault_lands_beside_its_field(
    signed_in: Client, change: dict[str, str], field: str | None, words: str
) -> None:
    answer = signed_in.post(PAGE, {**FLAT, **change})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in (fault_beside(page, field) if field else page)
    assert value_of(page, "part_1_side_1") == "40 cm"  # nothing that was typed is lost
    assert not Job.objects.exists()


def test_what_is_not_in_use_is_kept_and_not_read(signed_in: Client) -> None:
    other = {"part_0_side_0": "long", "part_0_angle_0": "steep", "part_1_corner_0_x": "there"}
    shape_sent(signed_in, {**FLAT, **other})
    page = signed_in.post(ASK, {**FLAT, **other, "add_part": "1"}).content.decode()
    assert (value_of(page, "part_0_side_0"), value_of(page, "part_1_corner_0_x")) == ("long", "there")


def test_one_part_more_begins_with_a_count_of_one(signed_in: Client) -> None:
    page = signed_in.post(ASK, {**FLAT, "add_part": "1"}).content.decode()
    assert value_of(page, "parts") == "3"
    assert (value_of(page, "part_2_count"), value_of(page, "part_2_corners")) == ("1", "4")
    assert re.search(r'name="part_2_by" value="corners"[^>]*checked', page)
    assert value_of(page, "part_0_name") == "gusset"


def test_a_part_taken_out_leaves_the_others_whole(signed_in: Client) -> None:
    page = signed_in.post(ASK, {**FLAT, "take_out_part": "0"}).content.decode()
    assert value_of(page, "parts") == "1"
    assert (value_of(page, "part_0_name"), value_of(page, "part_0_side_1")) == ("stay", "40 cm")
    assert re.search(r'name="part_0_by" value="sides"[^>]*checked', page)
    assert "part_1_name" not in page


@pytest.mark.parametrize("asked", ["9", "-1", "x", "", "²", "00000"])
def test_a_part_that_is_none_is_not_taken_out(signed_in: Client, asked: str) -> None:
    page = signed_in.post(ASK, {**FLAT, "take_out_part": asked}).content.decode()
    assert value_of(page, "parts") == "2"


def test_corners_come_and_go_in_their_own_part(signed_in: Client) -> None:
    page = signed_in.post(ASK, {**FLAT, "part_1_add": "1"}).content.decode()
    assert (value_of(page, "part_0_corners"), value_of(page, "part_1_corners")) == ("5", "4")
    page = signed_in.post(ASK, {**FLAT, "part_0_take_out": "1"}).content.decode()
    assert value_of(page, "part_0_corners") == "4"
    assert (value_of(page, "part_0_corner_1_x"), value_of(page, "part_0_corner_1_y")) == ("140", "20")
    assert value_of(page, "part_1_corners") == "3"


TOO_MANY = settings.DATA_UPLOAD_MAX_NUMBER_FIELDS


def test_the_largest_form_is_let_in(signed_in: Client) -> None:
    """As many parts as may be, of as many corners: what Django refuses above is above that."""
    outline = [[place, place**2] for place in range(MOST_CORNERS)]  # on a parabola no three are in line
    sent = {**FLAT, "parts": str(MOST_PARTS)}
    for place in range(MOST_PARTS):
        sent |= {f"part_{place}_name": f"p{place}", f"part_{place}_count": "1"} | corners_typed(place, outline)
        for row in range(MOST_CORNERS - 1):
            sent |= {f"part_{place}_side_{row}": "1", f"part_{place}_angle_{row}": "90"}
    assert len(sent) < settings.DATA_UPLOAD_MAX_NUMBER_FIELDS - 200  # what other families ask for goes along
    # A page that asks for a few of them answers sooner, and what is too much is refused wherever it is sent.
    assert signed_in.post("/settings/shop", sent).status_code == 422
    assert signed_in.post("/settings/shop", sent | {f"more_{n}": "1" for n in range(TOO_MANY)}).status_code == 400


def test_the_preview_draws_and_reckons_them(signed_in: Client, htmx: Headers) -> None:
    page = signed_in.post(PREVIEW, FLAT, headers=htmx()).content.decode()
    assert 'data-field="part-1-name"' in page
    assert ">500<" in page  # the side that follows: 3, 4, 5
    assert "2 to mark out" in page
    assert "5 blanks" in page
    for word in ("Least fall", "Holds", "Weld"):
        assert word not in page


def test_half_typed_it_says_what_is_missing(signed_in: Client, htmx: Headers) -> None:
    page = signed_in.post(
        PREVIEW, {**FLAT, "part_0_corner_3_x": "", "part_1_side_1": ""}, headers=htmx()
    ).content.decode()
    assert "Still to give: Part 1, corner 4, x, Part 2, side 2." in page


@pytest.mark.django_db
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_any_stored_parts_typed_back_are_the_same(unit: str) -> None:
    display = Display("in") if unit == "in" else Display()

    @tried(max_examples=25, deadline=None)
    @given(flat_part_sets())
    def check(shape: dict[str, Any]) -> None:
        assert same_again(shape, display)

    check()
    assert FAMILIES["flat-parts"].choices(PLATES)["part_1_angle_0"] == "90"


# Its pages


@pytest.fixture
def flat_job(owner: Person) -> Job:
    return job_create(plan=calc.plan({**sheet_of(PLATES, quantity=2), "title": "Plates"}), due_day=None, by=owner)


def test_the_page_of_the_job(signed_in: Client, flat_job: Job) -> None:
    page = signed_in.get("/jobs/1/").content.decode()
    assert "<dt>Parts</dt><dd>7</dd>" in page
    assert "Face side up." in page
    for word in ("Least fall", "Welding.", "Filler", "Weld map", "Wet face"):
        assert word not in page
    assert signed_in.get("/").status_code == 200


def test_a_change_is_told_by_part(signed_in: Client, flat_job: Job, htmx: Headers) -> None:
    sent = typed(flat_job, part_0_count="6", part_2_corner_1_x="400", part_2_corner_2_x="400")
    page = signed_in.post("/jobs/1/change/preview", sent, headers=htmx()).content.decode()
    moved = re.search(r"<caption[^>]*>What moved.*?</table>", page, re.DOTALL)
    assert moved
    rows = re.findall(r'<th scope="row">([^<]*)</th>', moved[0])
    assert rows == ["cover, corner 2", "cover, corner 3", "cover, side 1", "cover, side 3", "gusset, how many in a set"]
    assert "Holds" not in page
    assert signed_in.post("/jobs/1/change", {**sent, "reason": "wider"}).status_code == 302
    assert [part["count"] for part in latest(flat_job).sheet["shape"]["parts"]] == [6, 2, 1]
    assert signed_in.get("/jobs/1/revisions/1/2/").status_code == 200


def test_sent_as_it_opened_it_changes_nothing(signed_in: Client, flat_job: Job) -> None:
    assert signed_in.post("/jobs/1/change", typed(flat_job)).status_code == 302
    assert flat_job.fabrications.get().revisions.count() == 1


def test_a_tray_may_become_flat_parts(signed_in: Client, job: Job) -> None:
    fields = {name: value for name, value in FLAT.items() if name.startswith("part")}
    sent = typed(job, family="flat-parts", reason="Plates only", **fields)
    assert signed_in.post("/jobs/1/change", sent).status_code == 302
    assert latest(job).sheet["shape"]["family"] == "flat-parts"
    page = signed_in.get("/jobs/1/revisions/1/2/").content.decode()
    assert '<th scope="row">gusset, corner 1</th>' in page
    assert signed_in.get("/jobs/1/").status_code == 200


def test_the_papers_are_made(signed_in: Client, owner: Person) -> None:
    shape = flat_parts(part("lug", COVER, 2))
    job_create(plan=calc.plan({**sheet_of(shape), "title": "Lugs"}), due_day=None, by=owner)
    rows = signed_in.get("/jobs/1/takeoff.csv").content.decode()
    assert "Blanks,lug,2,pieces" in rows
    assert "Filler" not in rows
