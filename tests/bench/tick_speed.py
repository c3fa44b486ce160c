"""How long the server takes over a tick: `python tests/bench/tick_speed.py [ticks]`. Prints the median and the worst [ms].

Through Django's test client, so middleware, session, the write with its full sync to disk and the row rendered are all in
it; the network and the browser are not. The database is a file in a folder of its own, as a shop has it. At the work a tick
is the tap and the page of the next step that it leads to, with its drawing.
"""

import os
import sys
import tempfile
import time
import uuid
from pathlib import Path
from statistics import median, quantiles

sys.path.insert(0, str(Path(__file__).parents[2]))
TICKS = int(sys.argv[1]) if len(sys.argv) > 1 else 200


def ticks(htmx: bool) -> list[float]:
    """The time of each of so many ticks and ticks taken back, over all steps of a job in turn [ms]."""
    from django.test import Client

    from fabjobs.models import Person, Step

    client, taken = Client(headers={"HX-Request": "true"} if htmx else {}), []
    client.force_login(Person.objects.get())
    steps = list(Step.objects.all())
    for turn in range(TICKS):
        step = steps[turn % len(steps)]
        step.refresh_from_db()
        sent = {"version": step.version, "revision": step.revision_id, "form_key": uuid.uuid4()}
        start = time.perf_counter()
        answer = client.post(f"/jobs/1/steps/{step.pk}/tick", {**sent, "done": "0" if step.done_at else "1"})
        taken.append((time.perf_counter() - start) * 1000)
        assert answer.status_code == (200 if htmx else 302), answer.status_code
    return taken


def ticks_at_work() -> list[float]:
    """The time of each of so many ticks at the work, with the page of the next step, over all steps of a job in turn [ms]."""
    from django.test import Client

    from fabjobs.models import Person, Step

    client, taken = Client(), []
    client.force_login(Person.objects.get())
    Step.objects.update(done_at=None, done_by=None)
    steps = list(Step.objects.all())
    for turn in range(TICKS):
        step = steps[turn % len(steps)]
        step.refresh_from_db()
        sent = {"version": step.version, "revision": step.revision_id, "form_key": uuid.uuid4(), "back": "work"}
        start = time.perf_counter()
        answer = client.post(
            f"/jobs/1/steps/{step.pk}/tick", {**sent, "done": "0" if step.done_at else "1"}, follow=True
        )
        taken.append((time.perf_counter() - start) * 1000)
        assert answer.status_code == 200, answer.status_code
        assert answer.redirect_chain
    return taken


def main() -> None:
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "fabjobs.settings"
    django.setup()
    from django.conf import settings
    from django.core.management import call_command

    import calc
    from fabjobs.models import Person, ShopSettings
    from fabjobs.services import job_create
    from tests.conftest import SHEET

    settings.ALLOWED_HOSTS = ["testserver"]
    call_command("migrate", verbosity=0)
    ShopSettings(pk=1, name="Hill Street Fabrication").save()
    job_create(plan=calc.plan(SHEET), due_day=None, by=Person.objects.create_superuser("edda", password=None))
    print(f"{'tick':28} median, 95th, worst [ms] of {TICKS}")
    ways = {
        "the row swapped (htmx)": lambda: ticks(True),
        "a redirect (no script)": lambda: ticks(False),
        "at the work, next step": ticks_at_work,
    }
    for name, way in ways.items():
        taken = way()
        print(f"{name:28} {median(taken):6.1f} {quantiles(taken, n=20)[-1]:6.1f} {max(taken):6.1f}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FABJOBS_DATA"] = folder
        main()
