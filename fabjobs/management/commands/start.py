"""`start`: everything from a bare data folder to a running shop, every time."""

import errno
import os
import signal
import socket
import sys
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from types import FrameType
from typing import Any
from urllib.parse import urlsplit

import waitress
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import URLValidator
from django.core.wsgi import get_wsgi_application

from fabjobs import papers, worker
from fabjobs.demo import shop as demo_shop
from fabjobs.demo.scenario import MATE, OWNER
from fabjobs.environment import keep_secret_key
from fabjobs.models import Person, SetUpCode, ShopSettings
from fabjobs.network import own_names
from fabjobs.safekeeping import backups, folder_lock

LARGEST_REQUEST = 40_000_000  # bytes; a photo is refused in words long before, a form without one before that


class Command(BaseCommand):
    help = "Bring the data folder up to date and serve the shop, on this computer or with --lan on its network."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=_port, default=8000, help="default 8000; 0 takes any that is free")
        parser.add_argument("--lan", action="store_true", help="answer other computers on the shop's network too")
        parser.add_argument(
            "--demo", action="store_true", help="an invented shop to look round in, in a folder of its own"
        )
        parser.add_argument("--address", type=_address, metavar="URL", help="the address that papers carry")

    def handle(self, *, port: int, lan: bool, demo: bool, address: str | None, **_: Any) -> None:
        if lan and settings.TLS:
            raise CommandError("with FABJOBS_TLS=1 the proxy answers the network: leave --lan away")
        os.umask(0o077)  # all that is kept is for whoever runs the shop's computer, not for its other users
        names = own_names() if lan else []
        taken = _take("0.0.0.0" if lan else "127.0.0.1", port)  # noqa: S104 - asked for with --lan
        with taken, self._data_folder(demo=demo):
            call_command("migrate", verbosity=0, interactive=False)
            sign_ins = demo_shop.open_demo() if demo else {}
            self._keep_address(address, _first_of(names, taken.getsockname()[1]))
            self._allow(names, address)
            signal.signal(signal.SIGTERM, _stop)
            self._tell(taken.getsockname()[1], names, sign_ins)
            with backups.one_a_day(), worker.beside():
                _serve(taken)
        self.stdout.write("Stopped.")

    @contextmanager
    def _data_folder(self, *, demo: bool) -> Iterator[None]:
        """The data folder, made if need be, and held so that nothing is restored into it meanwhile."""
        try:
            if demo:
                demo_shop.work_in_demo_folder()
            settings.DATA.mkdir(mode=0o700, parents=True, exist_ok=True)
            settings.SECRET_KEY = keep_secret_key(settings.DATA, settings.SECRET_KEY)
        except OSError as error:
            raise CommandError(f"cannot write in the data folder {settings.DATA} ({error.strerror})") from None
        except demo_shop.NotTheDemo as error:
            raise CommandError(str(error)) from None
        with ExitStack() as held:
            try:
                held.enter_context(folder_lock.shared(settings.DATA))
            except folder_lock.FolderInUse as error:
                raise CommandError(str(error)) from None
            yield

    def _keep_address(self, address: str | None, found: str | None) -> None:
        """Keep what papers carry: what was given, else where there is none yet what was found."""
        shop = ShopSettings.current()
        kept = address or shop.paper_address or found
        if kept and kept != shop.paper_address:
            shop.paper_address = kept
            shop.save()

    def _allow(self, names: list[str], address: str | None) -> None:
        host = urlsplit(address or ShopSettings.current().paper_address).hostname
        settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, *names, *([host] if host else [])]

    def _tell(self, port: int, names: list[str], sign_ins: dict[str, str]) -> None:
        for name in ["127.0.0.1", *names]:
            self.stdout.write(f"fabjobs runs at http://{name}:{port}/")
        if settings.TLS:
            self.stdout.write("Behind a proxy that speaks TLS; only this computer reaches it directly.")
        elif names:
            self.stdout.write("Plain http, for the shop's own network only: who shares the network can read along.")
        else:
            self.stdout.write("Plain http, this computer only. --lan lets the shop's network in.")
        if names and (leads := ShopSettings.current().paper_address):
            self.stdout.write(f"The codes on papers lead to {leads}{_gone(leads, names)}")
        self.stdout.write(f"Data is in {settings.DATA}, a backup a day in {backups.folder()}")
        if lacking := papers.lacking():
            self.stdout.write(f"No papers yet: {lacking}")
        if sign_ins:
            self.stdout.write("This is a demo: the shop, its people and its jobs are invented.")
            self.stdout.write(f"Sign in as {OWNER} with {sign_ins[OWNER]}")
            self.stdout.write(f"or, as a hand who sees no money, as {MATE} with {sign_ins[MATE]}")
        elif not Person.objects.exists():
            self.stdout.write(f"Set-up code: {SetUpCode.renew()}   (the first page asks for it)")
        self.stdout.write("Ctrl-C stops it.")
        self.stdout.flush()


def _first_of(names: list[str], port: int) -> str | None:
    """The address on the shop's network that papers carry unless another is given."""
    return f"http://{names[0]}:{port}" if names else None


def _gone(address: str, names: list[str]) -> str:
    """What to say of an address in figures that this computer had once and has no more."""
    host = urlsplit(address).hostname or ""
    is_number = host.replace(".", "").isdigit()
    return (
        ", which is not this computer now: --address, or Settings, sets it anew"
        if is_number and host not in names
        else ""
    )


def _port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) > 65535:
        raise ArgumentTypeError(f"a port is a number from 1 to 65535 (got {text})")
    return int(text)


def _address(text: str) -> str:
    try:
        URLValidator(schemes=["http", "https"])(text)
    except ValidationError:
        raise ArgumentTypeError(f"an address is like http://192.168.1.20:8000 (got {text})") from None
    return text.rstrip("/")


def _take(host: str, port: int) -> socket.socket:
    """The port, taken; told in one line where it cannot be had."""
    taken = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # elsewhere this would share the port with another program instead of refusing
            taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        taken.bind((host, port))
        taken.listen(128)
    except OSError as error:
        taken.close()
        if error.errno == errno.EADDRINUSE:
            raise CommandError(f"port {port} is taken: fabjobs runs already, or take another with --port") from None
        raise CommandError(f"cannot listen on port {port} ({error.strerror})") from None
    return taken


def _serve(on: socket.socket) -> None:
    """Answer until someone stops it."""
    behind_proxy = (
        {"trusted_proxy": "127.0.0.1", "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"}}
        if settings.TLS
        else {}
    )
    server = waitress.create_server(
        get_wsgi_application(),
        sockets=[on],
        threads=8,
        ident=None,
        clear_untrusted_proxy_headers=True,
        max_request_body_size=LARGEST_REQUEST,
        **behind_proxy,
    )
    try:
        server.run()
    finally:
        server.close()


def _stop(signum: int, frame: FrameType | None) -> None:  # noqa: ARG001
    sys.exit(0)
