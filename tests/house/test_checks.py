"""What every change must pass besides its tests: format, lint, types, migrations, deployment settings."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[2]
CHECKS = {
    "format": ["-m", "ruff", "format", "--check", "."],
    "lint": ["-m", "ruff", "check", "."],
    "types": ["-m", "mypy", "--strict"],
    "migrations": ["manage.py", "makemigrations", "--check", "--dry-run"],
    "deployment": ["manage.py", "check", "--deploy", "--fail-level", "WARNING"],
}


@pytest.mark.parametrize("name", CHECKS)
def test_check(name: str, tmp_path: Path) -> None:
    inherited = {
        name: value for name, value in os.environ.items() if name != "DJANGO_ALLOW_ASYNC_UNSAFE"
    }  # the browser tests' own
    environment = {**inherited, "FABJOBS_DATA": str(tmp_path), "FABJOBS_TLS": "1", "FABJOBS_HOSTS": "shop.example"}
    done = subprocess.run(
        [sys.executable, *CHECKS[name]], cwd=HOUSE, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
