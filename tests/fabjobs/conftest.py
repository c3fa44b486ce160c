"""What tests of the app share beside `tests/conftest.py`: a database file to be copied."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from pytest_django import DjangoDbBlocker

from tests.fabjobs.databases import migrate
from tests.fabjobs.once import computed_once

__all__ = ["computed_once"]  # a fixture


@pytest.fixture(scope="session")
def migrated(django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database file with every migration and one person, to be copied."""
    file = tmp_path_factory.mktemp("migrated") / "fabjobs.sqlite3"
    with django_db_blocker.unblock():
        migrate(file)
    with closing(sqlite3.connect(file)) as rows:
        rows.execute(
            "INSERT INTO fabjobs_person (id, username, password, first_name, last_name, email, is_superuser, is_staff,"
            " is_active, date_joined) VALUES (1, 'edda', '!', '', '', '', 1, 0, 1, '2031-01-01')"
        )
        rows.commit()
    return file


@pytest.fixture
def database(migrated: Path, tmp_path: Path) -> Path:
    """A migrated database file of this test's own."""
    return Path(shutil.copy(migrated, tmp_path / "shop.sqlite3"))
