"""Labels of the pieces of the rack, as a PDF."""

import io
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pdfplumber
import pytest
from django.db import connection
from django.test import Client

from fabjobs import papers
from fabjobs.models import Job, Person, ShopSettings, StockMove
from fabjobs.services import offcut_return, stock_scrap
from tests.fabjobs.racked import offcut, sheets

pytest.importorskip("weasyprint", reason="papers need Pango", exc_type=OSError)

SHEET = {"sheet": "A4, 3 x 7", "first": "1"}


def words(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.content
    assert answer["Content-Type"] == "application/pdf"
    with pdfplumber.open(io.BytesIO(answer.content)) as pdf:
        return [word["text"] for page in pdf.pages for word in page.extract_words()]


def numbers(answer: Any) -> list[str]:
    return [word for word in words(answer) if word[0] == "R" and word[1:].isdigit()]


def test_pieces_that_were_ticked_get_labels(signed_in: Client, owner: Person, job: Job) -> None:
    sheets(owner)
    offcut(owner, 800.5, 500, count=2, place="Shelf 2, left")
    offcut(owner)
    answer = signed_in.get("/rack/labels.pdf", {**SHEET, "piece": ["1", "2"]})
    assert numbers(answer) == ["R1", "R2", "R2"]  # alike sheets are a stack, each offcut has its own
    text = " ".join(words(answer))
    for part in ("800.5 × 500 mm", "5052-H32, 1.5 mm", "Shelf 2, left", "Back wall"):
        assert part in text


def test_none_ticked_are_the_offcuts_that_came_today_and_are_there(signed_in: Client, owner: Person, job: Job) -> None:
    sheets(owner)
    offcut(owner)
    gone = offcut(owner)
    stock_scrap(item=gone, count=1, reason="Bent", by=owner, form_key=uuid4())
    of_job = {"fabrication": job.fabrications.get(), "count": 1, "length": 90.0, "width": 80.0, "area": 7200.0}
    offcut_return(**of_job, by=owner, form_key=uuid4())
    answer = signed_in.get("/rack/labels.pdf", SHEET)
    assert numbers(answer) == ["R2", "R4"]
    assert "of job 1" in " ".join(words(answer))
    with connection.cursor() as rows:  # the ledger itself lets nobody change a line
        rows.execute("DROP TRIGGER move_is_never_changed")
    StockMove.objects.update(at=StockMove.objects.latest("pk").at - timedelta(days=2))
    assert signed_in.get("/rack/labels.pdf", SHEET).status_code == 404


def test_the_first_free_label_is_where_printing_begins(signed_in: Client, owner: Person) -> None:
    offcut(owner)
    answer = signed_in.get("/rack/labels.pdf", {**SHEET, "first": "5"})
    with pdfplumber.open(io.BytesIO(answer.content)) as pdf:
        word = next(word for word in pdf.pages[0].extract_words() if word["text"] == "R1")
    # label 5 of 3 columns: second row, second column, at 73.25 and 53.25 mm, by 63.5 and 38.1 mm
    assert 73.25 < word["x0"] * 25.4 / 72 < 73.25 + 63.5
    assert 53.25 < word["top"] * 25.4 / 72 < 53.25 + 38.1


def test_with_an_address_they_carry_a_code(
    signed_in: Client, owner: Person, shop: ShopSettings, monkeypatch: pytest.MonkeyPatch
) -> None:
    offcut(owner)
    given: list[Any] = []
    monkeypatch.setattr(papers, "labels_pdf", lambda labels, *_, **__: given.append(labels) or b"%PDF")
    signed_in.get("/rack/labels.pdf", {**SHEET, "piece": "1"})
    ShopSettings.objects.update(paper_address="http://10.0.0.7:8000/")
    signed_in.get("/rack/labels.pdf", {**SHEET, "piece": "1"})
    assert [labels[0].address for labels in given] == [None, "http://10.0.0.7:8000/rack/1/"]


@pytest.mark.parametrize(
    ("asked", "fault"),
    [
        ({"first": "22"}, "That sheet has 21 labels: must be 1 to 21."),
        ({"first": "0"}, "greater than or equal to 1"),
        ({"first": "x"}, "Enter a whole number"),
        ({"sheet": "A5"}, "Select a valid choice"),
        ({"piece": "R1"}, "A piece is named by its number"),
        ({"piece": "99999999999999999999999"}, "A piece is named by its number"),
    ],
)
def test_what_can_not_be_printed_is_told(signed_in: Client, owner: Person, asked: dict[str, str], fault: str) -> None:
    offcut(owner)
    answer = signed_in.get("/rack/labels.pdf", {**SHEET, "piece": "1", **asked})
    assert answer.status_code == 422
    assert fault in answer.content.decode()
    if "piece" not in asked:
        assert '<input type="hidden" name="piece" value="1"' in answer.content.decode()


def test_pieces_that_are_not_there(signed_in: Client) -> None:
    for asked in (SHEET, {**SHEET, "piece": "7"}):
        answer = signed_in.get("/rack/labels.pdf", asked)
        assert answer.status_code == 404
        assert "No such piece is on the rack" in answer.content.decode()


def test_without_pango_it_says_what_to_install(
    signed_in: Client, owner: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    offcut(owner)
    monkeypatch.setattr(papers, "lacking", lambda: papers.LACKING)
    answer = signed_in.get("/rack/labels.pdf", SHEET)
    assert answer.status_code == 503
    assert "Pango" in answer.content.decode()
