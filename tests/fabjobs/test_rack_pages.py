"""The rack's list and a piece's page."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

import calc
from fabjobs.models import Job, Person, ShopSettings, StockItem, StockMove
from fabjobs.services import job_create, move_correct, offcut_return, plan_reserve, stock_issue, stock_scrap
from tests.conftest import SHEET
from tests.fabjobs.racked import TRIANGLE, offcut, sheets

Headers = Callable[..., dict[str, str]]


def numbers(client: Client, **asked: str) -> list[int]:
    return [row.item.number for row in client.get("/rack/", asked).context["rows"]]


def page(client: Client, path: str, **asked: str) -> str:
    return client.get(path, asked).content.decode()


@pytest.fixture
def pieces(owner: Person, job: Job) -> None:
    """R1 sheets; R2 and R3 offcuts of other metal and size; R4 gone; R5 of a job."""
    sheets(owner)
    offcut(owner, 800, 500)
    offcut(owner, 1500, 300, alloy="DX51D+Z", thickness=1.2, place="By the window")
    gone = offcut(owner, 400, 400)
    stock_scrap(item=gone, count=1, reason="Bent", by=owner, form_key=uuid4())
    offcut_return(
        fabrication=job.fabrications.get(), count=1, length=1000, width=200, area=200000, by=owner, form_key=uuid4()
    )


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({}, [5, 3, 2, 1]),
        ({"q": "R2"}, [2]),
        ({"q": "r3 window"}, [3]),
        ({"q": "dx51"}, [3]),
        ({"q": "s1"}, [1]),
        ({"q": "coolant"}, [5]),  # its job's title
        ({"q": "job 1"}, [5]),
        ({"q": "%"}, []),
        ({"q": "_"}, []),
        ({"q": "99999999999999999999999"}, []),
        ({"q": "' OR 1=1 --"}, []),
        ({"metal": "DX51D+Z"}, [3]),
        ({"thickness": "1.2"}, [3]),
        ({"thickness": "15 ga", "metal": "5052-H32"}, []),
        ({"length": "900"}, [5, 3, 1]),  # the smallest first: 0.2, 0.45, 3.125 m2
        ({"length": "300", "width": "1400"}, [3, 1]),  # either way round
        ({"length": "31 1/2 in"}, [5, 3, 1]),  # 800.1 mm, and R2 is 800
        ({"form": "sheet"}, [1]),
        ({"form": "offcut"}, [5, 3, 2]),
        ({"there": "ever"}, [5, 4, 3, 2, 1]),
        ({"there": "free"}, [5, 3, 2, 1]),
    ],
)
def test_what_is_looked_for_is_found(signed_in: Client, pieces: None, asked: dict[str, str], found: list[int]) -> None:
    assert numbers(signed_in, **asked) == found


def test_what_a_job_has_reserved_is_not_free_and_says_for_whom(signed_in: Client, owner: Person, job: Job) -> None:
    sheets(owner, count=1)
    plan = calc.plan({**SHEET, "stock": [{"label": "R1", "length": 2500, "width": 1250, "rack": 1}]})
    plan_reserve(fabrication=job.fabrications.get(), plan=plan, by=owner)
    assert numbers(signed_in, there="free") == []
    shown = page(signed_in, "/rack/")
    assert '1 reserved for <a href="/jobs/1/">job 1</a>' in shown
    assert '<dd class="aside">1 for <a class="touch" href="/jobs/1/">job 1</a></dd>' in page(signed_in, "/rack/1/")


@pytest.mark.parametrize(
    ("asked", "fault"),
    [
        ({"thickness": "thick"}, "there is no number in it"),
        ({"thickness": "16 ga"}, "of a gauge, choose the metal first"),
        ({"length": "-5"}, "must be 0.01 mm to 100000 mm"),
        ({"metal": "gold"}, "Select a valid choice"),
        ({"there": "elsewhere"}, "Select a valid choice"),
    ],
)
def test_what_can_not_be_looked_for_is_told_beside_its_field(
    signed_in: Client, pieces: None, htmx: Headers, asked: dict[str, str], fault: str
) -> None:
    answer = signed_in.get("/rack/", asked)
    assert answer.status_code == 422
    assert fault in answer.content.decode()
    assert fault in signed_in.get("/rack/", asked, headers=htmx()).content.decode()


def test_htmx_gets_the_list_alone(signed_in: Client, pieces: None, htmx: Headers) -> None:
    answer = signed_in.get("/rack/", {"q": "window"}, headers=htmx())
    assert answer.content.decode().lstrip().startswith('<div id="list">')
    assert "HX-Request" in answer["Vary"]


def test_an_empty_rack_says_how_to_begin(signed_in: Client) -> None:
    assert "The rack is empty." in page(signed_in, "/rack/")
    assert "Nothing on the rack is like that." in page(signed_in, "/rack/", q="tin")


def test_pieces_are_drawn_to_one_scale(signed_in: Client, owner: Person) -> None:
    sheets(owner)
    offcut(owner, 1250, 625)
    half, whole = (str(row.drawing) for row in signed_in.get("/rack/").context["rows"])
    assert 'd="M1 81L161 81L161 1L1 1Z"' in whole  # 160 units for 2500 mm: 1250 mm are 80
    assert 'd="M1 41L81 41L81 1L1 1Z"' in half


def test_what_was_typed_is_shown_as_text(signed_in: Client, owner: Person) -> None:
    offcut(owner, place="<b>Shelf</b>")
    for path in ("/rack/", "/rack/1/"):
        assert "&lt;b&gt;Shelf&lt;/b&gt;" in page(signed_in, path)


@pytest.mark.parametrize("path", ["/rack/", "/rack/buy/"])
def test_queries_do_not_grow_with_the_pieces(signed_in: Client, owner: Person, plan: calc.Plan, path: str) -> None:
    counts = []
    for more in (10, 50):
        for _ in range(more):
            offcut(owner)
        for _ in range(more // 5):
            made = job_create(plan=plan, due_day=None, by=owner).fabrications.get()
            piece = sheets(owner, count=1)
            offcut_return(fabrication=made, count=1, length=90, width=80, area=7200, by=owner, form_key=uuid4())
            stock_issue(item=piece, count=1, fabrication=made, by=owner, form_key=uuid4())
        with CaptureQueriesContext(connection) as queries:
            assert signed_in.get(path).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_more_than_a_page_is_paged(signed_in: Client, owner: Person) -> None:
    for _ in range(30):
        offcut(owner)
    assert numbers(signed_in) == list(range(30, 6, -1))
    assert numbers(signed_in, page="2") == list(range(6, 0, -1))
    assert "page=1" in page(signed_in, "/rack/", page="2")


# A piece


def test_a_piece_shows_its_sides_its_diagonals_and_its_balances(signed_in: Client, owner: Person) -> None:
    offcut(owner, 600, 300, outline=TRIANGLE, area=90000.0, count=2)
    shown = page(signed_in, "/rack/1/")
    for figure in (
        ">600<",
        ">500<",
        ">360.5<",
    ):  # 3-4-5 of 100s; the root of 200^2 + 300^2 is 360.555, on the rule 360.5
        assert figure in shown
    assert "<dt>On the rack</dt><dd>2</dd>" in shown
    assert "0.090 m²" in shown


def test_the_ledger_tells_who_and_why_and_strikes_out_what_was_wrong(
    signed_in: Client, owner: Person, job: Job
) -> None:
    piece = sheets(owner)
    scrapped = stock_scrap(item=piece, count=1, reason="Bent corner", by=owner, form_key=uuid4())
    stock_issue(item=piece, count=2, fabrication=job.fabrications.get(), by=owner, form_key=uuid4())
    move_correct(move=scrapped, reason="Straight after all", by=owner)
    answer = signed_in.get("/rack/1/")
    shown = answer.content.decode()
    assert [line.kind for line in answer.context["lines"]] == ["issued", "scrapped", "bought"]
    assert "Bent corner" in shown
    assert '<span class="warn">Struck out</span> by edda' in shown
    assert "Straight after all" in shown
    assert "−2" in shown
    assert answer.context["item"].on_hand == 1


def test_lengths_are_in_the_shops_unit(signed_in: Client, owner: Person, shop: ShopSettings) -> None:
    offcut(owner, 927.1, 254)
    ShopSettings.objects.update(unit="in", rule="1/16")
    assert "36 1/2 × 10 in" in page(signed_in, "/rack/1/")
    assert "36 1/2 × 10 in" in page(signed_in, "/rack/")


@pytest.mark.parametrize("path", ["/rack/", "/rack/1/", "/rack/buy/", "/rack/labels.pdf"])
def test_reading_pages_take_no_post(signed_in: Client, owner: Person, path: str) -> None:
    offcut(owner)
    assert signed_in.post(path).status_code == 405


@pytest.mark.parametrize(
    "path", ["/rack/", "/rack/1/", "/rack/buy/", "/rack/labels.pdf", "/rack/bought", "/rack/found"]
)
def test_who_is_signed_out_is_sent_to_sign_in(owner: Person, client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in")


@pytest.mark.parametrize("number", ["7", "99999999999999999999999"])
def test_a_piece_that_is_not_there(signed_in: Client, number: str) -> None:
    assert signed_in.get(f"/rack/{number}/").status_code == 404


def test_every_page_has_the_rack_in_its_bar(signed_in: Client) -> None:
    assert '<a href="/rack/">Rack</a>' in page(signed_in, "/")
    assert '<a href="/rack/" aria-current="page">Rack</a>' in page(signed_in, "/rack/")


def test_nothing_is_written_by_looking(signed_in: Client, owner: Person) -> None:
    offcut(owner)
    before: Any = list(StockItem.objects.values()), list(StockMove.objects.values())
    for path in ("/rack/", "/rack/1/", "/rack/buy/", "/rack/bought", "/rack/found"):
        signed_in.get(path)
    assert before == (list(StockItem.objects.values()), list(StockMove.objects.values()))
