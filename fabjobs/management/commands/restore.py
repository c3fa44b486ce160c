"""`restore FILE`: the shop as it was when a backup was made; what was there since is kept aside."""

import os
from argparse import ArgumentParser
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.formats import date_format

from fabjobs.safekeeping import backups
from fabjobs.safekeeping.backup_file import BackupRefused
from fabjobs.safekeeping.folder_lock import FolderInUse
from fabjobs.safekeeping.restoring import Held, NotAgreed, restore_backup


class Command(BaseCommand):
    help = "Put a backup in place of the shop's data. The shop must not be running. What was there is kept aside."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="a backup, such as fabjobs-2026-11-25-0915.backup")
        parser.add_argument("--yes", action="store_true", help="do not ask")

    def handle(self, *, file: Path, yes: bool, **_: Any) -> None:
        os.umask(0o077)
        database = backups.database_file()

        def agree(held: Held) -> bool:
            return yes or self._agreed(held, database)

        try:
            restored = restore_backup(file.expanduser().absolute(), database=database, agree=agree, now=timezone.now())
        except (BackupRefused, FolderInUse) as error:
            raise CommandError(f"{error}. Nothing was changed.") from None
        except NotAgreed:
            raise CommandError("not restored, nothing was changed: type yes, or give --yes") from None
        self.stdout.write(f"The shop is as it was on {_told(restored.made_at)}. Everyone signs in again.")
        if restored.aside:
            self.stdout.write(f"What was there is kept in {restored.aside}")

    def _agreed(self, held: Held, database: Path) -> bool:
        jobs = f"{held.jobs} job{'' if held.jobs == 1 else 's'}"
        self.stdout.write(f"The backup is of {_told(held.made_at)}: {held.shop}, {jobs}.")
        self.stdout.write(f"It takes the place of {database}; what is there now is kept aside.")
        try:
            return input("Restore it? Type yes: ").strip().lower() == "yes"
        except (EOFError, KeyboardInterrupt):
            self.stdout.write("")
            return False


def _told(moment: datetime) -> str:
    return date_format(timezone.localtime(moment), "j M Y H:i")
