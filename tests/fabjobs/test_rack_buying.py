"""What to buy, over all jobs in hand."""

from decimal import Decimal
from typing import Any
from urllib.parse import parse_qs, urlsplit
from uuid import uuid4

from django.test import Client
from django.utils import timezone

import calc
from fabjobs.buying import BuyingList, what_to_buy
from fabjobs.heading import Heading
from fabjobs.metal import MetalBook, planned_sheets
from fabjobs.models import Job, MoveKind, Person, Revision, ShopSettings, Step, StockMove
from fabjobs.services import job_change, job_create, sheet_use, sheets_use_as_planned
from tests.conftest import SHEET
from tests.fabjobs.racked import sheets
from tests.fabjobs.ticking import tick

BIG = {"label": "Big", "length": 2500, "width": 1250, "price": "96.00"}


def planned(*stock: dict[str, Any], **change: Any) -> calc.Plan:
    return calc.plan({**SHEET, "stock": list(stock) or [BIG], **change})


def made(by: Person, plan: calc.Plan) -> Job:
    return job_create(plan=plan, due_day=None, by=by)


def lines(currency: str = "EUR") -> list[tuple[int, str, Decimal | None, list[tuple[int, int]]]]:
    found = what_to_buy(currency).lines
    return [
        (line.count, line.alloy, line.money, [(need.job.number, need.count) for need in line.needs]) for line in found
    ]


def test_jobs_in_hand_are_added_up_by_metal_and_size(owner: Person) -> None:
    other = planned(material={"alloy": "DX51D+Z", "thickness": 1.2})
    for plan in (planned(), planned(), other):
        made(owner, plan)
    assert lines() == [
        (2, "5052-H32", Decimal("192.00"), [(1, 1), (2, 1)]),
        (1, "DX51D+Z", Decimal("96.00"), [(3, 1)]),
    ]
    assert what_to_buy("EUR").money == Decimal("288.00")


def test_a_finished_job_needs_nothing(owner: Person) -> None:
    made(owner, planned())
    Step.objects.update(done_at=timezone.now(), done_by=owner)
    assert lines() == []


def test_the_newest_plan_counts(owner: Person) -> None:
    job = made(owner, planned())
    thicker = planned(material={"alloy": "5052-H32", "thickness": 2})
    job_change(
        fabrication=job.fabrications.get(), plan=thicker, heading=Heading.of(job), started_from=1, job_version=1,
        reason="Stiffer", by=owner, form_key=uuid4(),
    )  # fmt: skip
    assert [line.thickness for line in what_to_buy("EUR").lines] == [2]


def test_what_is_issued_is_not_to_be_bought(owner: Person) -> None:
    plan = planned()
    one, other = made(owner, plan), made(owner, plan)
    sheets_use_as_planned(fabrication=one.fabrications.get(), planned=planned_sheets(plan), by=owner, form_key=uuid4())
    assert lines() == [(1, "5052-H32", Decimal("96.00"), [(other.number, 1)])]


def test_a_sheet_of_another_size_that_was_issued_does_not_count(owner: Person) -> None:
    job = made(owner, planned())
    sheet_use(
        fabrication=job.fabrications.get(), count=1, label="S9", length=2000, width=1000, price=Decimal(70), by=owner,
        form_key=uuid4(),
    )  # fmt: skip
    assert [count for count, *_ in lines()] == [1]


def test_a_sheet_of_the_rack_that_the_plan_lies_on_is_not_to_be_bought(owner: Person) -> None:
    sheets(owner, 1)
    made(owner, planned({**BIG, "label": "R1", "rack": 1}))
    assert lines() == []


def test_a_sheet_of_the_rack_that_is_issued_stands_for_none_to_be_bought(owner: Person) -> None:
    """One of two sheets of a size was there: once it is cut into, the other is still to be bought."""
    piece = sheets(owner, 1, length=1000.0, width=700.0)
    small = {**BIG, "length": 1000, "width": 700}
    making = {**SHEET.get("making", {}), "effort": "quick"}
    plan = planned({**small, "label": "R1", "rack": 1, "count": 1}, small, quantity=2, making=making)
    job = made(owner, plan)
    stock = [used.stock for used in plan.layout.sheets]
    assert sorted(stock) == ["Big", "R1"]
    first = Step.objects.filter(kind="cut", text__startswith=f"Sheet {stock.index('R1') + 1},").order_by("position")[0]
    tick(first, owner)
    assert StockMove.objects.standing(MoveKind.ISSUED).get().item == piece
    assert [(count, needs) for count, _, _, needs in lines()] == [(1, [(job.number, 1)])]
    book = MetalBook.of(Revision.objects.get(), plan)
    assert [(size.label, size.count) for size in book.sheets_left] == [("Big", 1)]


def test_a_free_sheet_of_the_size_is_set_against_the_need(owner: Person) -> None:
    for _ in range(3):
        made(owner, planned())
    sheets(owner, 2)
    sheets(owner, 5, length=2000.0)  # another size
    sheets(owner, 5, thickness=2.0)  # another metal
    (line,) = what_to_buy("EUR").lines
    assert (line.needed, line.free, line.count, [piece.number for piece in line.pieces]) == (3, 2, 1, [1])


def test_a_sheet_reserved_for_another_job_is_not_free(owner: Person) -> None:
    sheets(owner, 1)
    made(owner, planned({**BIG, "label": "R1", "rack": 1}))
    made(owner, planned())
    assert [(line.count, line.free) for line in what_to_buy("EUR").lines] == [(1, 0)]


def test_one_size_under_two_labels_is_one_line_called_as_the_newest_plan_has_it(owner: Person) -> None:
    made(owner, planned({**BIG, "price": "90.00"}))
    made(owner, planned({**BIG, "label": "S1"}))
    (line,) = what_to_buy("EUR").lines
    assert (line.label, line.count, line.price) == ("S1", 2, Decimal("96.00"))


def test_another_currency_has_no_price(owner: Person) -> None:
    made(owner, planned())
    found: BuyingList = what_to_buy("USD")
    assert (found.lines[0].price, found.money, found.has_unpriced) == (None, Decimal(0), True)


# The page


def test_the_page_says_what_for_whom_and_begins_the_purchase(signed_in: Client, owner: Person) -> None:
    made(owner, planned())
    answer = signed_in.get("/rack/buy/")
    page = answer.content.decode()
    assert "Big, 2500 × 1250 mm" in page
    assert '<a class="touch" href="/jobs/1/">job 1</a> (1)' in page
    (_, ((_, link),)) = answer.context["metals"][0]
    begun = parse_qs(urlsplit(link).query)
    assert begun == {
        "count": ["1"],
        "alloy": ["5052-H32"],
        "label": ["Big"],
        "length": ["2500"],
        "width": ["1250"],
        "thickness": ["1.5"],
        "price": ["96.00"],
    }
    form = signed_in.get(link).content.decode()
    assert 'value="96.00"' in form
    assert 'value="Big"' in form


def test_nothing_to_buy_says_so(signed_in: Client) -> None:
    assert "Nothing to buy:" in signed_in.get("/rack/buy/").content.decode()


def test_the_jobs_in_hand_lead_to_it(signed_in: Client, owner: Person, shop: ShopSettings) -> None:
    assert "/rack/buy/" not in signed_in.get("/").content.decode()
    made(owner, planned())
    assert '<a class="paper-link" href="/rack/buy/">What to buy</a>' in signed_in.get("/").content.decode()
