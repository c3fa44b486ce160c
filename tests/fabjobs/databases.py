"""Database files that tests may spoil, and what stands in one."""

import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command, load_command_class
from django.db import connection

HOUSE = Path(__file__).parents[2]


def rows_of(database: Path) -> dict[str, list[Any]]:
    """Every row of every table."""
    with closing(sqlite3.connect(database)) as rows:
        tables = [name for (name,) in rows.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {name: sorted(rows.execute(f'SELECT * FROM "{name}"'), key=repr) for name in tables}  # noqa: S608


def migrate(database: Path) -> None:
    """Make this file a database with every migration, and one file again."""
    with working_with(database):
        call_command("migrate", verbosity=0, interactive=False)
    with closing(sqlite3.connect(database)) as rows:
        rows.execute("PRAGMA journal_mode = DELETE")


@contextmanager
def working_with(database: Path) -> Iterator[None]:
    """This process's database is this file for a while."""
    usual = connection.settings_dict["NAME"]
    connection.close()
    connection.settings_dict["NAME"] = str(database)
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = usual


def manage(*arguments: str, data: Path, answer: str = "", **how: Any) -> "subprocess.CompletedProcess[str]":
    """Run a command over a data folder, as a person does, with warnings as errors."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("FABJOBS_")}
    variables = {**kept, "FABJOBS_DATA": str(data), **how.pop("variables", {})}
    return subprocess.run(
        [sys.executable, "-W", "error", "manage.py", *arguments],
        cwd=HOUSE, env=variables, input=answer, capture_output=True, text=True, check=False, **how,
    )  # fmt: skip


def refused(command: str, *arguments: str) -> str:
    """What a command says of arguments that its parser refuses: the very words that a process would end with, status 2."""
    parser = load_command_class("fabjobs", command).create_parser("manage.py", command)
    with pytest.raises(CommandError) as refusal:
        parser.parse_args(list(arguments))
    return str(refusal.value)


def soon(holds: Callable[[], bool], within: float = 60.0) -> bool:
    """Whether it comes to hold: of another process, that has to be given time."""
    until = time.monotonic() + within
    while not holds():
        if time.monotonic() > until:
            return False
        time.sleep(0.1)
    return True
