"""What the app's tests share: a database file of their own, a claimed shop, a tray to make."""

import copy
import gc
import os
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection, connections
from django.test import Client
from django.utils import timezone
from hypothesis import Phase
from hypothesis import settings as hypothesis_settings
from pytest_django import DjangoDbBlocker

import calc
from fabjobs.models import Job, Person, ShopSettings
from fabjobs.services import job_create

PASSWORD = "brass shim stock 7"  # noqa: S105

# A tray of our own invention: out of square, the drain off every middle line.
SHEET: dict[str, Any] = {
    "title": "Coolant tray",
    "customer": "Hill Street Turning",
    "machine": "Bench lathe 3",
    "quantity": 1,
    "material": {"alloy": "5052-H32", "thickness": 1.5},
    "shape": {
        "family": "fall-tray",
        "rim": [[0, 0], [812, 9], [797, 391], [-14, 402]],
        "low_point": [547, 163],
        "depth": 48,
        "outlet": {"bore": 32},
    },
    "making": {"effort": "quick"},
    "stock": [{"length": 2500, "width": 1250, "price": "96.00"}],
}

# The same tray as a person types it into the form of a shop that reads millimetres.
FORM: dict[str, str] = {
    "title": "Coolant tray",
    "customer": "Hill Street Turning",
    "machine": "Bench lathe 3",
    "due_day": "2031-05-09",
    "quantity": "1",
    "alloy": "5052-H32",
    "thickness": "1.5",
    "rim_by": "corners",
    "corners": "4",
    "corner_0_x": "0",
    "corner_0_y": "0",
    "corner_1_x": "812",
    "corner_1_y": "9",
    "corner_2_x": "797",
    "corner_2_y": "391",
    "corner_3_x": "-14",
    "corner_3_y": "402",
    "low_x": "547",
    "low_y": "163",
    "depth": "48",
    "bore": "32",
    "sheet_length": "2500",
    "sheet_width": "1250",
    "price": "96.00",
    "kerf": "2.2",
    "edge_trim": "6",
    "seam_gap": "0.5",
    "labour": "40.00",
    "effort": "quick",
}

# Speed is measured in tests/bench, so no example has a deadline. CI draws the same examples every time and tells the
# first that fails as it stands: to look for a smaller one may take longer than all other tests together.
CI = bool(os.environ.get("CI"))
PHASES = [Phase.explicit, Phase.generate] if CI else list(Phase)
hypothesis_settings.register_profile("fabjobs", deadline=None, derandomize=CI, phases=PHASES)
hypothesis_settings.load_profile("fabjobs")

# What is imported stays, and what tests hold on to is mostly no garbage: looking through it all less often saves a seventh.
gc.set_threshold(20_000, 20, 20)


def pytest_collection_finish() -> None:
    gc.freeze()


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A file, as in the shop: a database in memory locks in another way."""
    name = tmp_path_factory.mktemp("database") / "test.sqlite3"
    connections["default"].settings_dict["TEST"]["NAME"] = str(name)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> None:
    """No row's key is one that a test could know: how many came before hangs on what other tests ran first."""
    with django_db_blocker.unblock(), connection.cursor() as rows:
        for past, table in enumerate(sorted(connection.introspection.table_names()), 1):
            rows.execute("DELETE FROM sqlite_sequence WHERE name = %s", [table])
            rows.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", [table, 100 * past])


@pytest.fixture(autouse=True)
def own_data_folder(settings: Any, tmp_path: Path) -> None:
    settings.DATA = tmp_path / "data"
    settings.BACKUPS = None
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def shop(db: None) -> ShopSettings:
    settings = ShopSettings(pk=1, name="Hill Street Fabrication")
    settings.save()
    return settings


@pytest.fixture
def early_in_its_day(shop: ShopSettings) -> None:
    """Of timers that a test sets back some hours none is past the end of its day, whenever the test runs."""
    shop.day_end = (timezone.localtime() + timedelta(hours=6)).time()
    shop.save()


@pytest.fixture
def owner(shop: ShopSettings) -> Person:
    return Person.objects.create_superuser("edda", password=PASSWORD)


@pytest.fixture
def signed_in(owner: Person) -> Client:
    client = Client()
    client.force_login(owner)
    return client


@pytest.fixture
def sheet() -> dict[str, Any]:
    return copy.deepcopy(SHEET)


@pytest.fixture
def form() -> dict[str, str]:
    return dict(FORM)


@pytest.fixture(scope="session")
def plan() -> calc.Plan:
    return calc.plan(SHEET)


@pytest.fixture
def job(plan: calc.Plan, owner: Person) -> Job:
    return job_create(plan=plan, due_day=date(2031, 5, 9), by=owner)


@pytest.fixture
def htmx() -> Callable[..., dict[str, str]]:
    """The headers of a request that htmx makes."""

    def headers(page: str = "http://testserver/jobs/new") -> dict[str, str]:
        return {"HX-Request": "true", "HX-Current-URL": page}

    return headers
