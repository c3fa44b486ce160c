"""A shop from before there was a rack: its sheets used and offcuts returned become pieces with a ledger, with the same sums."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.models import F, Sum
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from fabjobs.models import Fabrication, StockItem, StockMove
from fabjobs.services.ledger import balances, issued_to, returned_by
from tests.fabjobs.databases import working_with
from tests.fabjobs.test_migrations import EARLIER

AT, STRUCK_AT = "2031-02-03 08:15:00", "2031-02-04 09:30:00"
KEY = "{:032x}"
# count, length, width, price of one, mass of one, why struck out; all of 5052, 1.5 mm
SHEETS: list[tuple[int, float, float, str, float, str]] = [
    (2, 2500.0, 1250.0, "96.00", 12.56, ""),
    (1, 2500.0, 1250.0, "96.00", 12.56, "Another job's"),
    (3, 2000.0, 1000.0, "70.50", 8.04, ""),
]
OFFCUTS: list[tuple[int, float, float, float, float, str]] = [
    (1, 900.0, 400.0, 360000.0, 1.45, ""),
    (4, 500.0, 300.0, 120000.0, 0.48, ""),  # a trapezium: its own area
    (1, 700.0, 700.0, 490000.0, 1.97, "Went into the skip"),
]


def before_the_rack() -> tuple[str, str]:
    """The migration before the one that made the rack, wherever in the row that stands."""
    graph = MigrationLoader(None).graph
    (rack,) = [node for node in graph.nodes if node[0] == "fabjobs" and node[1].endswith("_rack")]
    (before,) = [parent.key for parent in graph.node_map[rack].parents if parent.key[0] == "fabjobs"]
    return before


def rows_of_before() -> Iterator[tuple[str, dict[str, Any]]]:
    metal = {"alloy": "5052-H32", "thickness": 1.5, "fabrication_id": 1, "by_id": 1, "at": AT}
    for place, (count, length, width, price, mass, why) in enumerate(SHEETS):
        size = {"label": f"S{place + 1}", "length": length, "width": width, "price": price, "mass": mass}
        yield "sheetused", {**metal, **size, **struck(why), "count": count, "form_key": KEY.format(place + 1)}
    for place, (count, length, width, area, mass, why) in enumerate(OFFCUTS):
        size = {"length": length, "width": width, "area": area, "mass": mass}
        yield "offcutreturned", {**metal, **size, **struck(why), "count": count, "form_key": KEY.format(place + 100)}


def struck(why: str) -> dict[str, Any]:
    if not why:
        return {"struck_at": None, "struck_by_id": None, "struck_why": ""}
    return {"struck_at": STRUCK_AT, "struck_by_id": 2, "struck_why": why}


@pytest.fixture(scope="module")
def migrated_once(tmp_path_factory: pytest.TempPathFactory, django_db_blocker: DjangoDbBlocker) -> Path:
    """A shop's database as it was before the rack, migrated to this one; to be copied."""
    file = tmp_path_factory.mktemp("before the rack") / "shop.sqlite3"
    with django_db_blocker.unblock(), working_with(file):
        call_command("migrate", *before_the_rack(), verbosity=0, interactive=False)
        connection.close()
        with closing(sqlite3.connect(file)) as rows:
            fill(rows)
        call_command("migrate", verbosity=0, interactive=False)
    return file


@pytest.fixture
def earlier(migrated_once: Path, tmp_path: Path, django_db_blocker: DjangoDbBlocker) -> Iterator[Path]:
    """This process works with a copy of it."""
    file = Path(shutil.copy(migrated_once, tmp_path / "shop.sqlite3"))
    with django_db_blocker.unblock(), working_with(file):
        yield file


def fill(rows: sqlite3.Connection) -> None:
    for line in EARLIER:
        if "shopsettings" not in line:
            rows.execute(line)
    rows.execute(EARLIER[0].replace("(1, 'edda'", "(2, 'noor'"))
    for table, row in rows_of_before():
        into, marks = ", ".join(row), ", ".join(["?"] * len(row))
        rows.execute(f"INSERT INTO fabjobs_{table} ({into}) VALUES ({marks})", list(row.values()))  # noqa: S608
    rows.commit()


def test_what_stood_has_the_same_sums(earlier: Path) -> None:
    made = Fabrication.objects.get()
    used = [(-line.on_hand, line.item.length, line.item.width, str(line.item.price)) for line in issued_to(made)]
    assert used == [(count, length, width, price) for count, length, width, price, _, why in SHEETS if not why]
    back = [(line.on_hand, line.item.area, line.item.mass) for line in returned_by(made)]
    assert back == [(count, area, mass) for count, _, _, area, mass, why in OFFCUTS if not why]
    paid = issued_to(made).aggregate(sum=Sum(F("item__price") * -F("on_hand")))["sum"]
    assert paid == Decimal("403.50")  # 2 x 96.00 + 3 x 70.50


def test_the_sheets_are_used_up_and_the_offcuts_are_there(earlier: Path) -> None:
    on_hand = {item.number: balances(item) for item in StockItem.objects.all()}
    assert on_hand == {1: (0, 0), 2: (0, 0), 3: (0, 0), 4: (1, 0), 5: (4, 0), 6: (0, 0)}
    assert [item.form for item in StockItem.objects.all()] == ["sheet"] * 3 + ["offcut"] * 3
    assert {item.from_job_id for item in StockItem.objects.filter(form="offcut")} == {1}


def test_an_offcuts_price_is_its_share_by_mass(earlier: Path) -> None:
    # 403.50 for 2 x 12.56 + 3 x 8.04 = 49.24 kg that stood: 1.45 kg of it are 11.88, 0.48 kg are 3.93
    assert [str(item.price) for item in StockItem.objects.filter(number__in=(4, 5))] == ["11.88", "3.93"]


def test_a_line_keeps_its_key_its_writer_and_its_time(earlier: Path) -> None:
    for line in StockMove.objects.filter(kind__in=("issued", "returned"), corrects=None):
        assert (line.by.username, f"{timezone.localtime(line.at, timezone.get_default_timezone()):%Y}") == (
            "edda",
            "2031",
        )
    keys = StockMove.objects.filter(kind__in=("issued", "returned"), corrects=None).values_list("form_key", flat=True)
    assert sorted(key.hex for key in keys) == sorted(row["form_key"] for _, row in rows_of_before())


def test_what_was_struck_out_is_corrected_by_who_struck_it_out(earlier: Path) -> None:
    told = [
        (line.kind, line.struck_by.username, line.struck_why, f"{line.struck_at:%Y-%m-%d %H:%M:%S}")
        for line in StockMove.objects.filter(corrected_by__isnull=False).order_by("pk")
        if line.struck_by and line.struck_at
    ]
    assert told == [
        ("bought", "noor", "Another job's", STRUCK_AT),
        ("issued", "noor", "Another job's", STRUCK_AT),
        ("returned", "noor", "Went into the skip", STRUCK_AT),
    ]


def test_the_ledger_is_guarded_from_then_on(earlier: Path) -> None:
    with pytest.raises(IntegrityError, match="a line of the ledger is never changed"):
        StockMove.objects.update(on_hand=1)
    line = StockMove.objects.filter(kind="issued").first()
    assert line is not None
    with pytest.raises(IntegrityError, match="fewer pieces than none"):
        StockMove.objects.create(item=line.item, kind="scrapped", on_hand=-1, reason="x", by=line.by)


def test_the_tables_of_before_are_gone(earlier: Path) -> None:
    assert not {"fabjobs_sheetused", "fabjobs_offcutreturned"} & set(connection.introspection.table_names())
