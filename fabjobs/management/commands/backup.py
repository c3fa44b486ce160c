"""`backup`: one dated file that the shop can be put back from, made while people work."""

import os
from argparse import ArgumentParser, ArgumentTypeError
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fabjobs.safekeeping import backups, folder_lock


class Command(BaseCommand):
    help = "Write a backup of the shop, checked, while people work; the oldest beyond --keep go."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", type=Path, metavar="DIR", help="the folder to write in, on another disk at best")
        parser.add_argument("--keep", type=_count, metavar="N", default=backups.KEPT, help="keep the N newest there")

    def handle(self, *, to: Path | None, keep: int, **_: Any) -> None:
        os.umask(0o077)
        into = (to or backups.folder()).expanduser().absolute()
        database = backups.database_file()
        if not database.is_file():
            raise CommandError(f"there is no shop in {settings.DATA} yet: nothing to back up")
        try:
            with folder_lock.shared(settings.DATA):
                made = backups.make_backup(database=database, into=into, keep=keep, now=timezone.now())
        except (backups.BackupFailed, folder_lock.FolderInUse) as error:
            raise CommandError(str(error)) from None
        self.stdout.write(f"{made.file} ({made.file.stat().st_size / 1e6:.1f} MB)")


def _count(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 10_000:
        raise ArgumentTypeError(f"backups to keep are a number from 1 to 10000 (got {text})")
    return int(text)
