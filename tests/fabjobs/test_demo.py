"""The demo shop: filled through the services, in a folder of its own, and never over anyone's data."""

import re
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as configured
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoDbBlocker

import calc
from calc.learning import WANTED
from fabjobs.aperture import opening_of
from fabjobs.as_built import Trays, fit_of
from fabjobs.demo import scenario as demo
from fabjobs.demo import shop as demo_shop
from fabjobs.metal import MetalBook
from fabjobs.models import BoughtIn, Job, Person, RateBook, Revision, ShopSettings, Spoiled, Step, Tick, TimeEntry
from fabjobs.planning import restore
from fabjobs.shrinkage import own_of
from fabjobs.stages import Stage, progress_of
from fabjobs.views.job import latest_revision
from tests.fabjobs.databases import manage, rows_of, working_with

SIGN_IN = re.compile(r"Sign in as (\w+) with ((?:[0-9A-Z]{4}-){2}[0-9A-Z]{4})\n")


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The data folder in which `demo` was run once, and what it said."""
    data = tmp_path_factory.mktemp("demo")
    done = manage("demo", data=data)
    assert (done.returncode, done.stderr) == (0, "")
    return data, done.stdout


@pytest.fixture
def in_demo(made: tuple[Path, str], django_db_blocker: DjangoDbBlocker, tmp_path: Path) -> Iterator[Path]:
    """This process works with a copy of the demo's database."""
    copy = Path(shutil.copy(made[0] / "demo" / "fabjobs.sqlite3", tmp_path / "demo.sqlite3"))
    with django_db_blocker.unblock(), working_with(copy):
        yield copy


def test_it_lies_in_a_folder_of_its_own(made: tuple[Path, str]) -> None:
    data, told = made
    assert [path.name for path in data.iterdir()] == ["demo"]
    assert f"The demo shop is in {data / 'demo'}" in told
    assert (data / "demo").stat().st_mode & 0o077 == 0


def test_the_jobs_stand_at_all_stages(in_demo: Path) -> None:
    jobs = list(Job.objects.order_by("number"))
    progress = progress_of(jobs)
    assert [progress[job.pk].stage for job in jobs] == [
        Stage.FINISHED, Stage.FITTING, Stage.WELDING, Stage.CUTTING, Stage.PLANNED,
        Stage.CUTTING, Stage.WELDING, Stage.PLANNED, Stage.CUTTING, Stage.FINISHED,
    ]  # fmt: skip
    assert [job.title for job in jobs] == [told.title for told in demo.JOBS]


def test_none_is_a_rectangle_with_its_drain_on_a_middle_line() -> None:
    trays = [job for job in demo.JOBS if job.shape["family"] == "fall-tray"]
    for job in trays:
        rim = job.shape["rim"]
        across, along = zip(*rim, strict=True)
        middle = ((min(across) + max(across)) / 2, (min(along) + max(along)) / 2)
        for low in filter(None, (job.shape["low_point"], job.change and job.change.low_point)):
            assert all(abs(at - half) > 20 for at, half in zip(low, middle, strict=True)), job.title
        is_upright = len(rim) == 4 and len(set(across)) == len(set(along)) == 2
        assert not is_upright, job.title
    rims = [job.shape["rim"] for job in trays]
    assert {len(rim) for rim in rims} >= {4, 5}
    lengths = [max(x for x, _ in rim) / max(y for _, y in rim) for rim in rims]
    assert max(lengths) > 5, "a long one"


def test_a_tray_with_an_upstand_is_folded_where_that_saves_weld_and_a_pan_has_returns(in_demo: Path) -> None:
    standing = Revision.objects.get(sheet__making__joins="fewest-welds")
    assert standing.sheet["shape"]["rim_finish"]["kind"] == "upstand"
    welded = {**standing.sheet, "making": {**standing.sheet["making"], "joins": "weld-all", "effort": "quick"}}
    assert calc.plan(welded).takeoff.weld_length > standing.plan["takeoff"]["weld_length"] + 100
    pan = Revision.objects.get(sheet__shape__family="pan")
    assert pan.sheet["shape"]["return_width"] > 0
    for revision in (standing, pan):
        folds = Step.objects.filter(fabrication=revision.fabrication, kind="fold")
        assert folds.exclude(done_at=None).exists()


def test_work_lies_in_the_past_on_working_days_and_ticks_and_times_agree(in_demo: Path) -> None:
    now = timezone.now()
    assert all(at < now for at in Tick.objects.values_list("at", flat=True))
    for line in TimeEntry.objects.select_related("step"):
        assert line.started_at < now
        assert timezone.localdate(line.started_at).weekday() < 5
        assert line.seconds
    ticked = Step.objects.exclude(done_at=None)
    assert set(ticked) == {line.step for line in TimeEntry.objects.select_related("step")}
    assert all(step.version == 1 for step in ticked)
    days = dict.fromkeys(TimeEntry.objects.values_list("person", "started_at"), 0)
    for person, day, seconds in TimeEntry.objects.values_list("person", "started_at", "seconds"):
        days[person, day] += seconds or 0
    assert max(days.values()) < 10 * 3600, "a day's work"


def test_one_was_changed_once_and_keeps_what_was_done_before(in_demo: Path) -> None:
    changed = Job.objects.get(title="Chip tray, cold saw")
    revisions = Revision.objects.filter(fabrication__job=changed)
    assert [revision.number for revision in revisions] == [1, 2]
    assert "brace" in revisions[1].reason
    retired = Step.objects.filter(fabrication__job=changed, retired=True)
    assert {step.kind for step in retired} == {"mark"}
    assert all(step.done_at and step.times.exists() for step in retired)
    assert Revision.objects.exclude(fabrication__job=changed).filter(number__gt=1).count() == 0


def test_the_finished_one_has_metal_logged_that_adds_up(in_demo: Path) -> None:
    finished = Job.objects.get(number=1)
    revision = Revision.objects.get(fabrication__job=finished)
    book = MetalBook.of(revision, restore(revision))
    assert book.actual is not None
    assert book.actual.discrepancy == ""
    assert book.actual.scrap.mass > 0
    assert Spoiled.objects.get().why.startswith("The guide slipped")
    assert BoughtIn.objects.filter(fabrication__job=finished).count() == 2
    assert finished.due_day is not None
    assert finished.due_day < timezone.localdate()


def test_what_was_welded_is_measured_and_one_misreading_was_told(in_demo: Path) -> None:
    measured = {told.title: len(told.welded) for told in demo.JOBS if told.welded}
    assert sum(measured.values()) >= WANTED, "enough for the shop to learn from"
    suspects = []
    for job in Job.objects.filter(title__in=measured):
        trays = Trays.of(latest_revision(job))
        assert len(trays.measured) == len(trays.each) == measured[job.title]
        assert all(tray.fit and not tray.fit.suspect and tray.fit.passes for tray in trays.each)
        opening = opening_of(trays.each[0])
        assert opening is not None
        assert opening.may_be_cut
        assert len(opening.points) == len(trays.plan.sheet.shape.corners)
        suspects += [fit_of(line, tray.by) for tray in trays.each for line in tray.earlier]
    assert [fit.suspect.key for fit in suspects if fit and fit.suspect] == ["diagonal-1-3"]
    own = own_of("5052-H32", "TIG")
    assert own.trays == sum(measured.values())
    assert own.times is not None


def test_rates_and_prices_are_set_and_two_people_are_there(in_demo: Path) -> None:
    book = RateBook.current()
    assert book is not None
    assert str(book.labour) == demo.RATES["labour"]
    assert ShopSettings.current().name == demo.SHOP
    assert list(Person.objects.order_by("pk").values_list("username", flat=True)) == [demo.OWNER, demo.MATE]
    assert list(Person.objects.order_by("pk").values_list("role", flat=True)) == ["owner", "hand"]
    prices = {str(price) for price in (size["price"] for size in demo.SHEETS)}
    planned = Revision.objects.values_list("sheet__stock", flat=True)
    assert {size["price"] for stock in planned for size in stock} <= prices


def test_run_again_it_harms_nothing_and_opens_with_a_new_password(made: tuple[Path, str], tmp_path: Path) -> None:
    data = tmp_path / "data"
    shutil.copytree(made[0], data)
    before = rows_of(data / "demo" / "fabjobs.sqlite3")
    again = manage("demo", data=data)
    assert (again.returncode, again.stderr) == (0, "")
    after = rows_of(data / "demo" / "fabjobs.sqlite3")
    people = (before.pop("fabjobs_person"), after.pop("fabjobs_person"))
    assert after == before
    assert [person[:1] + person[2:] for person in people[0]] == [person[:1] + person[2:] for person in people[1]]
    first, second = SIGN_IN.search(made[1]), SIGN_IN.search(again.stdout)
    assert first
    assert second
    assert first[1] == second[1] == demo.OWNER
    assert first[2] != second[2]


def test_a_shop_of_someones_own_is_left_alone(database: Path, tmp_path: Path) -> None:
    own = tmp_path / "data" / "demo"
    own.mkdir(parents=True)
    shutil.copy(database, own / "fabjobs.sqlite3")
    before = rows_of(own / "fabjobs.sqlite3")
    for command in (["demo"], ["start", "--demo", "--port", "0"]):
        done = manage(*command, data=tmp_path / "data")
        assert (done.returncode, done.stdout) == (1, "")
        assert done.stderr == f"CommandError: the shop in {own} is not a demo: it is left alone\n"
    assert rows_of(own / "fabjobs.sqlite3") == before
    assert [path.name for path in own.iterdir()] == ["fabjobs.sqlite3"]


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file where the folder should be")
    done = manage("demo", data=tmp_path / "data")
    assert done.returncode == 1
    assert done.stderr.startswith("CommandError: cannot write in the data folder")
    assert len(done.stderr.splitlines()) == 1


def test_every_page_says_that_it_is_a_demo(in_demo: Path, settings: Any) -> None:
    settings.DEMO = True
    client = Client()
    client.force_login(Person.objects.get(username=demo.OWNER))
    for page in ("/", "/jobs/", "/jobs/2/", "/jobs/new", "/review/"):
        answer = client.get(page)
        assert answer.status_code == 200
        assert "Demo: all of it invented" in answer.content.decode()
    assert "backup" not in client.get("/").content.decode()
    settings.DEMO = False
    assert "Demo: all of it invented" not in client.get("/").content.decode()


def test_a_fill_that_fails_leaves_nothing(database: Path, django_db_blocker: DjangoDbBlocker, monkeypatch: Any) -> None:
    with closing(sqlite3.connect(database)) as rows:
        rows.execute("DELETE FROM fabjobs_person")
        rows.commit()
    before = rows_of(database)
    monkeypatch.setattr(demo_shop.services, "step_tick", lambda **_: 1 / 0)
    with django_db_blocker.unblock(), working_with(database), pytest.raises(ZeroDivisionError):
        demo_shop.fill(date(2031, 5, 8))
    assert rows_of(database) == before


@pytest.mark.parametrize("day", range(7))
def test_the_clock_stops_at_the_end_of_the_day_and_over_the_weekend(day: int) -> None:
    begin = demo_shop._working_day(date(2031, 5, 5) + timedelta(days=day))
    clock = demo_shop.Clock(demo_shop._first_hour(begin))
    seen = []
    for _ in range(40):
        clock.work(95)
        seen.append(timezone.localtime(clock.now))
    assert all(moment.weekday() < 5 and 7 <= moment.hour < 15 for moment in seen)
    assert len({moment.date() for moment in seen}) == 10  # four times 95 minutes fit a day of 400
    assert seen == sorted(seen)


def test_the_real_clock_runs_again_afterwards() -> None:
    real = timezone.now
    moment = timezone.now() - timedelta(days=9)
    with pytest.raises(ZeroDivisionError), demo_shop._at(moment):
        assert 1 / (timezone.now() - moment).total_seconds()
    assert timezone.now is real
    assert configured.DEMO is False
