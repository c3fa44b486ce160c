"""The demo shop, filled through the services that the pages use, in a data folder of its own."""

import math
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid5

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db import connections, transaction
from django.utils import timezone
from django.utils.crypto import get_random_string

import calc
from calc.fitup import wanted
from fabjobs import metal, planning, services
from fabjobs.codes import CROCKFORD
from fabjobs.defaults import bought_sizes
from fabjobs.demo import scenario as demo
from fabjobs.demo.scenario import DemoJob, Welded
from fabjobs.environment import secret_key
from fabjobs.heading import Heading
from fabjobs.models import Fabrication, Job, Person, SheetPrice, ShopSettings, Step
from fabjobs.models.rates import rates_in_force
from fabjobs.safekeeping.backup_file import DATABASE

FOLDER, MARK = "demo", "this-is-the-demo.txt"
MARKED = "All that is in this folder was invented by fabjobs. Delete the folder and the next demo is a fresh one.\n"
KEYS = UUID("5f3b8a52-6c1e-4d0a-9b7e-2a4c8d1e7f60")
BEGIN, DAY_MINUTES = time(7, 30), 400.0  # a working day at the bench: when it begins, and how much of it is logged
# Nobody works to the standard minute: so much of it each, in turn.
PACE = (0.85, 1.2, 0.95, 1.35, 1.05, 0.9, 1.25, 1.1)
AS_BUILT, MEASURING = "check:as-built", 4.0  # [min] of a tray
MATES_WORK = ("clean", "fit", "weld", "planish", "test", "install")


class NotTheDemo(Exception):
    """The folder holds a shop that is someone's own; the text says which."""


@dataclass
class Clock:
    """Working time: it runs from bench hour to bench hour, over no Saturday or Sunday."""

    now: datetime
    spent: float = 0.0

    def work(self, minutes: float) -> None:
        if self.spent and self.spent + minutes > DAY_MINUTES:
            self.now = _first_hour(_working_day(self.now.date() + timedelta(days=1)))
            self.spent = 0.0
        self.spent += minutes
        self.now += timedelta(minutes=minutes)


def work_in_demo_folder() -> None:
    """From now on this process works with the demo's data. Raises `NotTheDemo` where a shop of someone's own is; OSError."""
    folder = settings.DATA / FOLDER
    if (folder / DATABASE).exists() and not (folder / MARK).exists():
        raise NotTheDemo(f"the shop in {folder} is not a demo: it is left alone")
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    (folder / MARK).write_text(MARKED, encoding="utf-8")
    try:
        settings.SECRET_KEY = secret_key(folder)
    except ImproperlyConfigured as error:
        raise NotTheDemo(str(error)) from None
    settings.DATA, settings.BACKUPS, settings.DEMO = folder, None, True
    # A browser keeps cookies by host, not by port: signed in here, one stays signed in at the shop's own.
    settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME = "demo_session", "demo_csrf"
    connections["default"].settings_dict["NAME"] = folder / DATABASE


def open_demo() -> str:
    """Fill the shop unless it is filled; return a new password for `demo.OWNER`, to be shown once."""
    if not Job.objects.exists():
        fill(timezone.localdate())
    letters = get_random_string(12, CROCKFORD)
    password = "-".join(letters[start : start + 4] for start in range(0, 12, 4))
    owner = Person.objects.get(username=demo.OWNER)
    owner.set_password(password)
    owner.save(update_fields=["password"])
    return password


def fill(today: date) -> None:
    """The whole scenario, or nothing of it, its days counted from `today`. The database must hold no shop."""
    with transaction.atomic():
        with _at(_first_hour(_working_day(today - timedelta(days=30)))):
            owner, mate = _people_and_prices()
        for job in demo.JOBS:
            plan = planning.compute(sheet_of(job))
            changed = planning.compute(sheet_of(job, job.change.low_point)) if job.change else None
            _Story(job, owner, mate, today).tell(plan, changed)


def sheet_of(job: DemoJob, low_point: tuple[float, float] | None = None) -> dict[str, object]:
    """The job sheet as the form would make it in this shop."""
    shop = ShopSettings.current()
    metal = {"alloy": "5052-H32", "thickness": job.thickness}
    saw = {"kerf": shop.kerf, "edge_trim": shop.edge_trim, "seam_gap": shop.seam_gap}
    making = {**saw, "effort": "quick", "joins": job.joins}  # whoever asks for the demo waits for all of its plans
    return {
        "title": job.title,
        "customer": job.customer,
        "machine": job.machine,
        "quantity": job.quantity,
        "material": metal,
        "shape": dict(job.shape) | ({"low_point": list(low_point)} if low_point else {}),
        "making": making | shop.reading,
        "stock": bought_sizes("5052-H32", f"{job.thickness} mm"),
        "rates": rates_in_force(shop.currency),
    }


def told_of(plan: calc.Plan, welded: Welded) -> list[dict[str, float]]:
    """What was written down of a tray: what was misread first, then the sizes as they are."""
    measured = sizes_of(plan, welded)
    if welded.misread is None:
        return [measured]
    key, wrong = welded.misread
    return [{**measured, key: measured[key] + wrong}, measured]


def sizes_of(plan: calc.Plan, welded: Welded) -> dict[str, float]:
    """What a tape says of a tray that came out so: lengths [mm] by key, to half a millimetre."""
    rim = plan.sheet.shape.corners
    middle = tuple(sum(axis) / len(rim) for axis in zip(*rim, strict=True))
    built = [
        tuple(at + (centre - at) * by / math.dist(corner, middle) for at, centre in zip(corner, middle, strict=True))
        for corner, by in zip(rim, welded.drawn_in, strict=True)
    ]
    sizes = {}
    for one in wanted(plan):
        size = math.dist(built[one.between[0]], built[one.between[1]]) if one.between else one.nominal
        sizes[one.key] = round(2 * (size + (welded.deeper if one.kind == "depth" else 0.0))) / 2
    return sizes


def _people_and_prices() -> tuple[Person, Person]:
    shop = ShopSettings(name=demo.SHOP, currency=demo.CURRENCY, kerf=2.2, edge_trim=6.0)
    owner = services.shop_claim(shop=shop, username=demo.OWNER, password=get_random_string(40))
    mate = Person.objects.create_user(demo.MATE)  # signs in nowhere: it has no password
    money = {name: value if name == "labour_by_kind" else Decimal(value) for name, value in demo.RATES.items()}
    services.rates_set(figures=money, seen=0, by=owner)
    for size in demo.SHEETS:
        SheetPrice.objects.create(**size)
    return owner, mate


class _Story:
    """One job from its first day to where it stands."""

    def __init__(self, told: DemoJob, owner: Person, mate: Person, today: date) -> None:
        self.told, self.owner, self.mate, self.today = told, owner, mate, today
        self.clock = Clock(_first_hour(_working_day(today + timedelta(days=told.begun), back=True)))
        self.written = 0
        self.worked = 0

    def tell(self, plan: calc.Plan, changed: calc.Plan | None) -> None:
        told, due = self.told, self.today + timedelta(days=self.told.due)
        with self._now():
            job = services.job_create(plan=plan, due_day=due, by=self.owner, form_key=self._key())
        self.fabrication = Fabrication.objects.get(job=job)
        if changed and told.change:
            self._work(self._steps_before("mark", 1.0))
            with self._now():
                services.job_change(
                    fabrication=self.fabrication,
                    plan=changed,
                    heading=Heading.of(job),
                    started_from=1,
                    job_version=job.version,
                    reason=told.change.reason,
                    by=self.owner,
                    form_key=self._key(),
                )
        self._work(self._steps_before(told.up_to, told.share))
        self._log_metal(changed or plan)

    def _steps_before(self, kind: str, share: float) -> list[Step]:
        """The steps up to a kind of work, and a share of those of that kind; all for `all`."""
        steps = list(self.fabrication.steps.filter(retired=False))
        of_kind = [place for place, step in enumerate(steps) if step.kind == kind]
        end = of_kind[0] + round(len(of_kind) * share) if of_kind else len(steps)
        return [step for step in steps[:end] if step.done_at is None]

    def _work(self, steps: list[Step]) -> None:
        """Do these steps: the time on each, a note where there is something to say, the tick."""
        seen: set[str] = set()
        for step in steps:
            by = self.mate if step.kind in MATES_WORK else self.owner
            minutes = max(1.0, float(round(step.minutes * PACE[self.worked % len(PACE)])))
            self.worked += 1
            self.clock.work(minutes)
            with self._now():
                day = self.clock.now.date()
                services.time_enter(step=step, day=day, minutes=minutes, by=by, form_key=self._key())
                if step.kind not in seen and step.kind in self.told.notes:
                    services.note_add(step=step, text=self.told.notes[step.kind], by=by, form_key=self._key())
                services.step_tick(step=step, version=step.version, done=True, by=by, form_key=self._key())
            if step.key == AS_BUILT:
                self._measure(by)
            seen.add(step.kind)

    def _measure(self, by: Person) -> None:
        """Write down how each tray came out, one that was misread twice; set the opening of the first out."""
        made = self.fabrication
        revision = made.revisions.latest("number")
        plan = planning.restore(revision)
        given: dict[str, Any] = {"fabrication": made, "revision": revision.number, "by": by}
        for copy, welded in enumerate(self.told.welded, start=1):
            for measured in told_of(plan, welded):
                self.clock.work(MEASURING)
                with self._now():
                    services.as_built_add(copy=copy, measured=measured, form_key=self._key(), **given)
        opening = self.told.opening
        if opening is not None:
            places = {name: getattr(opening, name) for name in ("from_end", "from_edge", "from_edge_next")}
            cutting = {"clearance": 1.0, "cutter_radius": 3.0, "bench_thickness": opening.bench}
            figures = {**cutting, **places, "corner": 1, "end": "left"}
            with self._now():
                services.aperture_set_out(fabrication=made, copy=1, figures=figures, by=by, form_key=self._key())

    def _log_metal(self, plan: calc.Plan) -> None:
        made, told, by = self.fabrication, self.told, self.owner
        with self._now():
            if not told.kept and not made.steps.filter(kind="cut", done_at=None, retired=False).exists():
                pieces = metal.planned_offcuts(plan)
                services.offcuts_return_as_planned(fabrication=made, planned=pieces, by=by, form_key=self._key())
            if told.spoiled:
                blank, why = told.spoiled
                part = made.parts.get(blank=blank, revision=made.revisions.latest("number"))
                services.blank_spoil(fabrication=made, count=1, part=part, why=why, by=by, form_key=self._key())
            if told.kept:
                length, width = told.kept
                services.offcut_return(
                    fabrication=made,
                    count=1,
                    length=length,
                    width=width,
                    area=length * width,
                    by=by,
                    form_key=self._key(),
                )
            for thing in told.bought:
                services.thing_buy(
                    fabrication=made, count=thing.count, what=thing.what, price=Decimal(thing.price), by=by,
                    form_key=self._key(),
                )  # fmt: skip

    def _key(self) -> UUID:
        """The same each time the scenario is told."""
        self.written += 1
        return uuid5(KEYS, f"{self.told.title} {self.written}")

    def _now(self) -> AbstractContextManager[None]:
        return _at(self.clock.now)


@contextmanager
def _at(moment: datetime) -> Iterator[None]:
    """What the services write meanwhile they write as at this moment. Only for a process that does nothing else."""
    real = timezone.now
    timezone.now = lambda: moment
    try:
        yield
    finally:
        timezone.now = real


def _first_hour(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, BEGIN))


def _working_day(day: date, *, back: bool = False) -> date:
    """This day, or from a Saturday or Sunday the next working day (back: the last one)."""
    while day.weekday() >= 5:
        day += timedelta(days=-1 if back else 1)
    return day
