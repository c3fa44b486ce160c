"""The rack's ledger: whatever is written in whatever order, no balance goes below 0, and a correction undoes exactly."""

import random
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import Sum

import calc
from fabjobs.models import Fabrication, Person, StockItem, StockMove
from fabjobs.services import (
    NotOnTheRack,
    job_create,
    move_correct,
    plan_reserve,
    stock_count,
    stock_issue,
    stock_scrap,
)
from fabjobs.services.ledger import balances, reserved_for
from fabjobs.services.once import SentBefore
from tests.conftest import SHEET
from tests.fabjobs.racked import offcut, sheets

COURSES, TURNS = 12, 50


@pytest.fixture
def makers(owner: Person, plan: calc.Plan) -> list[Fabrication]:
    return [job_create(plan=plan, due_day=None, by=owner).fabrications.get() for _ in range(3)]


@pytest.fixture(scope="module")
def plans() -> dict[int, calc.Plan]:
    """Plans that lie on so many sheets of piece R1: so many trays, each too large for two of them to share a sheet."""
    found = {}
    for count in (1, 2, 3):
        stock = [{"label": "R1", "length": 1010, "width": 640, "rack": 1, "count": count}]
        found[count] = calc.plan({**SHEET, "quantity": count, "stock": stock})
        assert [used.stock for used in found[count].layout.sheets] == ["R1"] * count
    return found


def course(item: StockItem, makers: list[Fabrication], plans: dict[int, calc.Plan], by: Person, chance: Any) -> Any:
    """One thing that may happen to a piece, right or wrong."""
    made, count = chance.choice(makers), chance.randint(1, 4)
    given = {"by": by, "form_key": uuid4()}
    lines = list(StockMove.objects.filter(item=item, corrects=None))
    happens: list[Callable[[], object]] = [
        lambda: stock_issue(item=item, count=count, fabrication=made, **given),
        lambda: stock_scrap(item=item, count=count, reason="Bent", **given),
        lambda: stock_count(item=item, counted=chance.randint(0, 8), reason="Counted", **given),
        lambda: plan_reserve(fabrication=made, plan=plans[chance.randint(1, 3)], by=by),
        lambda: move_correct(move=chance.choice(lines), reason="Wrong", by=by),
    ]
    return chance.choice(happens)


@pytest.mark.parametrize("seed", range(COURSES))
def test_no_course_of_things_leaves_fewer_than_none(
    owner: Person, makers: list[Fabrication], plans: dict[int, calc.Plan], seed: int
) -> None:
    chance = random.Random(seed)  # noqa: S311 - a test's own course
    item = sheets(owner, 6)
    refused = written = 0
    for _ in range(TURNS):
        before, lines = balances(item), StockMove.objects.count()
        act = course(item, makers, plans, owner, chance)
        try:
            with transaction.atomic():
                act()
        except NotOnTheRack:
            refused += 1
            assert (balances(item), StockMove.objects.count()) == (before, lines)
        else:
            written += 1
        on_hand, reserved = balances(item)
        assert 0 <= reserved <= on_hand
        held = [reserved_for(item, made) for made in makers]
        assert min(held) >= 0
        assert sum(held) == reserved
        # the balance is the sum of the lines, asked in the other way that pages ask it
        kept: Any = StockItem.objects.with_balances().get(pk=item.pk)
        assert (kept.on_hand, kept.reserved, kept.free) == (on_hand, reserved, on_hand - reserved)
    assert refused
    assert written


@pytest.mark.parametrize("kind", ["scrapped", "counted", "issued", "issued from what was reserved"])
def test_a_correction_brings_the_balances_back_exactly(
    owner: Person, makers: list[Fabrication], plans: dict[int, calc.Plan], kind: str
) -> None:
    item, made = sheets(owner, 6), makers[0]
    if kind == "issued from what was reserved":
        plan_reserve(fabrication=made, plan=plans[2], by=owner)
    before = balances(item), reserved_for(item, made)
    given: dict[str, Any] = {"item": item, "by": owner, "form_key": uuid4()}
    if kind == "scrapped":
        line = stock_scrap(count=2, reason="Bent", **given)
    elif kind == "counted":
        line = stock_count(counted=1, reason="Only one", **given)
    else:
        line = stock_issue(count=3, fabrication=made, **given)
    assert (balances(item), reserved_for(item, made)) != before
    for _ in range(2):  # the same again changes nothing
        move_correct(move=line, reason="Wrong", by=owner)
    assert (balances(item), reserved_for(item, made)) == before
    assert StockMove.objects.filter(corrects=line).count() == 1
    with pytest.raises(SentBefore, match="edda corrected that line already: Wrong"):
        move_correct(move=line, reason="Other words", by=owner)


def test_only_what_is_free_is_issued_scrapped_or_counted_away(
    owner: Person, makers: list[Fabrication], plans: dict[int, calc.Plan]
) -> None:
    item = sheets(owner, 3)
    one, other, _ = makers
    plan_reserve(fabrication=one, plan=plans[2], by=owner)
    given: dict[str, Any] = {"item": item, "by": owner, "form_key": uuid4()}
    with pytest.raises(NotOnTheRack, match=r"3 of R1 are on the rack, 2 reserved \(job 1\): 2 can't be taken"):
        stock_issue(count=2, fabrication=other, **given)
    with pytest.raises(NotOnTheRack, match="2 can't be taken"):
        stock_scrap(count=2, reason="Bent", **given)
    with pytest.raises(NotOnTheRack, match=r"2 of R1 are reserved \(job 1\): release those before 1 can stand"):
        stock_count(counted=1, reason="One", **given)
    with pytest.raises(NotOnTheRack, match="2 can't be taken"):
        plan_reserve(fabrication=other, plan=plans[2], by=owner)
    stock_issue(count=3, fabrication=one, **given)  # its own, and what is free
    assert balances(item) == (0, 0)


def test_a_plan_that_needs_fewer_releases_the_rest(
    owner: Person, makers: list[Fabrication], plans: dict[int, calc.Plan]
) -> None:
    item, made = sheets(owner, 3), makers[0]
    for count in (3, 1, 1, 2):
        plan_reserve(fabrication=made, plan=plans[count], by=owner)
        assert reserved_for(item, made) == count
    assert [(line.kind, line.reserved) for line in item.moves.filter(fabrication=made)] == [
        ("reserved", 3),
        ("released", -2),
        ("reserved", 1),
    ]


def raw_line(item: StockItem, by: Person, **change: Any) -> None:
    """A line written past every service, by the database alone."""
    row = {
        "form_key": uuid4().hex,
        "by_id": by.pk,
        "at": "2031-01-01",
        "item_id": item.pk,
        "kind": "scrapped",
        "on_hand": 0,
        "reserved": 0,
        "fabrication_id": None,
        "by_itself": 0,
        "reason": "x",
        "corrects_id": None,
        **change,
        "of_stock": "",
    }
    into = ", ".join(row)
    with transaction.atomic(), connection.cursor() as rows:
        rows.execute(
            f"INSERT INTO fabjobs_stockmove ({into}) VALUES ({', '.join(['%s'] * len(row))})",  # noqa: S608
            list(row.values()),
        )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"on_hand": -4}, "fewer pieces than none"),
        ({"kind": "reserved", "reserved": 4, "fabrication_id": 1}, "more reserved than there are"),
        ({"kind": "released", "reserved": -1, "fabrication_id": 1}, "fewer pieces than none|give back no more"),
        ({"on_hand": 1}, "move_goes_its_way"),
        ({"on_hand": -1, "reason": ""}, "move_says_why"),
        ({"kind": "issued", "on_hand": -1}, "move_names_its_job"),
        ({"kind": "stolen", "on_hand": -1}, "move_goes_its_way"),
    ],
)
def test_the_database_itself_refuses_a_line_that_can_not_be(
    owner: Person, makers: list[Fabrication], change: dict[str, Any], said: str
) -> None:
    item = sheets(owner, 3)
    if "fabrication_id" in change:
        change = {**change, "fabrication_id": makers[0].pk}
    with pytest.raises(IntegrityError, match=said):
        raw_line(item, owner, **change)
    assert balances(item) == (3, 0)


def test_a_job_gives_back_no_more_than_it_reserved(
    owner: Person, makers: list[Fabrication], plans: dict[int, calc.Plan]
) -> None:
    item = sheets(owner, 3)
    plan_reserve(fabrication=makers[0], plan=plans[2], by=owner)
    with pytest.raises(IntegrityError, match="a job can give back no more than it reserved"):
        raw_line(item, owner, kind="released", reserved=-1, fabrication_id=makers[1].pk)


def test_a_reservation_that_was_released_and_went_to_another_job_is_not_undone(
    owner: Person, makers: list[Fabrication], plans: dict[int, calc.Plan], plan: calc.Plan
) -> None:
    item = sheets(owner, 1)
    plan_reserve(fabrication=makers[0], plan=plans[1], by=owner)
    line = item.moves.get(kind="reserved")
    plan_reserve(fabrication=makers[0], plan=plan, by=owner)
    plan_reserve(fabrication=makers[1], plan=plans[1], by=owner)
    with pytest.raises(NotOnTheRack, match="gone or reserved by now"):
        move_correct(move=line, reason="Wrong", by=owner)
    assert (balances(item), reserved_for(item, makers[1])) == ((1, 1), 1)


def test_a_line_is_never_changed(owner: Person) -> None:
    item = sheets(owner, 3)
    with pytest.raises(IntegrityError, match="a line of the ledger is never changed"), transaction.atomic():
        StockMove.objects.filter(item=item).update(on_hand=5)
    assert StockMove.objects.aggregate(sum=Sum("on_hand"))["sum"] == 3


def test_pieces_are_numbered_through(owner: Person) -> None:
    assert [sheets(owner).name, offcut(owner).name, sheets(owner).name] == ["R1", "R2", "R3"]
