"""A shop for tests of what a hand sees: two revisions of a job with money in every corner, and the hours of three people.

Every amount is one that no length, mass or count comes to by chance; the hours of others add up to none of the hand's.
"""

import copy
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.utils import timezone

import calc
from calc.advice import MONEY
from fabjobs.heading import Heading
from fabjobs.models import Invitation, Job, Person, RateBook, Role, SheetPrice, ShopSettings, Step
from fabjobs.services import (
    aperture_set_out,
    as_built_add,
    job_change,
    job_create,
    note_add,
    person_invite,
    photo_add,
    sheet_use,
    thing_buy,
    time_correct,
    time_enter,
    timer_start,
)
from fabjobs.wording import hours
from tests.fabjobs.racked import offcut, sheets
from tests.fabjobs.ticking import tick
from tests.photographed import photo_file

CURRENCY = "CHF"
PAID, FOUND, BOUGHT = "4321.09", "337.77", "616.61"
RATES: dict[str, Any] = {
    "labour": "837.17", "labour_by_kind": {"weld": "941.31"}, "filler": "7193.19", "gas": "6.1739",
    "outlet_fitting": "583.31",
}  # fmt: skip
OWN, OWNERS, OTHERS, WRONG = 29, 433, 227, 541  # [min] logged by the hand, an owner, another hand; before a correction
RIM = [[0, 0], [800, 0], [800, 600], [0, 600]]
SHEET: dict[str, Any] = {
    "title": "Coolant tray",
    "customer": "Hill Street Turning",
    "machine": "Bench lathe 3",
    "material": {"alloy": "5052-H32", "thickness": 1.5},
    "shape": {
        "family": "fall-tray", "rim": RIM, "low_point": [530, 210], "depth": 60, "outlet": {"bore": 32},
        "rim_finish": {"kind": "upstand", "height": 25},
    },
    "making": {"effort": "quick"},
    "rates": {"currency": CURRENCY, **RATES},
    "stock": [{"label": "S1", "length": 2500, "width": 1250, "price": PAID}],
}  # fmt: skip
MEASURED = {
    "side-1-2": 800.0, "side-2-3": 600.0, "side-3-4": 800.0, "side-4-1": 600.0, "diagonal-1-3": 1000.0,
    "diagonal-2-4": 1000.0,
}  # fmt: skip
FIGURES: dict[str, Any] = {
    "corner": 1, "end": "left", "from_end": 100.0, "from_edge": 60.0, "from_edge_next": 60.0, "clearance": 1.0,
    "cutter_radius": 3.0, "bench_thickness": 4.0,
}  # fmt: skip


def sheet(depth: float = 60, **keys: Any) -> dict[str, Any]:
    made = copy.deepcopy(SHEET)
    made["shape"]["depth"] = depth
    return made | keys


@dataclass(frozen=True)
class Moneyed:
    """The shop's people; its job 1 (ticked, measured, revision 2) and job 2, which nobody gave a price; and what of it all
    must not reach a hand."""

    owner: Person
    hand: Person
    other: Person
    job: Job
    step: Step
    own_entry: int
    others_entry: int
    invitation: Invitation
    token: str
    bought: int
    priced: int
    found: int
    photo: int
    amounts: tuple[str, ...]
    others_hours: tuple[str, ...]
    warned: tuple[str, ...]


def made_plans() -> tuple[calc.Plan, calc.Plan, calc.Plan]:
    """Both revisions of job 1, and the plan of job 2 that warns of what it has no price for."""
    priceless = {"title": "Chip tray", "stock": [{"label": "S1", "length": 2500, "width": 1250}]}
    return calc.plan(sheet()), calc.plan(sheet(depth=66)), calc.plan(sheet(**priceless, rates={"currency": CURRENCY}))


def moneyed(owner: Person, plans: tuple[calc.Plan, calc.Plan, calc.Plan]) -> Moneyed:
    first, second, priceless = plans
    ShopSettings.objects.update(currency=CURRENCY)
    hand, other = (Person.objects.create_user(name, role=Role.HAND) for name in ("jon", "noor"))
    money = {name: value if name == "labour_by_kind" else Decimal(value) for name, value in RATES.items()}
    RateBook.objects.create(created_by=owner, **money)
    size = {"label": "S1", "length": 2500.0, "width": 1250.0}
    priced = SheetPrice.objects.create(alloy="5052-H32", thickness=1.5, price=Decimal(PAID), **size)
    job = job_create(plan=first, due_day=None, by=owner)
    found = offcut(owner, price=Decimal(FOUND)).moves.get()
    sheets(owner, price=Decimal(PAID))
    made = job.fabrications.get()
    marked = made.steps.filter(kind="mark").order_by("position")[0]
    tick(marked, owner)
    _log(marked, owner, hand, other)
    job_change(
        fabrication=made, plan=second, heading=Heading.of(job), started_from=1, job_version=job.version,
        reason="Pump sits lower", by=owner,
    )  # fmt: skip
    step = made.steps.filter(retired=False, kind="mark").order_by("position")[0]
    own, others = _log(step, owner, hand, other)
    timer_start(step=step, by=other, form_key=uuid4())
    note_add(step=step, text="The leg is in the way.", by=other, form_key=uuid4())
    given: dict[str, Any] = {"fabrication": made, "by": owner}
    sheet_use(count=1, price=Decimal(PAID), form_key=uuid4(), **size, **given)
    bought = thing_buy(count=2, what="Hose tail", price=Decimal(BOUGHT), form_key=uuid4(), **given)
    as_built_add(fabrication=made, copy=1, measured=MEASURED, revision=2, by=other, form_key=uuid4())
    aperture_set_out(fabrication=made, copy=1, figures=FIGURES, by=other, form_key=uuid4())
    invitation, token = person_invite(name="Ines Moll", role=Role.HAND, by=owner, form_key=uuid4())
    photo = photo_add(job=job, sent=photo_file(), by=other, form_key=uuid4(), caption="The leg")
    job_create(plan=priceless, due_day=None, by=owner)
    return Moneyed(
        owner, hand, other, job, step, own, others, invitation, token, bought.pk, priced.pk, found.pk,
        photo.pk, _amounts(first, second), _hours(),
        tuple(warning.text for warning in priceless.warnings if warning.code in MONEY),
    )  # fmt: skip


def _log(step: Step, owner: Person, hand: Person, other: Person) -> tuple[int, int]:
    """Time of three people on a step, the other's corrected: the entries of the hand and of the other."""
    own, _, others = (
        time_enter(step=step, day=timezone.localdate(), minutes=minutes, by=by, form_key=uuid4())
        for by, minutes in ((hand, OWN), (owner, OWNERS), (other, WRONG))
    )
    was, now = WRONG * 60, OTHERS * 60
    time_correct(entry=others, was=was, seconds=now, reason="Tea in between", by=other, form_key=uuid4())
    return own.pk, others.pk


def _amounts(*plans: calc.Plan) -> tuple[str, ...]:
    """Every rate, amount and total, and what was paid."""
    lines = [line for plan in plans for line in plan.cost.lines]
    figures = {figure for line in lines for figure in (line.rate, line.amount)} | {plan.cost.total for plan in plans}
    plain = {RATES["labour"], RATES["filler"], RATES["gas"], RATES["outlet_fitting"], "941.31"}
    return tuple(sorted(figures | plain | {PAID, FOUND, BOUGHT}))


def _hours() -> tuple[str, ...]:
    """The hours of others, and every sum that has some of them in it, as pages tell times."""
    once = {OWNERS, OTHERS, WRONG, OWNERS + OTHERS, OWN + OWNERS, OWN + OTHERS, OWN + OWNERS + OTHERS}
    return tuple(sorted(hours(each) for each in (*once, *(2 * each for each in once))))
