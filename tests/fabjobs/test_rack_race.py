"""Many jobs at one piece at once, on a real database file: no piece is reserved twice, none is lost, nobody is turned away
for another reason than that the pieces are gone."""

from collections.abc import Callable
from multiprocessing import get_context
from multiprocessing.queues import Queue
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.db import OperationalError
from pytest_django import DjangoDbBlocker

import calc
from fabjobs.models import Fabrication, Person, StockItem, StockMove
from fabjobs.services import NotOnTheRack, job_create, plan_reserve, stock_issue, stock_scrap
from fabjobs.services.ledger import balances, reserved_for
from tests.conftest import SHEET
from tests.fabjobs.databases import working_with
from tests.fabjobs.racked import sheets

PROCESSES, PIECES, ROUNDS = 6, 4, 12
Told = list[tuple[str, int]]


def _work(database: str, place: int, plans: list[calc.Plan], together: Callable[[], Any], out: "Queue[Told]") -> None:
    """In a process of its own: a job that reserves, issues and scraps of the pieces that all others want too."""
    told: Told = []
    with working_with(Path(database)):
        by, made = Person.objects.get(), Fabrication.objects.order_by("pk")[place]
        try:
            for number in range(1, ROUNDS + 1):
                item = StockItem.objects.get(number=number)
                together()
                told.append((_tried(lambda: plan_reserve(fabrication=made, plan=plans[number - 1], by=by)), number))  # noqa: B023
                if place % 3 == 1:
                    given: dict[str, Any] = {"item": item, "count": 1, "by": by, "form_key": uuid4()}
                    _tried(lambda: stock_issue(fabrication=made, **given))  # noqa: B023
                if place % 3 == 2:
                    given = {"item": item, "count": 1, "by": by, "form_key": uuid4()}
                    _tried(lambda: stock_scrap(reason="Bent", **given))  # noqa: B023
        finally:
            out.put(told)


def _tried(act: Callable[[], object]) -> str:
    try:
        act()
    except NotOnTheRack:
        return "gone"
    except OperationalError as error:
        return f"locked: {error}"
    return "done"


@pytest.fixture
def racked(database: Path, django_db_blocker: DjangoDbBlocker, plan: calc.Plan) -> Path:
    """A file with a job for each process, and a stack of sheets for each round."""
    with django_db_blocker.unblock(), working_with(database):
        by = Person.objects.get()
        for _ in range(PROCESSES):
            job_create(plan=plan, due_day=None, by=by)
        for _ in range(ROUNDS):
            sheets(by, PIECES)
    return database


def test_no_piece_is_reserved_by_two_jobs(racked: Path, django_db_blocker: DjangoDbBlocker) -> None:
    plans = [
        calc.plan({**SHEET, "stock": [{"label": "R", "length": 2500, "width": 1250, "rack": number}]})
        for number in range(1, ROUNDS + 1)
    ]
    context = get_context("fork")
    together, out = context.Barrier(PROCESSES), context.Queue()
    with django_db_blocker.unblock():
        workers = [
            context.Process(target=_work, args=(str(racked), place, plans, together.wait, out))
            for place in range(PROCESSES)
        ]
        for worker in workers:
            worker.start()
        told = [line for _ in workers for line in out.get(timeout=100)]
        for worker in workers:
            worker.join(30)
        assert [worker.exitcode for worker in workers] == [0] * PROCESSES
        with working_with(racked):
            _check(told)


def _check(told: Told) -> None:
    assert {answer for answer, _ in told} == {"done", "gone"}  # more jobs than pieces: some come too late
    assert len(told) == PROCESSES * ROUNDS
    makers = list(Fabrication.objects.all())
    for item in StockItem.objects.all():
        on_hand, reserved = balances(item)
        assert 0 <= reserved <= on_hand <= PIECES
        assert reserved == sum(reserved_for(item, made) for made in makers)
        taken = -sum(line.on_hand for line in item.moves.exclude(kind="bought"))
        assert on_hand + taken == PIECES
    # a job holds what its plan of the last round was told it has, or has it issued
    last = [answer for answer, number in told if number == ROUNDS]
    held = StockMove.objects.filter(item__number=ROUNDS, kind="reserved").values("fabrication").distinct().count()
    assert held == last.count("done")
