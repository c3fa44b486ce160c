"""How fast pages answer that go by trays as measured: `python tests/bench/as_built_speed.py [rounds]`.

Prints the median and the worst server time [ms] and the number of queries, in a shop of 60 jobs with 240 trays measured and
one of 500 trays. "nothing kept" is with an empty cache: what the first to ask after a new measurement waits for.
"""

import math
import os
import sys
import tempfile
import uuid
from collections.abc import Callable
from pathlib import Path

import django
from django.core.cache import cache
from django.core.management import call_command
from django.http import HttpResponseBase
from django.test import Client

sys.path.insert(0, str(Path(__file__).parents[2]))
FOLDER = tempfile.TemporaryDirectory(prefix="trays-as-built-")
os.environ |= {"FABJOBS_DATA": FOLDER.name, "FABJOBS_HOSTS": "testserver", "DJANGO_SETTINGS_MODULE": "fabjobs.settings"}
django.setup()

import calc  # noqa: E402
from calc.fitup import wanted  # noqa: E402
from fabjobs.models import AsBuilt, Fabrication, Person, ShopSettings  # noqa: E402
from fabjobs.services import as_built_add, job_create  # noqa: E402
from fabjobs.shrinkage import own_of  # noqa: E402
from tests.bench.shop_speed import ROUNDS, timed  # noqa: E402
from tests.conftest import FORM  # noqa: E402
from tests.shapes import NAMED, sheet_of  # noqa: E402

JOBS, TRAYS, MANY = 60, 4, 500
SHRUNK = 0.9985


def build() -> None:
    ShopSettings(pk=1, name="Measured").save()
    by = Person.objects.create_superuser("edda", password=None)
    plans = [calc.plan(sheet_of(shape, title=name, quantity=TRAYS)) for name, shape in NAMED.items()]
    many = calc.plan(sheet_of(NAMED["skew"], title="Many", quantity=MANY))
    _measure(job_create(plan=many, due_day=None, by=by).fabrications.get(), many, MANY, by)
    for place in range(JOBS):
        plan = plans[place % len(plans)]
        _measure(job_create(plan=plan, due_day=None, by=by).fabrications.get(), plan, TRAYS, by)


def _measure(made: Fabrication, plan: calc.Plan, trays: int, by: Person) -> None:
    """Every tray a little smaller, none like the other."""
    for copy in range(1, trays + 1):
        times = SHRUNK + 0.0005 * math.sin(copy)
        sizes = {one.key: round(one.nominal * (times if one.between else 1.0), 1) for one in wanted(plan)}
        as_built_add(fabrication=made, copy=copy, measured=sizes, revision=1, by=by, form_key=uuid.uuid4())


def pages(client: Client) -> dict[str, Callable[[], HttpResponseBase]]:
    def nothing_kept(ask: Callable[[], HttpResponseBase]) -> Callable[[], HttpResponseBase]:
        def asked() -> HttpResponseBase:
            cache.clear()
            return ask()

        return asked

    job = lambda: client.get("/jobs/7/")  # noqa: E731
    preview = lambda: client.post("/jobs/new/preview", FORM)  # noqa: E731
    return {
        "a job": job,
        "a job, nothing kept": nothing_kept(job),
        f"a tray of {MANY}": lambda: client.get("/jobs/1/as-built/250/"),
        "a tray": lambda: client.get("/jobs/7/as-built/2/"),
        "preview of a new job": preview,
        "preview, nothing kept": nothing_kept(preview),
    }


if __name__ == "__main__":
    call_command("migrate", verbosity=0, interactive=False)
    build()
    own = own_of("5052-H32", "TIG")
    print(f"{AsBuilt.objects.count()} trays measured; learnt from {own.trays}: {own.times}")
    client = Client()
    client.force_login(Person.objects.get())
    print(f"{'page':24} {'queries':>7}   median, worst, processor alone [ms] of {ROUNDS}")
    for name, ask in pages(client).items():
        middle, worst, busy, queries = timed(ask)
        print(f"{name:24} {queries:7} {middle:8.1f} {worst:8.1f} {busy:8.1f}")
