"""What is written about the rack: pieces that come, counts, scrap, places, corrections."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
import shapely
from django.test import Client

from fabjobs.models import Job, Person, ShopSettings, StockItem, StockMove
from fabjobs.services import sheet_use, stock_issue, stock_scrap
from fabjobs.services.ledger import balances
from tests.fabjobs.racked import offcut, sheets

Headers = Callable[..., dict[str, str]]
BOUGHT = {
    "count": "3",
    "alloy": "5052-H32",
    "thickness": "1.5",
    "label": "S1",
    "length": "2500",
    "width": "1250",
    "price": "96.00",
    "place": "Back wall",
}
OFFCUT = {
    "count": "1",
    "alloy": "5052-H32",
    "thickness": "1.5",
    "price": "6.50",
    "place": "Shelf 2",
    "reason": "Stood there",
    "sides": "0",
    "length": "800",
    "width": "500",
}
# Both triangles right-angled (5-12-13, 12-16-20), a hundred times the worked example: area 126 there, 1.26 m2 here.
FOUR_SIDES = {**OFFCUT, "sides": "4", "side_0": "500", "side_1": "1300", "side_2": "1600", "side_3": "2000"} | {
    "diagonal_0": "1200"
}
FORMS = {"/rack/bought": BOUGHT, "/rack/found": OFFCUT}


def keyed(form: dict[str, str], **change: str) -> dict[str, str]:
    return {**form, "form_key": str(uuid4()), **change}


def shown(answer: Any) -> str:
    return str(answer.content.decode())


# Pieces that come


def test_sheets_bought_come_to_the_rack(signed_in: Client, owner: Person) -> None:
    answer = signed_in.post("/rack/bought", keyed(BOUGHT))
    assert (answer.status_code, answer["Location"]) == (302, "/rack/1/")
    piece = StockItem.objects.get()
    assert (piece.form, piece.label, piece.length, piece.width) == ("sheet", "S1", 2500, 1250)
    assert (piece.price, piece.place, piece.area) == (Decimal("96.00"), "Back wall", 2500 * 1250)
    assert piece.mass == pytest.approx(2.5 * 1.25 * 1.5e-3 * 2680)  # area x thickness x density of 5052, handbooks
    line = piece.moves.get()
    assert (line.kind, line.on_hand, line.by) == ("bought", 3, owner)


def test_a_gauge_means_the_metals_own_thickness(signed_in: Client) -> None:
    signed_in.post("/rack/bought", keyed(BOUGHT, thickness="16 ga"))
    signed_in.post("/rack/bought", keyed(BOUGHT, thickness="16 ga", alloy="DX51D+Z"))
    thick = [piece.thickness / 25.4 for piece in StockItem.objects.all()]
    # 16 gauge: aluminium 0.0508 in (Brown & Sharpe), galvanised 0.0635 in, as gauge tables print them
    assert thick == pytest.approx([0.0508, 0.0635], abs=5e-5)


def test_a_form_of_sheets_begins_with_what_the_address_says(signed_in: Client) -> None:
    page = shown(signed_in.get("/rack/bought", {"label": '"><b>', "count": "4", "form_key": "1"}))
    assert 'value="4"' in page
    assert "&quot;&gt;&lt;b&gt;" in page
    assert 'name="form_key" value="1"' not in page


def test_a_rectangle_that_stood_there_is_counted_in(signed_in: Client, owner: Person) -> None:
    assert signed_in.post("/rack/found", keyed(OFFCUT, length="500", width="800"))["Location"] == "/rack/1/"
    piece = StockItem.objects.get()
    assert (piece.form, piece.length, piece.width, piece.outline) == ("offcut", 800, 500, None)
    line = piece.moves.get()
    assert (line.kind, line.on_hand, line.reason, line.by) == ("counted", 1, "Stood there", owner)


def test_sides_and_a_diagonal_make_its_outline(signed_in: Client) -> None:
    assert signed_in.post("/rack/found", keyed(FOUR_SIDES)).status_code == 302
    piece = StockItem.objects.get()
    assert piece.area == pytest.approx(1.26e6, abs=1)
    assert shapely.Polygon(piece.outline).area == pytest.approx(1.26e6, abs=1)
    assert piece.mass == pytest.approx(1.26 * 1.5e-3 * 2680, rel=1e-5)
    # The least rectangle has a side along one of the outline's sides (Freeman and Shapira 1975), here 4-1: corner 3 stands
    # 1200 sin 53.13 = 960 off it, corner 2 but 500 sin 143.13 = 300.
    assert piece.width == pytest.approx(960, abs=0.01)


def test_lengths_in_inches_are_read_in_an_inch_shop(signed_in: Client, shop: ShopSettings) -> None:
    ShopSettings.objects.update(unit="in", rule="1/16")
    signed_in.post("/rack/found", keyed(OFFCUT, length="36 1/2", width="10", thickness="1/16"))
    piece = StockItem.objects.get()
    assert (piece.length, piece.width, piece.thickness) == pytest.approx((927.1, 254, 1.5875))


@pytest.mark.parametrize("path", FORMS)
def test_the_same_form_twice_makes_one_piece(signed_in: Client, path: str) -> None:
    form = keyed(FOUR_SIDES if path == "/rack/found" else BOUGHT)
    for _ in range(2):
        assert signed_in.post(path, form)["Location"] == "/rack/1/"
    assert StockMove.objects.count() == 1


@pytest.mark.parametrize("path", FORMS)
def test_the_same_form_with_other_words_is_refused_and_nothing_typed_is_lost(signed_in: Client, path: str) -> None:
    form = keyed(FORMS[path])
    signed_in.post(path, form)
    answer = signed_in.post(path, {**form, "count": "7"})
    assert answer.status_code == 409
    assert "This form was sent already" in shown(answer)
    assert 'value="7"' in shown(answer)
    assert StockMove.objects.get().on_hand == int(form["count"])
    again = {**form, "count": "7", "form_key": str(answer.context["form"]["form_key"].value())}
    assert signed_in.post(path, again)["Location"] == "/rack/2/"  # something new, sent once more


@pytest.mark.parametrize(
    ("path", "change", "fault"),
    [
        ("/rack/bought", {"count": "0"}, "greater than or equal to 1"),
        ("/rack/bought", {"count": "1001"}, "less than or equal to 1000"),
        ("/rack/bought", {"alloy": "gold"}, "Select a valid choice"),
        ("/rack/bought", {"thickness": "thick"}, "there is no number in it"),
        ("/rack/bought", {"thickness": "99 ga"}, "the aluminium gauges listed are whole numbers from 0 to 36"),
        ("/rack/bought", {"thickness": "40"}, "must be at most 25 mm (got &quot;40 mm&quot;)"),
        ("/rack/bought", {"label": ""}, "Not given yet."),
        ("/rack/bought", {"label": "S\u202e1"}, "must be one line of plain text"),
        ("/rack/bought", {"length": "30000"}, "must be 1 mm to 20000 mm"),
        ("/rack/bought", {"price": "1,50"}, "digits and a point only"),
        ("/rack/bought", {"place": "x" * 81}, "at most 80 characters"),
        ("/rack/bought", {"form_key": "none"}, "That form was not whole"),
        ("/rack/found", {"length": ""}, "Not given yet."),
        ("/rack/found", {"width": "0"}, "must be at least 1 mm (got &quot;0 mm&quot;)"),
        ("/rack/found", {"reason": ""}, "Not given yet."),
        ("/rack/found", {"sides": "2"}, "That form was not whole"),
        ("/rack/found", {"sides": "900000000000000000000000"}, "That form was not whole"),
    ],
)
def test_what_is_wrong_is_told_beside_its_field(
    signed_in: Client, path: str, change: dict[str, str], fault: str
) -> None:
    answer = signed_in.post(path, keyed(FORMS[path], **change))
    assert answer.status_code == 422
    assert fault in shown(answer)
    assert not StockItem.objects.exists()


@pytest.mark.parametrize(
    ("change", "field", "fault"),
    [
        ({"diagonal_0": "1900"}, "diagonal_0", "makes no triangle with side 1 and side 2"),
        ({"side_2": "x"}, "side_2", "there is no number in it"),
        ({"side_3": ""}, "side_3", "Not given yet."),
        # a dart: both triangles on corner 1 are wider than a right angle
        (
            {"side_0": "300", "side_1": "500", "side_2": "500", "side_3": "300", "diagonal_0": "210"},
            None,
            "must be convex: no corner may point inward",
        ),
    ],
)
def test_an_outline_that_can_not_be_is_told(
    signed_in: Client, change: dict[str, str], field: str | None, fault: str
) -> None:
    answer = signed_in.post("/rack/found", keyed(FOUR_SIDES, **change))
    assert answer.status_code == 422
    errors = answer.context["form"].errors
    assert fault in " ".join(errors[field or "__all__"])
    assert fault in shown(answer)
    assert 'value="1300"' in shown(answer) or "side_1" in change


def test_asking_for_other_sides_keeps_what_was_typed_and_blames_nobody(signed_in: Client) -> None:
    answer = signed_in.post("/rack/found/preview", keyed(FOUR_SIDES, ask="5", thickness=""))
    page = shown(answer)
    assert answer.status_code == 200
    assert 'name="side_4"' in page
    assert 'name="diagonal_1"' in page
    assert 'value="1300"' in page
    assert "Not given yet" not in page
    assert 'aria-invalid="true"' not in page
    assert not StockItem.objects.exists()


def test_what_is_typed_is_drawn(signed_in: Client, htmx: Headers) -> None:
    drawn = shown(signed_in.post("/rack/found/preview", keyed(FOUR_SIDES, thickness=""), headers=htmx()))
    assert "<svg" in drawn
    assert ">1300<" in drawn
    told = shown(signed_in.post("/rack/found/preview", keyed(FOUR_SIDES, diagonal_0="1900"), headers=htmx()))
    assert "<svg" not in told
    assert "makes no triangle with side 1 and side 2" in told
    assert "<svg" not in shown(signed_in.post("/rack/found/preview", keyed(FOUR_SIDES, side_0=""), headers=htmx()))


# What is said of a piece


def test_a_count_writes_the_difference(signed_in: Client, owner: Person) -> None:
    piece = sheets(owner, 5)
    form = keyed({"counted": "3", "reason": "Year's end"})
    for _ in range(2):
        assert signed_in.post("/rack/1/count", form)["Location"] == "/rack/1/"
    assert balances(piece) == (3, 0)
    assert [(line.kind, line.on_hand) for line in piece.moves.all()] == [("bought", 5), ("counted", -2)]


@pytest.mark.parametrize("change", [{"counted": "2"}, {"reason": "Another count"}])
def test_a_count_sent_again_with_other_words_is_refused(
    signed_in: Client, owner: Person, change: dict[str, str]
) -> None:
    piece = sheets(owner, 5)
    form = keyed({"counted": "3", "reason": "Year's end"})
    signed_in.post("/rack/1/count", form)
    answer = signed_in.post("/rack/1/count", {**form, **change})
    assert answer.status_code == 409
    assert "This form was sent already" in shown(answer)
    assert balances(piece) == (3, 0)
    signed_in.post("/rack/1/count", {**form, **change, "form_key": str(answer.context["count"]["form_key"].value())})
    assert balances(piece) == (int({**form, **change}["counted"]), 0)


def test_scrap_takes_off_the_rack(signed_in: Client, owner: Person) -> None:
    piece = sheets(owner, 5)
    form = keyed({"count": "2", "reason": "Bent in the rack"})
    for _ in range(2):
        assert signed_in.post("/rack/1/scrap", form)["Location"] == "/rack/1/"
    assert balances(piece) == (3, 0)


def test_a_scrap_form_sent_again_with_other_words_is_refused(signed_in: Client, owner: Person) -> None:
    piece = sheets(owner, 5)
    form = keyed({"count": "2", "reason": "Bent in the rack"})
    signed_in.post("/rack/1/scrap", form)
    answer = signed_in.post("/rack/1/scrap", {**form, "count": "3"})
    assert answer.status_code == 409
    assert "This form was sent already" in shown(answer)
    assert balances(piece) == (3, 0)


def test_more_than_there_is_can_not_be_scrapped(signed_in: Client, owner: Person) -> None:
    piece = sheets(owner, 1)
    answer = signed_in.post("/rack/1/scrap", keyed({"count": "2", "reason": "Bent"}))
    assert answer.status_code == 409
    assert "1 of R1 are on the rack: 2 can&#x27;t be taken." in shown(answer)
    assert 'value="Bent"' in shown(answer)
    assert balances(piece) == (1, 0)


@pytest.mark.parametrize(
    ("what", "form", "fault"),
    [
        ("count", {"counted": "-1", "reason": "x"}, "greater than or equal to 0"),
        ("count", {"counted": "many", "reason": "x"}, "Enter a whole number"),
        ("count", {"counted": "", "reason": "x"}, "Not given yet."),
        ("count", {"counted": "1", "reason": ""}, "Say why."),
        ("scrap", {"count": "0", "reason": "x"}, "greater than or equal to 1"),
        ("scrap", {"count": "1", "reason": " "}, "Say why."),
        ("scrap", {"count": "1", "reason": "x" * 501}, "at most 500 characters"),
        ("place", {"place": "x" * 81, "was": ""}, "at most 80 characters"),
        ("place", {"place": "a\x07b", "was": ""}, "must be one line of plain text"),
    ],
)
def test_what_is_wrong_in_a_form_of_a_piece_is_told(
    signed_in: Client, owner: Person, what: str, form: dict[str, str], fault: str
) -> None:
    piece = sheets(owner)
    answer = signed_in.post(f"/rack/1/{what}", keyed(form))
    assert answer.status_code == 422
    assert fault in shown(answer)
    assert balances(piece) == (3, 0)


def test_a_piece_is_put_elsewhere(signed_in: Client, owner: Person) -> None:
    sheets(owner)
    for _ in range(2):  # sent twice it stands there all the same
        assert signed_in.post("/rack/1/place", {"place": "Shelf 3", "was": "Back wall"})["Location"] == "/rack/1/"
    assert StockItem.objects.get().place == "Shelf 3"


def test_who_saw_another_place_is_told_where_it_stands_now(signed_in: Client, owner: Person) -> None:
    sheets(owner)
    signed_in.post("/rack/1/place", {"place": "Shelf 3", "was": "Back wall"})
    answer = signed_in.post("/rack/1/place", {"place": "Shelf 4", "was": "Back wall"})
    assert answer.status_code == 409
    assert "It was put in another place meanwhile: Shelf 3." in shown(answer)
    assert StockItem.objects.get().place == "Shelf 3"


# Corrections


def test_a_wrong_line_is_undone_by_another(signed_in: Client, owner: Person) -> None:
    piece = sheets(owner, 5)
    line = stock_scrap(item=piece, count=2, reason="Bent", by=owner, form_key=uuid4())
    for _ in range(2):
        answer = signed_in.post(f"/rack/1/lines/{line.pk}/correct", {"why": "Straight after all"})
        assert answer["Location"] == "/rack/1/"
    assert balances(piece) == (5, 0)
    undo = StockMove.objects.get(corrects=line)
    assert (undo.kind, undo.on_hand, undo.reason, undo.by) == ("scrapped", 2, "Straight after all", owner)


def test_an_issue_that_bought_takes_its_purchase_along(signed_in: Client, owner: Person, job: Job) -> None:
    made = job.fabrications.get()
    line = sheet_use(
        fabrication=made, count=1, label="S1", length=2500, width=1250, price=Decimal(96), by=owner, form_key=uuid4()
    )
    signed_in.post(f"/rack/{line.item.number}/lines/{line.pk}/correct", {"why": "Another job's"})
    assert balances(line.item) == (0, 0)
    assert StockMove.objects.filter(corrects__isnull=False).count() == 2


def test_a_line_that_another_corrected_says_who_and_why(signed_in: Client, owner: Person) -> None:
    line = sheets(owner).moves.get()
    noor = Person.objects.create_user("noor", role="owner")
    other = Client()
    other.force_login(noor)
    other.post(f"/rack/1/lines/{line.pk}/correct", {"why": "They went back"})
    answer = signed_in.post(f"/rack/1/lines/{line.pk}/correct", {"why": "Two only"})
    assert answer.status_code == 409
    assert "noor corrected that line" in shown(answer)
    assert "They went back" in shown(answer)


def test_a_purchase_whose_sheets_are_gone_stands(signed_in: Client, owner: Person, job: Job) -> None:
    piece = sheets(owner, 1)
    stock_issue(item=piece, count=1, fabrication=job.fabrications.get(), by=owner, form_key=uuid4())
    line = piece.moves.get(kind="bought")
    answer = signed_in.post(f"/rack/1/lines/{line.pk}/correct", {"why": "Never came"})
    assert answer.status_code == 409
    assert "What that line brought is gone or reserved by now" in shown(answer)


def test_a_correction_needs_a_reason(signed_in: Client, owner: Person) -> None:
    line = sheets(owner).moves.get()
    answer = signed_in.post(f"/rack/1/lines/{line.pk}/correct", {"why": " "})
    assert answer.status_code == 422
    assert "Say why the line is struck out." in shown(answer)
    assert StockMove.objects.count() == 1


def test_lines_of_another_piece_and_corrections_are_not_to_be_corrected(signed_in: Client, owner: Person) -> None:
    line = sheets(owner).moves.get()
    offcut(owner)
    assert signed_in.post(f"/rack/2/lines/{line.pk}/correct", {"why": "x"}).status_code == 404
    signed_in.post(f"/rack/1/lines/{line.pk}/correct", {"why": "x"})
    undo = StockMove.objects.get(corrects=line)
    assert signed_in.post(f"/rack/1/lines/{undo.pk}/correct", {"why": "x"}).status_code == 404


WRITING = ["count", "scrap", "place", "lines/1/correct"]


@pytest.mark.parametrize("what", WRITING)
def test_writing_takes_a_post_of_someone_signed_in_for_a_piece_that_is_there(
    signed_in: Client, owner: Person, what: str
) -> None:
    sheets(owner)
    assert signed_in.get(f"/rack/1/{what}").status_code == 405
    assert signed_in.post(f"/rack/9/{what}", {}).status_code == 404
    answer = Client().post(f"/rack/1/{what}", {})
    assert (answer.status_code, answer["Location"].split("?")[0]) == (302, "/sign-in")
    forged = Client(enforce_csrf_checks=True)
    forged.force_login(owner)
    assert forged.post(f"/rack/1/{what}", {}).status_code == 403


@pytest.mark.parametrize("path", ["/rack/bought", "/rack/found", "/rack/found/preview"])
def test_forms_take_no_other_method(signed_in: Client, path: str) -> None:
    assert signed_in.put(path).status_code == 405
    assert Client().post(path, {}).status_code == 302
