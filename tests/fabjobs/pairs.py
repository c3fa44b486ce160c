"""Two jobs of one metal for tests to lay out together, and what they share."""

from datetime import date
from typing import Any
from uuid import uuid4

import calc
from fabjobs.heading import Heading
from fabjobs.models import Form, Job, MoveKind, Person, Step, StockMove
from fabjobs.services import Along, job_change, job_create, jobs_lay_together
from fabjobs.together import pair_of
from tests.fabjobs.changing import latest

METAL = {"alloy": "5052-H32", "thickness": 1.5}
STOCK = [{"label": "S1", "length": 2500, "width": 1250, "price": "96.35"}]
SMALL = [{"label": "S1", "length": 900, "width": 560, "price": "30.00"}]


def tray(title: str, length: float, width: float, **keys: Any) -> dict[str, Any]:
    shape = {
        "family": "fall-tray",
        "rim": [[0, 0], [length, 0], [length, width], [0, width]],
        "low_point": [length * 0.4, width * 0.6],
        "depth": 45,
    }
    return {"title": title, "material": METAL, "shape": shape, "making": {"effort": "quick"}, "stock": STOCK, **keys}


def two_jobs(by: Person, **keys: Any) -> tuple[Job, Job]:
    """Job 1, due later, and job 2, due first, which is the host."""
    one = job_create(plan=calc.plan(tray("Lathe tray", 700, 420, **keys)), due_day=date(2031, 6, 9), by=by)
    other = job_create(plan=calc.plan(tray("Saw tray", 520, 380)), due_day=date(2031, 6, 2), by=by)
    return one, other


def both(one: Job, other: Job) -> dict[str, Along]:
    return pair_of(latest(one), latest(other)).along


def lay_together(one: Job, other: Job, by: Person) -> None:
    pair = both(one, other)
    jobs_lay_together(host=pair["host"], guest=pair["guest"], by=by, form_key=uuid4())


def shares() -> list[StockMove]:
    """The lines by which shares were issued and that stand."""
    lines = StockMove.objects.filter(item__form=Form.SHARE, kind=MoveKind.ISSUED, corrects=None, corrected_by=None)
    return list(lines.select_related("item"))


def on_small_sheets(by: Person) -> tuple[Job, Job]:
    """Guest and host together on several small sheets, of which they share two; none is cut into."""
    jobs = two_jobs(by, stock=SMALL)
    revision = latest(jobs[1])
    job_change(
        fabrication=revision.fabrication,
        plan=calc.plan({**revision.sheet, "stock": SMALL, "quantity": 2}),
        heading=Heading.of(jobs[1]),
        started_from=1,
        job_version=jobs[1].version,
        reason="Small sheets",
        by=by,
    )
    lay_together(*jobs, by)
    return jobs


def first_cut_of(job: Job, sheet: int) -> Step:
    """The first cut of a sheet, counted from 1."""
    steps = Step.objects.filter(fabrication__job=job, kind="cut", retired=False, text__startswith=f"Sheet {sheet},")
    return steps.order_by("position")[0]


def renumbering(by: Person) -> tuple[Job, Job]:
    """Guest, job 2, and host, job 1, together on three small sheets, the last two of which they share; none is cut into."""
    small = [{"label": "S1", "length": 960, "width": 600, "price": "30.00"}]
    host = job_create(plan=calc.plan(tray("h", 900, 560, stock=small, quantity=2)), due_day=date(2031, 6, 1), by=by)
    guest = job_create(plan=calc.plan(tray("g", 500, 300, stock=small)), due_day=date(2031, 6, 9), by=by)
    lay_together(guest, host, by)
    return guest, host
