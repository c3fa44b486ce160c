"""Taps lost and doubled where the network is cut at random: `python tests/bench/network_cuts.py [cuts] [seed]`.

One person ticks steps, takes ticks back, starts and stops timers, in a real browser, on the page of a job and on those of its
steps, over the server that `start` runs. Each cut takes the network away in one of six ways while one to three taps are made.
In the end all are compared with what the shop's database holds: each step's ticks in their order, each timed entry
in turn, and how far its length is from the time between the taps [s].
"""

import os
import random
import re
import shutil
import sys
import tempfile
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

from playwright.sync_api import Error, TimeoutError

sys.path.insert(0, str(Path(__file__).parents[2]))
CUTS = int(sys.argv[1]) if len(sys.argv) > 1 else 200
SEED = int(sys.argv[2]) if len(sys.argv) > 2 else 1
WAYS = (
    "the request is lost",
    "the answer is lost",
    "the network is off",
    "a reload, the request lost",
    "a reload, the answer lost",
    "a reload without a network",
)
TAPS = re.compile(r"/(tick|timer|stop)$")


@dataclass
class Network:
    """What becomes of the requests of taps: nothing, or for so many of them one of the ways."""

    way: str = ""
    left: int = 0

    def handle(self, route: Any) -> None:

        try:
            if not self.left:
                route.continue_()
                return
            self.left -= 1
            if self.way.endswith("the answer lost") or self.way == "the answer is lost":
                route.fetch()  # the shop has it
            if not self.way.startswith("a reload"):
                route.abort()  # else the page goes while it waits for the answer
        except Error:
            pass  # the page went meanwhile


@dataclass
class Person:
    """Taps, and what they should come to."""

    page: Any
    steps: list[int]
    ticked: defaultdict[int, list[bool]] = field(default_factory=lambda: defaultdict(list))
    timed: list[list[Any]] = field(default_factory=list)  # step, tapped at, stopped at
    taps: int = 0
    stale: int = 0  # how often the page had to be loaded anew before it showed what was tapped

    def tap(self, choice: random.Random) -> None:
        on_page = re.search(r"/steps/(\d+)/", self.page.url)
        running = self.timed[-1][0] if self.timed and self.timed[-1][2] is None else None
        step = (
            int(on_page[1]) if on_page else running if running and choice.random() < 0.3 else choice.choice(self.steps)
        )
        self.taps += 1
        if choice.random() < 0.55:
            self._tick(step)
        else:
            self._time(step, running)

    def _tick(self, step: int) -> None:
        done = bool(self.ticked[step]) and self.ticked[step][-1]
        self._tap_when(
            f"#tick-{step}, [formaction$='/{step}/tick']",
            ("false", "Tick it done"),
            ("true", "Take the tick back"),
            done,
        )
        self.ticked[step].append(not done)

    def _time(self, step: int, running: int | None) -> None:
        self._tap_when(f"main #timer-{step}", ("Start",), ("Stop",), running == step)
        now = time.time()
        if running is not None:
            self.timed[-1][2] = now
        if running != step:
            self.timed.append([step, now, None])

    def _tap_when(self, button: str, idle: tuple[str, ...], active: tuple[str, ...], is_active: bool) -> None:
        """Tap once the button says what it should: that is how a person knows that the tap before was seen."""
        says = "(b) => b && (b.getAttribute('aria-pressed') ?? b.textContent.trim())"
        shown = f"([css, wanted]) => wanted.includes(({says})(document.querySelector(css)))"
        wanted = [button, list(active if is_active else idle)]
        try:
            self.page.wait_for_function(shown, arg=wanted, timeout=15_000)
        except TimeoutError:
            self.stale += 1
            self.page.context.set_offline(False)
            self.page.goto(self.page.url)
            self.page.wait_for_function(shown, arg=wanted)
        self.page.locator(button).click()


def cut(person: Person, network: Network, way: str, choice: random.Random) -> None:
    """One cut: the network goes, taps are made, it comes back."""

    page, off = person.page, "network" in way
    network.way, network.left = way, 0 if off else choice.randint(1, 3)
    page.context.set_offline(off)
    for _ in range(choice.randint(1, 3)):
        person.tap(choice)
        if choice.random() < 0.5:
            page.wait_for_timeout(choice.randint(0, 900))
    if way.startswith("a reload"):
        url = page.url
        try:
            page.reload(timeout=60_000)
        except Error:  # the browser's own page says that there is no network
            page.context.set_offline(False)
            page.goto(url)
    page.context.set_offline(False)
    network.left = 0
    if choice.random() < 0.5:
        page.wait_for_timeout(choice.randint(0, 1500))
    if choice.random() < 0.3:
        page.goto("/jobs/1/" if choice.random() < 0.6 else f"/jobs/1/steps/{choice.choice(person.steps)}/")


def serve() -> str:
    """The address of a server as `start` runs it, in a thread of its own."""
    import waitress
    from django.core.wsgi import get_wsgi_application

    server = waitress.create_server(get_wsgi_application(), host="127.0.0.1", port=0, threads=8)
    threading.Thread(target=server.run, daemon=True).start()
    return f"http://127.0.0.1:{server.effective_port}"


def make_shop() -> Any:
    """A shop with one job and a person; the cookie of who is signed in."""
    from django.conf import settings
    from django.core.management import call_command
    from django.test import Client

    import calc
    from fabjobs import models
    from fabjobs.services import job_create
    from tests.conftest import SHEET

    call_command("migrate", verbosity=0)
    models.ShopSettings(pk=1, name="Hill Street Fabrication").save()
    owner = models.Person.objects.create_superuser("edda", password="a long one for the bench")  # noqa: S106
    job_create(plan=calc.plan(SHEET), due_day=None, by=owner)
    client = Client()
    client.force_login(owner)
    return client.cookies[settings.SESSION_COOKIE_NAME].value


def compare(person: Person) -> None:
    from fabjobs.models import Step, Tick, TimeEntry

    lost = doubled = wrong = 0
    for step in Step.objects.values_list("pk", flat=True):
        wanted, found = (
            person.ticked[step],
            list(Tick.objects.filter(step=step).order_by("pk").values_list("done", flat=True)),
        )
        lost, doubled = lost + max(0, len(wanted) - len(found)), doubled + max(0, len(found) - len(wanted))
        wrong += wanted != found
    print(
        f"ticks: {sum(map(len, person.ticked.values()))} tapped, {lost} lost, {doubled} doubled, {wrong} steps otherwise"
    )
    entries = list(TimeEntry.objects.order_by("pk"))
    same = SequenceMatcher(None, [one[0] for one in person.timed], [entry.step_id for entry in entries], autojunk=False)
    matched = sum(block.size for block in same.get_matching_blocks())
    lost, doubled = len(person.timed) - matched, len(entries) - matched
    wrong, off = 0, [0.0]
    for (step, began, stopped), entry in zip(person.timed, entries, strict=False):
        wrong += entry.step_id != step or (entry.seconds is None) != (stopped is None)
        off.append(abs(entry.started_at.timestamp() - began))
        if stopped is not None and entry.seconds is not None:
            off.append(abs(entry.seconds - (stopped - began)))
    print(
        f"timers: {len(person.timed)} started, {lost} lost, {doubled} doubled, {wrong} otherwise; at most {max(off):.1f} s off"
    )


def run(open_browser: Callable[[], Any], cookie: str, address: str) -> None:
    from django.conf import settings

    from fabjobs.models import Step

    choice, network, ways = random.Random(SEED), Network(), Counter[str]()  # noqa: S311
    context = open_browser().new_context(base_url=address)
    context.set_default_timeout(60_000)
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": address}])
    page = context.new_page()
    page.route(TAPS, network.handle)
    page.goto("/jobs/1/")
    person = Person(page, list(Step.objects.order_by("position").values_list("pk", flat=True)[:8]))
    for _ in range(CUTS):
        way = choice.choice(WAYS)
        ways[way] += 1
        cut(person, network, way, choice)
    page.goto("/jobs/1/")
    page.wait_for_function("() => !Object.keys(localStorage).some((name) => name.startsWith('fabjobs.tap.'))")
    print(f"{CUTS} cuts (seed {SEED}): {', '.join(f'{count} where {way}' for way, count in sorted(ways.items()))}")
    print(
        f"{person.taps} taps; told as not counted: {page.locator('#untaken li').count()}; pages out of date: {person.stale}"
    )
    compare(person)


def main() -> None:
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "fabjobs.settings"
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"  # the browser's loop runs in this thread
    django.setup()
    from playwright.sync_api import sync_playwright

    from tests.browser.conftest import ARGUMENTS, NAMES

    cookie, address = make_shop(), serve()
    found = next(path for name in NAMES if (path := shutil.which(name)))
    with sync_playwright() as playwright:
        run(lambda: playwright.chromium.launch(executable_path=found, args=ARGUMENTS), cookie, address)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["FABJOBS_DATA"] = folder
        os.environ["FABJOBS_HOSTS"] = "127.0.0.1,testserver"
        main()
