"""`plan SHEET.json`: a job sheet in, its plan as JSON out. Touches no database."""

import json
import os
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

import calc
from calc.reading import Fault, SheetFaults, one_line
from fabjobs import papers
from fabjobs.sheet_file import read_sheet_file

SHEET_AT_FAULT = 2


class Command(BaseCommand):
    help = "Print the plan of a job sheet as JSON; with --out, write its papers too. Touches no database."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sheet", help="the job sheet, a JSON file; - reads standard input")
        parser.add_argument("--out", type=Path, metavar="DIR", help="write the papers into this folder")

    def handle(self, *, sheet: str, out: Path | None, **_: Any) -> None:
        try:
            plan = _plan(sheet)
        except SheetFaults as error:
            print(*(one_line(str(fault)) for fault in error.faults), sep="\n", file=sys.stderr)
            sys.exit(SHEET_AT_FAULT)
        if out:
            _write_papers(plan, out)
        _print_whole(json.dumps(plan.as_json(), allow_nan=False))


def _plan(name: str) -> calc.Plan:
    try:
        return calc.plan(read_sheet_file(name))
    except RecursionError:
        raise SheetFaults([Fault("sheet", "not a sheet: lists or objects are nested too deep")]) from None


def _write_papers(plan: calc.Plan, folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in papers.of_sheet(plan):
            (folder / name).write_bytes(content)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise CommandError(f"cannot write in {one_line(str(folder))} ({reason.lower()})") from None
    except papers.PapersUnavailable as error:
        raise CommandError(str(error)) from None


def _print_whole(text: str) -> None:
    try:
        sys.stdout.write(text + "\n")
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read has seen enough; the interpreter must not complain when it flushes at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
