"""A shop of an earlier release: migrated it keeps what it holds, and a stored revision stays one that can't be changed."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection
from pytest_django import DjangoDbBlocker

from calc.making import Saw
from fabjobs.models import ShopSettings
from tests.fabjobs.databases import working_with

REVISION = """INSERT INTO fabjobs_revision (id, fabrication_id, number, sheet, plan, check_code, thumbnail, minutes, net_mass,
 sheet_mass, offcut_mass, areal_mass, metal_cost, labour_cost, supplies_cost, total_cost, currency, reason, created_by_id,
 created_at) VALUES (1, 1, 1, '{}', '{}', 'ABC123', '', 0, 0, 0, 0, 0, 0, 0, 0, 0, 'CHF', '', 1, '2031-01-01')"""
EARLIER = (
    """INSERT INTO fabjobs_person (id, username, password, first_name, last_name, email, is_superuser, is_staff, is_active,
 date_joined) VALUES (1, 'edda', '!', '', '', '', 1, 0, 1, '2031-01-01')""",
    """INSERT INTO fabjobs_shopsettings (id, name, unit, rule, currency, kerf, edge_trim, seam_gap, paper_address)
 VALUES (1, 'Hill Street Fabrication', 'in', '1/32', 'CHF', 2.4, 8.0, 0.3, 'http://10.0.0.7:8000')""",
    """INSERT INTO fabjobs_job (id, number, title, customer, machine, created_by_id, created_at, version)
 VALUES (1, 1, 'Tray', '', '', 1, '2031-01-01', 1)""",
    "INSERT INTO fabjobs_fabrication (id, job_id, name, position) VALUES (1, 1, 'Tray', 1)",
    REVISION,
)


SAWS = ({"guide_offset": -1}, {"blade_teeth": None}, {"blade_diameter": 20}, {"blade_speed": 50})


@pytest.fixture(scope="module")
def migrated_once(tmp_path_factory: pytest.TempPathFactory, django_db_blocker: DjangoDbBlocker) -> Path:
    """A shop's database as the first release made it, migrated to this one; to be copied."""
    file = tmp_path_factory.mktemp("earlier") / "shop.sqlite3"
    with django_db_blocker.unblock(), working_with(file):
        call_command("migrate", "fabjobs", "0001", verbosity=0, interactive=False)
        connection.close()
        with closing(sqlite3.connect(file)) as rows:
            for line in EARLIER:
                rows.execute(line)
            rows.commit()
        call_command("migrate", verbosity=0, interactive=False)
    return file


@pytest.fixture
def earlier(migrated_once: Path, tmp_path: Path, django_db_blocker: DjangoDbBlocker) -> Iterator[Path]:
    """This process works with a copy of it."""
    file = Path(shutil.copy(migrated_once, tmp_path / "shop.sqlite3"))
    with django_db_blocker.unblock(), working_with(file):
        yield file


def test_the_settings_stay_and_folding_has_its_defaults(earlier: Path) -> None:
    shop = ShopSettings.objects.get()
    assert (shop.name, shop.unit, shop.rule, shop.currency) == ("Hill Street Fabrication", "in", "1/32", "CHF")
    assert (shop.kerf, shop.edge_trim, shop.seam_gap) == (2.4, 8.0, 0.3)
    assert (shop.bend_method, shop.k_factor, shop.longest_fold, shop.largest_blank) == ("din-6935", None, 1250, 2500)
    assert (shop.guide_offset, shop.least_clamp, shop.saw) == (100, 60, Saw(165, 48, 4500, None))


def test_a_revision_is_still_never_changed(earlier: Path) -> None:
    with closing(sqlite3.connect(earlier)) as rows:
        assert rows.execute("SELECT check_code FROM fabjobs_revision").fetchall() == [("ABC123",)]
        with pytest.raises(sqlite3.IntegrityError, match="a revision is never changed"):
            rows.execute("UPDATE fabjobs_revision SET reason = 'other'")


def test_the_rules_of_the_settings_hold_in_the_database(earlier: Path) -> None:
    for change in ({"kerf": 11}, {"longest_fold": 0.5}, {"bend_method": "k-factor"}, {"k_factor": 0.7}, *SAWS):
        with pytest.raises(IntegrityError):
            ShopSettings.objects.update(**change)
