"""`person NAME`: a sign-in for one more person of the shop, or a new password for one who lost theirs."""

from argparse import ArgumentParser
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils.crypto import get_random_string

from fabjobs.codes import CROCKFORD
from fabjobs.models import Person

LENGTH = 12  # 60 bits


class Command(BaseCommand):
    help = "Make a sign-in for one more person, or with --new-password a new password for one; it is printed once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the sign-in name")
        parser.add_argument("--new-password", action="store_true", help="for someone who has a sign-in already")

    def handle(self, *, name: str, new_password: bool, **_: Any) -> None:
        password = get_random_string(LENGTH, CROCKFORD)
        known = Person.objects.filter(username=name).first()
        if new_password:
            if known is None:
                raise CommandError(f"nobody signs in as {name}: leave --new-password away to make the sign-in")
            known.set_password(password)
            known.save(update_fields=["password"])  # signs them out everywhere: sessions carry a hash of it
        elif known is not None:
            raise CommandError(f"{name} has a sign-in already: --new-password gives a new password")
        else:
            self._make(name, password)
        self.stdout.write(f"{name} signs in with {password}")

    def _make(self, name: str, password: str) -> None:
        if not Person.objects.exists():
            raise CommandError("nobody has claimed this shop yet: run start, and make its owner on the first page")
        person = Person(username=name)
        person.set_password(password)
        try:
            person.full_clean()
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        person.save()
