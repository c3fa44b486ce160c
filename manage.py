#!/usr/bin/env python
"""The one command line of fabjobs: `start`, `plan` and Django's own commands."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fabjobs.settings")
    try:
        from django.core.exceptions import ImproperlyConfigured  # noqa: PLC0415 - its absence is told in words
        from django.core.management import execute_from_command_line  # noqa: PLC0415
    except ImportError:
        sys.exit("Django is not installed here: use the Python in .venv (README.md says how it is made).")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(f"fabjobs cannot start: {error}")


if __name__ == "__main__":
    main()
