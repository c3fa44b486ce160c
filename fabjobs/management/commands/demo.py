"""`demo`: an invented shop to look round in, in a data folder of its own; `start --demo` makes and serves it."""

import os
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from fabjobs.demo import scenario as demo
from fabjobs.demo.shop import FOLDER, NotTheDemo, open_demo, work_in_demo_folder
from fabjobs.environment import keep_secret_key
from fabjobs.safekeeping import folder_lock


class Command(BaseCommand):
    help = f"Make the demo shop, in the folder {FOLDER} of the data folder, and print a sign-in. The shop's own stays as it is."

    def handle(self, **_: Any) -> None:
        os.umask(0o077)
        try:
            work_in_demo_folder()
            settings.SECRET_KEY = keep_secret_key(settings.DATA, settings.SECRET_KEY)
            with folder_lock.shared(settings.DATA):
                call_command("migrate", verbosity=0, interactive=False)
                passwords = open_demo()
        except (NotTheDemo, folder_lock.FolderInUse) as error:
            raise CommandError(str(error)) from None
        except OSError as error:
            raise CommandError(f"cannot write in the data folder {settings.DATA} ({error.strerror})") from None
        self.stdout.write(f"The demo shop is in {settings.DATA}; manage.py start --demo serves it.")
        self.stdout.write(f"Sign in as {demo.OWNER} with {passwords[demo.OWNER]}")
        self.stdout.write(f"or, as a hand who sees no money, as {demo.MATE} with {passwords[demo.MATE]}")
