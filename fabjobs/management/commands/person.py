"""`person NAME`: a sign-in for one more person of the shop, a new password for one who lost theirs, or another role."""

from argparse import ArgumentParser
from typing import Any

from axes.handlers.proxy import AxesProxyHandler
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils.crypto import get_random_string

from fabjobs.codes import CROCKFORD
from fabjobs.models import Person, Role
from fabjobs.services import LastOwner, role_set

LENGTH = 12  # 60 bits


class Command(BaseCommand):
    help = (
        "Make a sign-in for one more person, or with --new-password a new password for one; it is printed once. "
        "--role says as what, and changes it for someone who has a sign-in."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the sign-in name")
        parser.add_argument(
            "--new-password",
            action="store_true",
            help="for someone who has a sign-in already; too many wrong tries are forgotten, a closed sign-in is opened",
        )
        parser.add_argument("--role", choices=Role.values, help="an owner sees all, a hand no money (default: hand)")

    def handle(self, *, name: str, new_password: bool, role: str | None, **_: Any) -> None:
        known = Person.objects.filter(username=name).first()
        alike = Person.objects.filter(username__iexact=name).first()
        if known is None and alike is not None:
            raise CommandError(f"{alike} has a sign-in: write the name as it is there, capitals and all")
        if known is None:
            if new_password:
                raise CommandError(f"nobody signs in as {name}: leave --new-password away to make the sign-in")
            self._make(name, role or Role.HAND)
            return
        if not new_password and role is None:
            raise CommandError(
                f"{name} has a sign-in already: --new-password gives a new password, --role another role"
            )
        if role is not None:
            self._set_role(known, role)
        if new_password:
            self._renew(known)

    def _set_role(self, known: Person, role: str) -> None:
        try:
            role_set(person=known, role=role)
        except LastOwner as error:
            raise CommandError(str(error)) from None
        self.stdout.write(f"{known} is {'an owner' if role == Role.OWNER else 'a hand'}")

    def _renew(self, known: Person) -> None:
        password = get_random_string(LENGTH, CROCKFORD)
        known.set_password(password)
        known.is_active = True
        known.save(update_fields=["password", "is_active"])  # signs them out everywhere: sessions carry a hash of it
        AxesProxyHandler.reset_attempts(username=known.username)
        self.stdout.write(f"{known} signs in with {password}")

    def _make(self, name: str, role: str) -> None:
        if not Person.objects.exists():
            raise CommandError("nobody has claimed this shop yet: run start, and make its owner on the first page")
        password = get_random_string(LENGTH, CROCKFORD)
        person = Person(username=name, role=role)
        person.set_password(password)
        try:
            person.full_clean()
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        person.save()
        self.stdout.write(f"{name} signs in with {password}")
