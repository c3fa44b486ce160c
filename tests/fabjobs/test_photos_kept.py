"""Photos are kept as whole as the rest: they are in every backup, and come back with it."""

import io
import sqlite3
import uuid
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image

from fabjobs.models import Job, Person, Photo, PhotoImage, Step
from fabjobs.safekeeping import backups
from fabjobs.safekeeping.restoring import restore_backup
from fabjobs.services import line_strike, photo_add
from tests.fabjobs.databases import rows_of
from tests.photographed import photo_file

NOON = datetime(2031, 5, 9, 12, 0, tzinfo=UTC)
KEPT = ("fabjobs_photo", "fabjobs_photoimage")


@pytest.mark.django_db(transaction=True)
def test_photos_come_back_with_a_backup_byte_for_byte(job: Job, owner: Person, tmp_path: Path) -> None:
    step = Step.objects.filter(fabrication__job=job)[0]
    for place, turned in enumerate((1, 6, 8)):
        at_work = step if place else None
        content = photo_file(size=(2000, 1500), orientation=turned)
        photo_add(job=job, step=at_work, sent=content, by=owner, form_key=uuid.uuid4(), caption=f"Photo {place}")
    line_strike(line=Photo.objects.all()[0], why="of another tray", by=owner)
    large = [bytes(content) for content in PhotoImage.objects.order_by("pk").values_list("large", flat=True)]
    here = backups.database_file()
    made = backups.make_backup(database=here, into=tmp_path / "backups", keep=2, now=NOON)
    before = rows_of(here)

    elsewhere = tmp_path / "shop" / "fabjobs.sqlite3"
    restore_backup(made.file, database=elsewhere, agree=lambda _: True, now=NOON)
    after = rows_of(elsewhere)
    assert [len(after[table]) for table in KEPT] == [3, 3]
    assert {table: after[table] for table in KEPT} == {table: before[table] for table in KEPT}
    with closing(sqlite3.connect(elsewhere)) as rows:
        back = [content for (content,) in rows.execute("SELECT large FROM fabjobs_photoimage ORDER BY photo_id")]
    assert back == large
    assert [Image.open(io.BytesIO(content)).size for content in back] == [(1600, 1200), (1200, 1600), (1200, 1600)]
