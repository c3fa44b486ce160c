"""How fast a shop of years answers: `python tests/bench/shop_speed.py [rounds]`.

Prints the median and the worst server time [ms] and the number of queries of each page in a shop of 2,000 jobs, 40,000 steps
and 60,000 time entries, and how long its backup and its restore take [s].
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from uuid import uuid4

import django
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.http import HttpResponseBase
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

sys.path.insert(0, str(Path(__file__).parents[2]))
FOLDER = tempfile.TemporaryDirectory(prefix="shop-of-years-")
os.environ |= {"FABJOBS_DATA": FOLDER.name, "FABJOBS_HOSTS": "testserver", "DJANGO_SETTINGS_MODULE": "fabjobs.settings"}
django.setup()

from fabjobs.models import Job, Person, Step  # noqa: E402
from fabjobs.safekeeping.backups import database_file, make_backup  # noqa: E402
from fabjobs.safekeeping.restoring import restore_backup  # noqa: E402
from tests.bench import shop_of_years  # noqa: E402

ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 15


def timed(ask: Callable[[], HttpResponseBase]) -> tuple[float, float, float, int]:
    """Median and worst server time, median time of the processor alone [ms], and the number of queries."""
    with CaptureQueriesContext(connection) as queries:
        answer = ask()
    count = len(queries)  # now: the next request empties the log
    assert answer.status_code == 200, answer
    times, busy = [], []
    for _ in range(ROUNDS):
        start, busy_start = time.perf_counter(), time.process_time()
        ask()
        times.append((time.perf_counter() - start) * 1000)
        busy.append((time.process_time() - busy_start) * 1000)
    return median(times), max(times), median(busy), count


def pages(client: Client) -> dict[str, Callable[[], HttpResponseBase]]:
    today = timezone.localdate()
    number = Job.objects.order_by("-number").values_list("number", flat=True)[1]
    year, all_time = f"{today.year - 1}-{today:%m}-01", f"{today.year - 6}-01-01"
    return {
        "in hand": lambda: client.get("/"),
        "who does what": lambda: client.get("/who/"),
        "jobs": lambda: client.get("/jobs/"),
        "jobs, page 20": lambda: client.get("/jobs/", {"page": 20}),
        "jobs, searched": lambda: client.get("/jobs/", {"q": "swarf 17"}),
        "one job": lambda: client.get(f"/jobs/{number}/"),
        "review": lambda: client.get("/review/"),
        "review, a year": lambda: client.get("/review/", {"from": year, "to": today.isoformat()}),
        "review, all": lambda: client.get("/review/", {"from": all_time, "to": today.isoformat()}),
    }


def tick(client: Client) -> Callable[[], HttpResponseBase]:
    """A form sent with each call: the steps of a job in hand, one after the other."""
    steps = iter(Step.objects.filter(done_at=None, retired=False).select_related("fabrication__job"))

    def send() -> HttpResponseBase:
        step = next(steps)
        form = {"version": step.version, "done": "1", "form_key": uuid4().hex, "revision": step.revision_id}
        job = step.fabrication.job.number
        return client.post(f"/jobs/{job}/steps/{step.pk}/tick", form, headers={"HX-Request": "true"})

    return send


def measure_backup() -> None:
    now, size = timezone.now(), database_file().stat().st_size
    start = time.perf_counter()
    made = make_backup(database=database_file(), into=settings.DATA / "backups", keep=2, now=now)
    took = time.perf_counter() - start
    print(
        f"backup   {took:6.2f} s   {size / 1e6:.0f} MB of database, {made.file.stat().st_size / 1e6:.1f} MB of backup"
    )
    start = time.perf_counter()
    restore_backup(made.file, database=database_file(), agree=lambda *_: True, now=now)
    print(f"restore  {time.perf_counter() - start:6.2f} s")


if __name__ == "__main__":
    start = time.perf_counter()
    call_command("migrate", verbosity=0, interactive=False)
    shop_of_years.build()
    print(f"a shop of {shop_of_years.counted(str(database_file()))}, made in {time.perf_counter() - start:.0f} s")
    client = Client()
    client.force_login(Person.objects.get(username="edda"))
    print(f"{'page':16} {'queries':>7}   median, worst, processor alone [ms] of {ROUNDS}")
    for name, ask in (pages(client) | {"tick": tick(client)}).items():
        middle, worst, busy, queries = timed(ask)
        print(f"{name:16} {queries:7} {middle:8.1f} {worst:8.1f} {busy:8.1f}")
    measure_backup()
