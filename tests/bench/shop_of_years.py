"""A shop after years of work, to measure in: so many jobs, steps and time entries, a handful of real plans used again."""

import random
import sqlite3
import uuid
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db import connection, transaction

import calc
from fabjobs.models import Fabrication, Person, ShopSettings
from fabjobs.services import job_create
from tests.shapes import NAMED, sheet_of

JOBS, STEPS_A_JOB, ENTRIES = 2_000, 20, 60_000
IN_HAND = 25  # the newest; the rest are finished
DAYS = 1_500
WORDS = ("Coolant tray", "Chip tray", "Drip pan", "Swarf tray", "Sump tray")


@transaction.atomic
def build() -> None:
    """Fill the empty, migrated database that is in use."""
    ShopSettings(pk=1, name="A shop of years").save()
    people = [Person.objects.create_superuser("edda", password=None), Person.objects.create_user("tomas")]
    patterns = []
    for name, shape in NAMED.items():
        job = job_create(plan=calc.plan(sheet_of(shape, title=name)), due_day=None, by=people[0])
        patterns.append(Fabrication.objects.get(job=job).pk)
    with connection.cursor() as rows:
        _fill(rows, patterns, [person.pk for person in people])


def _fill(rows: Any, patterns: list[int], people: list[int]) -> None:
    """The other jobs are rows of the first few, copied by the database itself."""
    chance = random.Random(7)  # noqa: S311 - a shop, not a secret
    first_day = datetime.now(UTC) - timedelta(days=DAYS)
    for pk in range(len(patterns) + 1, JOBS + 1):
        pattern, day = patterns[pk % len(patterns)], first_day + timedelta(days=DAYS * pk / JOBS)
        heading = {
            "title": f"{WORDS[pk % 5]} {pk}",
            "customer": f"Customer {pk % 60}",
            "machine": f"Machine {pk % 140}",
        }
        _copy(
            rows, "job", "id", pattern, id=pk, number=pk, created_at=day, due_day=day.date() + timedelta(20), **heading
        )
        _copy(rows, "fabrication", "id", pattern, id=pk, job_id=pk)
        _copy(rows, "revision", "fabrication_id", pattern, id=pk, fabrication_id=pk, created_at=day)
        _copy(rows, "part", "fabrication_id", pattern, id=None, fabrication_id=pk, revision_id=pk)
        _copy(rows, "step", "fabrication_id", pattern, id=None, fabrication_id=pk, revision_id=pk)
    _thin_steps(rows)
    _tick(rows, first_day, people)
    _log_time(rows, first_day, people, chance)
    _log_metal(rows, people)


def _copy(rows: Any, table: str, by: str, pattern: int, **new: object) -> None:
    rows.execute(f"PRAGMA table_info(fabjobs_{table})")
    names = [name for _, name, *_ in rows.fetchall()]
    taken = ", ".join("%s" if name in new else f'"{name}"' for name in names)
    into = ", ".join(f'"{name}"' for name in names)
    given = [new[name] for name in names if name in new]
    rows.execute(
        f"INSERT INTO fabjobs_{table} ({into}) SELECT {taken} FROM fabjobs_{table} WHERE {by} = %s",  # noqa: S608
        [*given, pattern],
    )


def _thin_steps(rows: Any) -> None:
    """So many steps a job, evenly out of all that the plan has."""
    rows.execute(
        "DELETE FROM fabjobs_step WHERE id IN (SELECT id FROM (SELECT id, row_number() OVER job - 1 AS place,"
        " count(*) OVER (PARTITION BY fabrication_id) AS of_all FROM fabjobs_step"
        " WINDOW job AS (PARTITION BY fabrication_id ORDER BY position))"
        " WHERE place * %s / of_all = (place - 1) * %s / of_all AND place > 0)",
        [STEPS_A_JOB, STEPS_A_JOB],
    )


def _tick(rows: Any, first_day: datetime, people: list[int]) -> None:
    """Every step of the finished jobs, half of those of the jobs in hand."""
    rows.execute(
        "UPDATE fabjobs_step SET version = 1, done_by_id = %s, done_at = datetime(%s, '+' ||"
        " CAST(fabrication_id * %s / %s + 10 AS TEXT) || ' days')"
        " WHERE fabrication_id <= %s OR id %% 2",
        [people[0], first_day.isoformat(" "), float(DAYS), float(JOBS), JOBS - IN_HAND],
    )
    rows.execute("SELECT id, done_at FROM fabjobs_step WHERE done_at IS NOT NULL")
    ticks = [(uuid.uuid4().hex, people[0], at, step, True) for step, at in rows.fetchall()]
    rows.executemany("INSERT INTO fabjobs_tick (form_key, by_id, at, step_id, done) VALUES (%s, %s, %s, %s, %s)", ticks)


def _log_time(rows: Any, first_day: datetime, people: list[int], chance: random.Random) -> None:
    """Three entries on every two ticked steps, near the time expected."""
    rows.execute("SELECT id, fabrication_id, minutes, rate FROM fabjobs_step WHERE done_at IS NOT NULL ORDER BY id")
    steps = rows.fetchall()
    entries = []
    for place in range(ENTRIES):
        step, fabrication, minutes, rate = steps[place * len(steps) // ENTRIES]
        day = first_day + timedelta(days=DAYS * fabrication / JOBS + chance.random() * 10)
        seconds = max(1, round(minutes * 40 * chance.uniform(0.6, 1.7)))
        person = people[place % len(people)]
        entries.append((uuid.uuid4().hex, person, day, step, person, day, seconds, False, rate))
    rows.executemany(
        "INSERT INTO fabjobs_timeentry (form_key, by_id, at, step_id, person_id, started_at, seconds, by_hand, rate)"
        " VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s)",
        entries,
    )


def _log_metal(rows: Any, people: list[int]) -> None:
    """A sheet and an offcut on each finished job, a spoiled blank on one in ten, a fitting on each."""
    now = datetime.now(UTC)

    def lines(table: str, every: int, **given: object) -> None:
        names = ["form_key", "by_id", "at", "fabrication_id", "count", "struck_why", *given]
        wanted = range(1, JOBS - IN_HAND + 1, every)
        rows.executemany(
            f"INSERT INTO fabjobs_{table} ({', '.join(names)}) VALUES ({', '.join(['%s'] * len(names))})",  # noqa: S608
            [(uuid.uuid4().hex, people[0], now, fabrication, 1, "", *given.values()) for fabrication in wanted],
        )

    size = {"label": "S1", "alloy": "5052-H32", "thickness": 1.5, "width": 1220.0, "place": ""}
    sheet = {"form": "sheet", "length": 2440.0, "area": 2976800.0, "mass": 11.97, "price": "118.00", **size}
    offcut = {"form": "offcut", "length": 1200.0, "area": 1464000.0, "mass": 5.89, "price": "58.06", **size}
    pieces = [(sheet, ("bought", 1), ("issued", -1)), (offcut, ("returned", 1))]
    number = 0
    for fabrication in range(1, JOBS - IN_HAND + 1):
        for piece, *moves in pieces:
            number += 1
            rows.execute(
                f"INSERT INTO fabjobs_stockitem (number, {', '.join(piece)}) VALUES (%s{', %s' * len(piece)})",  # noqa: S608
                [number, *piece.values()],
            )
            rows.executemany(
                "INSERT INTO fabjobs_stockmove (form_key, by_id, at, item_id, fabrication_id, kind, on_hand, reserved,"
                " by_itself, reason, of_stock) VALUES (%s, %s, %s, %s, %s, %s, %s, 0, 0, '', 'S1')",
                [(uuid.uuid4().hex, people[0], now, number, fabrication, kind, count) for kind, count in moves],
            )
    lines("spoiled", 10, blank="A", copy="", why="slipped", area=90000.0, mass=0.36)
    lines("boughtin", 1, what="Spigot", price="14.50")


def counted(database: str) -> str:
    """How much is in it."""
    with closing(sqlite3.connect(database)) as rows:
        tables = ("job", "step", "tick", "timeentry", "part")
        found = {table: rows.execute(f"SELECT count(*) FROM fabjobs_{table}").fetchone()[0] for table in tables}  # noqa: S608
    return ", ".join(f"{count:,} {table} rows" for table, count in found.items())
