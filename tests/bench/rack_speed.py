"""How fast the rack answers: `python tests/bench/rack_speed.py [rounds]`.

Prints the median and the worst server time [ms] and the number of queries of each page of a rack of 5,000 pieces with 15,000
lines in its ledger, and 40 jobs in hand with plans of their own.
"""

import os
import random
import sys
import tempfile
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import django
from django.core.management import call_command
from django.db import connection
from django.http import HttpResponseBase
from django.test import Client

sys.path.insert(0, str(Path(__file__).parents[2]))
FOLDER = tempfile.TemporaryDirectory(prefix="full-rack-")
os.environ |= {"FABJOBS_DATA": FOLDER.name, "FABJOBS_HOSTS": "testserver", "DJANGO_SETTINGS_MODULE": "fabjobs.settings"}
django.setup()

import calc  # noqa: E402
from fabjobs.models import Fabrication, Person, Revision, ShopSettings, StockItem, StockMove  # noqa: E402
from fabjobs.services import job_create  # noqa: E402
from tests.bench.shop_speed import ROUNDS, timed  # noqa: E402
from tests.shapes import NAMED, sheet_of  # noqa: E402

PIECES, JOBS = 5_000, 40
METALS = [("5052-H32", 1.5), ("5052-H32", 2.0), ("6061-T6", 2.0), ("DX51D+Z", 1.2), ("1.4301", 1.5)]
PLACES = ("Back wall", "Shelf 1", "Shelf 2, left", "By the window", "Under the bench")


def build() -> None:
    """Pieces of every metal and size, two in three still there; jobs of every shape in hand."""
    ShopSettings(pk=1, name="A full rack").save()
    by = Person.objects.create_superuser("edda", password=None)
    plans = [calc.plan(sheet_of(shape, title=name)) for name, shape in NAMED.items()]
    made = [job_create(plan=plans[place % len(plans)], due_day=None, by=by).fabrications.get() for place in range(JOBS)]
    chance = random.Random(7)  # noqa: S311 - a rack, not a secret
    items = StockItem.objects.bulk_create([_piece(number, made, chance) for number in range(1, PIECES + 1)])
    moves = [move for item in items for move in _moves(item, by, made, chance)]
    StockMove.objects.bulk_create(moves, batch_size=1000)


def _piece(number: int, made: list[Fabrication], chance: Any) -> StockItem:
    alloy, thickness = METALS[number % len(METALS)]
    is_sheet = number % 6 == 0
    length, width = (2500.0, 1250.0) if is_sheet else (chance.uniform(200, 1800), chance.uniform(150, 900))
    length, width = max(length, width), min(length, width)
    outline = [[0, 0], [length, 0], [length * 0.7, width], [length * 0.1, width * 0.8]] if number % 3 == 1 else None
    area = length * width * (0.7 if outline else 1)
    return StockItem(
        number=number, form="sheet" if is_sheet else "offcut", label="S1" if is_sheet else "offcut", alloy=alloy,
        thickness=thickness, length=length, width=width, outline=outline, area=area, mass=area * thickness * 2.7e-6,
        price="12.00", place=PLACES[number % len(PLACES)], from_job=None if is_sheet else made[number % len(made)],
    )  # fmt: skip


def _moves(item: StockItem, by: Person, made: list[Fabrication], chance: Any) -> list[StockMove]:
    """What came, then a reservation and an issue of two in three, a scrap of one in three."""
    came = {"kind": "bought"} if item.form == "sheet" else {"kind": "returned", "fabrication": item.from_job}
    given = {"item": item, "by": by}
    job = chance.choice(made)
    lines = [StockMove(**given, **came, on_hand=2, form_key=uuid.uuid4())]
    if item.number % 3:
        lines.append(StockMove(**given, kind="reserved", reserved=1, fabrication=job, form_key=uuid.uuid4()))
        lines.append(
            StockMove(**given, kind="issued", on_hand=-1, reserved=-1, fabrication=job, form_key=uuid.uuid4())
            if item.number % 3 == 1
            else StockMove(**given, kind="counted", on_hand=1, reason="Counted", form_key=uuid.uuid4())
        )
        return lines
    lines.append(StockMove(**given, kind="scrapped", on_hand=-1, reason="Bent", form_key=uuid.uuid4()))
    lines.append(StockMove(**given, kind="scrapped", on_hand=-1, reason="Bent", form_key=uuid.uuid4()))
    return lines


def pages(client: Client) -> dict[str, Callable[[], HttpResponseBase]]:
    def get(path: str, **asked: str) -> Callable[[], HttpResponseBase]:
        return lambda: client.get(path, asked)

    return {
        "rack": get("/rack/"),
        "rack, page 100": get("/rack/", page="100"),
        "words": get("/rack/", q="shelf 5052"),
        "a job's": get("/rack/", q="job 7"),
        "metal and size": get("/rack/", metal="5052-H32", thickness="1.5", length="900", width="400"),
        "free": get("/rack/", there="free"),
        "all that ever was": get("/rack/", there="ever"),
        "a piece": get("/rack/2500/"),
        "what to buy": get("/rack/buy/"),
        "labels, 24": lambda: client.get(
            "/rack/labels.pdf", {"sheet": "A4, 3 x 8", "first": "1", "piece": [str(number) for number in range(1, 25)]}
        ),
    }


def layouts_loaded() -> float:
    """What the newest plans of the jobs in hand bring along for the list of what to buy [kB]."""
    with connection.cursor() as rows:
        rows.execute("SELECT sum(length(json_extract(plan, '$.layout.sheets'))) FROM fabjobs_revision")
        return float(rows.fetchone()[0]) / 1000


if __name__ == "__main__":
    call_command("migrate", verbosity=0, interactive=False)
    build()
    print(f"{StockItem.objects.count():,} pieces, {StockMove.objects.count():,} lines, {JOBS} jobs in hand")
    print(f"{layouts_loaded():.0f} kB of layouts in {Revision.objects.count()} newest plans")
    client = Client()
    client.force_login(Person.objects.get())
    print(f"{'page':18} {'queries':>7}   median, worst, processor alone [ms] of {ROUNDS}")
    for name, ask in pages(client).items():
        middle, worst, busy, queries = timed(ask)
        print(f"{name:18} {queries:7} {middle:8.1f} {worst:8.1f} {busy:8.1f}")
