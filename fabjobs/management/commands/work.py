"""`work`: what takes longer than a page may wait for. `start` runs it beside the shop; a server runs it as a service."""

import os
import signal
import sys
from argparse import SUPPRESS, ArgumentParser
from threading import Thread
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from fabjobs import improving
from fabjobs.safekeeping import folder_lock

LOOKS_EVERY = 1.0  # [s] for what was asked meanwhile


class Command(BaseCommand):
    help = "Look for the better layouts that are asked for, one after the other. `start` runs this beside the shop."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--beside", action="store_true", help=SUPPRESS)  # end when standard input does: see `start`

    def handle(self, *, beside: bool, **_: Any) -> None:
        os.umask(0o077)
        for told_to_stop in (signal.SIGINT, signal.SIGTERM):
            signal.signal(told_to_stop, _stop)  # until the worker itself listens
        if beside:
            Thread(target=_end_with_the_shop, name="end with the shop", daemon=True).start()
        try:
            settings.DATA.mkdir(mode=0o700, parents=True, exist_ok=True)
            with folder_lock.shared(settings.DATA), folder_lock.only_worker(settings.DATA):
                improving.tell_stopped()
                _let_go_of_what_was_running()
                improving.ask_again()
                if not beside:
                    self.stdout.write(
                        f"Works for the shop in {settings.DATA}. Ctrl-C stops it after the look in hand, twice at once."
                    )
                    self.stdout.flush()
                call_command("prune_db_task_results", verbosity=0)
                call_command("db_worker", interval=LOOKS_EVERY, startup_delay=False, reload=False, verbosity=0)
        except folder_lock.FolderInUse as error:
            raise CommandError(str(error)) from None
        except OperationalError as error:
            told = (
                f"the database in {settings.DATA} can't be worked with ({error}): run manage.py start or migrate first"
            )
            raise CommandError(told) from None
        except OSError as error:
            raise CommandError(f"cannot write in the data folder {settings.DATA} ({error.strerror})") from None


def _let_go_of_what_was_running() -> None:
    """Tasks that a worker before this one had in hand: nobody is at them any more, and finished ones are cleared away."""
    running = DBTaskResult.objects.filter(status=TaskResultStatus.RUNNING)
    running.update(status=TaskResultStatus.FAILED, finished_at=timezone.now())


def _stop(signum: int, frame: FrameType | None) -> None:  # noqa: ARG001
    sys.exit(0)


def _end_with_the_shop() -> None:
    """The shop holds the other end of standard input; however it ends, the system closes that. What was being looked for
    is given up: the next worker tells so."""
    while os.read(0, 1024):
        pass
    os._exit(0)
