"""What photos cost: `python tests/bench/photo_speed.py [photos]`.

Prints how long a photo of 12 million pixels takes to be made anew and what of it is kept; then, with so many photos (3,000) of
that size in the shop, how large its database is, how fast their pages answer (median of 9, and of the processor alone [ms], and
queries), and how long a backup and a restore take [s]. The photo is drawn: a slope of colours, grain and four hundred edges.
"""

import io
import os
import sys
import tempfile
import time
import uuid
from pathlib import Path
from statistics import median
from typing import Any

import django
import numpy as np
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from PIL import Image, ImageDraw

sys.path.insert(0, str(Path(__file__).parents[2]))
FOLDER = tempfile.TemporaryDirectory(prefix="photos-")
os.environ |= {"FABJOBS_DATA": FOLDER.name, "FABJOBS_HOSTS": "testserver", "DJANGO_SETTINGS_MODULE": "fabjobs.settings"}
django.setup()

import calc  # noqa: E402
from fabjobs.models import Job, Person, Photo, PhotoImage, ShopSettings, Step  # noqa: E402
from fabjobs.pictures import Pictures, pictures_of  # noqa: E402
from fabjobs.safekeeping.backups import database_file, make_backup  # noqa: E402
from fabjobs.safekeeping.restoring import restore_backup  # noqa: E402
from fabjobs.services import job_create  # noqa: E402
from tests.shapes import NAMED, sheet_of  # noqa: E402

PHOTOS = int(sys.argv[1]) if len(sys.argv) > 1 else 3_000
ROUNDS = 9


def drawn() -> bytes:
    """A JPEG of 4000 x 3000 with about as much in it as a workshop."""
    chance = np.random.default_rng(7)
    across, down = np.meshgrid(np.linspace(40, 210, 4000), np.linspace(20, 160, 3000))
    light = np.stack([across, (across + down) / 2, down], axis=-1) + chance.normal(0, 6, (3000, 4000, 1))
    image = Image.fromarray(light.clip(0, 255).astype(np.uint8))
    pen = ImageDraw.Draw(image)
    for _ in range(400):
        ends = [tuple(chance.integers(0, size, 2)) for size in ((4000, 3000), (4000, 3000))]
        pen.line(ends, fill=tuple(chance.integers(0, 255, 3)), width=int(chance.integers(1, 14)))
    file = io.BytesIO()
    image.save(file, "JPEG", quality=90)
    return file.getvalue()


def fill(job: Job, owner: Person, made: Pictures) -> None:
    """So many photos of that size, in bytes that no packing makes smaller, half of them on steps."""
    step = Step.objects.filter(fabrication__job=job)[0]
    size = {"width": made.width, "height": made.height, "size": len(made.large) + len(made.small)}
    for place in range(PHOTOS):
        at_work = step if place % 2 else None
        photo = Photo.objects.create(
            job=job, step=at_work, by=owner, digest=uuid.uuid4().hex, caption=f"Photo {place}", **size
        )
        PhotoImage.objects.create(photo=photo, small=os.urandom(len(made.small)), large=os.urandom(len(made.large)))


def timed(client: Client, path: str) -> tuple[float, float, int]:
    with CaptureQueriesContext(connection) as queries:
        assert client.get(path).status_code == 200
    count = len(queries)
    times, busy = [], []
    for _ in range(ROUNDS):
        start, busy_start = time.perf_counter(), time.process_time()
        client.get(path)
        times.append((time.perf_counter() - start) * 1000)
        busy.append((time.process_time() - busy_start) * 1000)
    return median(times), median(busy), count


def measure_making() -> Pictures:
    content = drawn()
    times: list[Any] = []
    for _ in range(ROUNDS):
        start = time.process_time()
        made = pictures_of(content)
        times.append(time.process_time() - start)
    kept = f"{len(made.large) / 1e3:.0f} kB and {len(made.small) / 1e3:.0f} kB"
    print(f"sent {len(content) / 1e6:.1f} MB, kept {kept}, made anew in {median(times):.2f} s of the processor")
    return made


def measure_safekeeping() -> None:
    now, start = timezone.now(), time.perf_counter()
    made = make_backup(database=database_file(), into=settings.DATA / "backups", keep=2, now=now)
    print(f"backup   {time.perf_counter() - start:6.1f} s, {made.file.stat().st_size / 1e6:.0f} MB")
    start = time.perf_counter()
    restore_backup(made.file, database=database_file(), agree=lambda _: True, now=now)
    print(f"restore  {time.perf_counter() - start:6.1f} s")


if __name__ == "__main__":
    made = measure_making()
    call_command("migrate", verbosity=0, interactive=False)
    ShopSettings(pk=1, name="A shop of photos").save()
    owner = Person.objects.create_superuser("edda", password=None)
    name, shape = next(iter(NAMED.items()))
    job = job_create(plan=calc.plan(sheet_of(shape, title=name)), due_day=None, by=owner)
    fill(job, owner, made)
    print(f"{PHOTOS:,} photos, {database_file().stat().st_size / 1e6:.0f} MB of database")
    client = Client()
    client.force_login(owner)
    first, step = Photo.objects.order_by("pk")[0], Step.objects.filter(fabrication__job=job)[0]
    of_job = f"/jobs/{job.number}/"
    for path in (
        "photos/",
        "photos/?page=20",
        f"photos/{first.pk}/",
        f"photos/{first.pk}/small.jpg",
        f"steps/{step.pk}/",
    ):
        middle, busy, queries = timed(client, of_job + path)
        print(f"{path:20} {queries:3} queries {middle:8.1f} {busy:8.1f}")
    measure_safekeeping()
