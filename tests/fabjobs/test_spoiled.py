"""Spoiled blanks: another laid out in its place, what was lost charged, and taken back where one is good after all."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
import shapely
from django.utils import timezone

from fabjobs import planning
from fabjobs.frozen import frozen_sheets
from fabjobs.looking_back.review import Review, in_hand_of
from fabjobs.looking_back.spoiled import spoiled_work
from fabjobs.metal import MetalBook
from fabjobs.models import (
    Fabrication,
    Job,
    MoveKind,
    Person,
    Revision,
    Spoiled,
    SpoiledWork,
    Step,
    StockMove,
    TimeEntry,
)
from fabjobs.services import (
    CannotRestore,
    JobIsStale,
    LineIsStruck,
    SentBefore,
    copy_spoil,
    job_create,
    time_enter,
)
from fabjobs.spoiled_copies import CannotSpoil, CutCopies
from fabjobs.spoiling import Spoiling, take_for_good
from tests.fabjobs.ticking import tick

WHY = "The guide slipped"


@pytest.fixture
def made(job: Job) -> Fabrication:
    return job.fabrications.get()


def step_of(made: Fabrication, key: str) -> Step:
    return made.steps.get(key=key, retired=False)


def cut_all(made: Fabrication, by: Person, sheet: int = 1) -> None:
    """Marked out, and every cut of a sheet made."""
    for step in made.steps.filter(retired=False, kind="mark", done_at=None):
        tick(step, by)
    for step in made.steps.filter(retired=False, kind="cut", done_at=None, text__startswith=f"Sheet {sheet}, "):
        tick(step, by)


def spend(step: Step, by: Person, seconds: int, **given: Any) -> TimeEntry:
    entry: dict[str, Any] = {"step": step, "person": by, "by": by, "seconds": seconds, "rate": Decimal("40.00")}
    return TimeEntry.objects.create(**entry, **{"started_at": timezone.now(), **given})


def spoil(made: Fabrication, copy: str, by: Person, why: str = WHY) -> Spoiled:
    return Spoiling.of(made.revisions.latest("number"), copy).keep(why=why, by=by, form_key=uuid4())


def newest(made: Fabrication) -> Revision:
    return made.revisions.latest("number")


def placed_in(revision: Revision, name: str) -> list[dict[str, Any]]:
    return [
        placed
        for used in revision.plan["layout"]["sheets"]
        for placed in used["placed"]
        if f"{placed['blank']}.{placed['copy']}" == name
    ]


def test_another_is_laid_out_and_what_was_done_comes_back(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    tick(step_of(made, "dress:C"), owner)
    before = newest(made)
    part = before.parts.get(blank="C")
    line = spoil(made, "C.1", owner)
    revision = newest(made)
    assert (revision.number, revision.reason, line.revision) == (2, "C.1 spoiled: The guide slipped", revision)
    assert (line.blank, line.copy, line.count, line.mass, line.area) == ("C", "C.1", 1, part.mass, part.area)
    ((lost,), (another,)) = placed_in(revision, "C.1"), placed_in(revision, "C.2")
    assert lost["spoiled"] == {"again": ["mark", "dress"], "by": 2}
    assert (lost["fits"], another["fits"]) == (False, True)
    again = {step.key for step in made.steps.filter(retired=False, done_at=None, key__contains=":again")}
    assert again == {"mark:C.1:again", "dress:C.1:again"}
    for key in ("mark:C", "dress:C"):
        assert step_of(made, key).done_by == owner
    to_cut = made.steps.filter(retired=False, kind="cut", done_at=None)
    assert to_cut
    assert all("C.2" in step.key for step in to_cut)
    assert planning.compute(revision.sheet).as_json() == revision.plan  # the stored sheet alone gives it again


def test_what_stood_undone_is_done_once(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    spoil(made, "C.1", owner)
    assert not made.steps.filter(key="dress:C.1:again").exists()
    assert step_of(made, "dress:C").done_at is None


def test_one_in_its_place_is_spoiled_too(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    spoil(made, "C.1", owner)
    tick(step_of(made, "mark:C.1:again"), owner)
    for step in made.steps.filter(retired=False, kind="cut", done_at=None):
        tick(step, owner)
    spend(step_of(made, "mark:C.1:again"), owner, 300)
    line = spoil(made, "C.2", owner)
    assert placed_in(newest(made), "C.3")
    assert step_of(made, "mark:C.2:again").done_at is None
    assert step_of(made, "mark:C.1:again").done_by == owner
    assert {work.step.key: work.share for work in line.work.exclude(step__kind="cut")} == {"mark:C.1:again": 1.0}


def test_the_same_form_is_one_line_and_one_revision(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    spoiling = Spoiling.of(newest(made), "C.1")
    key = uuid4()
    line = spoiling.keep(why=WHY, by=owner, form_key=key)
    again: dict[str, Any] = {"fabrication": made, "copy": "C.1", "plan": spoiling.plan, "started_from": 1, "by": owner}
    assert copy_spoil(**again, why=WHY, form_key=key) == line
    with pytest.raises(SentBefore):
        copy_spoil(**again, why="Something else", form_key=key)
    assert (Spoiled.objects.count(), made.revisions.count()) == (1, 2)


@pytest.mark.parametrize("meanwhile", ["a tick of its marking", "a cut", "another revision"])
def test_who_comes_second_is_told_and_nothing_is_written(made: Fabrication, owner: Person, meanwhile: str) -> None:
    cut_all(made, owner)
    last = made.steps.filter(kind="cut", retired=False).order_by("position").last()
    assert last is not None
    tick(last, owner, done=False)
    spoiling = Spoiling.of(newest(made), "C.1")
    if meanwhile == "a tick of its marking":
        tick(step_of(made, "mark:C"), owner, done=False)
    elif meanwhile == "a cut":
        tick(last, owner)
    else:
        spoil(made, "A.1", owner)
    counts = Spoiled.objects.count(), made.revisions.count(), SpoiledWork.objects.count()
    with pytest.raises(JobIsStale):
        spoiling.keep(why=WHY, by=owner, form_key=uuid4())
    assert counts == (Spoiled.objects.count(), made.revisions.count(), SpoiledWork.objects.count())


def test_what_is_not_cut_is_no_spoiled_metal(made: Fabrication, owner: Person) -> None:
    with pytest.raises(CannotSpoil, match=r"C\.1 is not cut yet, so no metal is spoiled"):
        Spoiling.of(newest(made), "C.1")
    cuts = made.steps.filter(kind="cut", retired=False).order_by("position")
    first = next(step for step in cuts if step.key.count(":") > 1)  # one that finishes an edge
    tick(first, owner)
    (sheet,) = CutCopies.of_job(newest(made)).sheets
    edged = {placed.name for placed in sheet.cut}
    assert edged
    assert edged <= set(first.key.removeprefix("cut:").replace("+", ":").split(":"))
    uncut = next(placed.name for placed in sheet.uncut)
    with pytest.raises(CannotSpoil, match="take the tick of its marking back"):
        Spoiling.of(newest(made), uncut)
    with pytest.raises(CannotSpoil, match=r"There is no Z\.9"):
        Spoiling.of(newest(made), "Z.9")
    assert not Spoiled.objects.exists()


def test_spoiled_twice_is_refused(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    spoil(made, "C.1", owner)
    with pytest.raises(CannotSpoil, match=r"C\.1 is spoiled already"):
        Spoiling.of(newest(made), "C.1")


# --- where it comes from


def put_all_offcuts_away(made: Fabrication, by: Person) -> None:
    from fabjobs.services import offcuts_return_as_planned

    book = MetalBook.of(newest(made), planning.restore(newest(made)))
    offcuts_return_as_planned(fabrication=made, planned=book.offcuts_planned, by=by, form_key=uuid4())


def test_the_same_sheet_comes_first(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    place = Spoiling.of(newest(made), "C.1").place
    assert place is not None
    assert (place.kind, place.sheet) == ("same", 1)
    assert "C.1 spoiled" in place.drawing
    assert "C.2" in place.drawing


def test_then_the_rack_and_then_a_new_sheet(made: Fabrication, owner: Person) -> None:
    """The offcut of the sheet comes to the rack: from there it is taken, and put to another use, a new sheet is."""
    cut_all(made, owner)
    put_all_offcuts_away(made, owner)
    place = Spoiling.of(newest(made), "C.1").place
    assert place is not None
    assert (place.kind, place.sheet) == ("rack", 2)
    for line in StockMove.objects.filter(kind=MoveKind.RETURNED):
        from fabjobs.services import stock_scrap

        stock_scrap(item=line.item, count=line.count, reason="Trodden on", by=owner, form_key=uuid4())
    spoiling = Spoiling.of(newest(made), "C.1")
    assert spoiling.place is not None
    assert (spoiling.place.kind, spoiling.place.sheet, spoiling.place.stock.price) == ("new", 2, "96.00")
    assert spoiling.cost[1] - spoiling.cost[0] > Decimal("96.00")  # the sheet, and the work done again
    spoiling.keep(why=WHY, by=owner, form_key=uuid4())
    assert len(newest(made).plan["layout"]["sheets"]) == 2


def test_a_piece_of_the_rack_is_reserved_for_it(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    put_all_offcuts_away(made, owner)
    spoil(made, "C.1", owner)
    put_back = StockMove.objects.filter(kind=MoveKind.RETURNED).values("item")
    assert sum(StockMove.objects.filter(item__in=put_back).values_list("reserved", flat=True)) == 1


# --- metal and time


def test_the_metal_balances_to_the_gram(made: Fabrication, owner: Person) -> None:
    """Sheet 2.5 x 1.25 m x 1.5 mm x 2.68 g/cm3 = 12.5625 kg (5052, Aluminum Association); C by its outline as it lies."""
    cut_all(made, owner)
    spoil(made, "C.1", owner)
    book = MetalBook.of(newest(made), planning.restore(newest(made)))
    actual, planned = book.actual, book.planned
    assert actual is not None
    (lost,) = placed_in(newest(made), "C.1")
    mass = shapely.Polygon(lost["outline"]).area * 1.5 * 2.68e-6
    for side in (planned, actual):
        assert side.issued.mass == pytest.approx(12.5625, abs=1e-6)
        assert side.spoiled.mass == pytest.approx(mass, abs=1e-4)
        parts = (side.in_blanks, side.returned, side.spoiled, side.in_hand, side.scrap)
        assert sum(part.mass for part in parts) == pytest.approx(12.5625, abs=1e-9)
        assert sum((part.money for part in parts), Decimal(0)) == Decimal("96.00")
        assert side.spoiled.money == pytest.approx(Decimal(96) * Decimal(mass / 12.5625), abs=Decimal("0.01"))
        assert side.scrap.mass + side.in_hand.mass > 0  # the other in its place is still to be cut
    assert planned.spoiled.mass == pytest.approx(actual.spoiled.mass, abs=1e-6)  # stored figures are rounded
    review = Review.of([made.pk], in_hand_of(made.job))
    assert review.actual is not None
    assert review.planned.spoiled.mass == pytest.approx(planned.spoiled.mass, abs=1e-6)
    assert review.planned.scrap.mass == pytest.approx(planned.scrap.mass, abs=1e-6)
    assert review.actual.spoiled.mass == pytest.approx(actual.spoiled.mass, abs=1e-9)
    assert review.actual.scrap.mass == pytest.approx(actual.scrap.mass, abs=1e-6)


def test_the_time_that_was_lost_by_hand(made: Fabrication, owner: Person) -> None:
    """Marking of C, 10 min, all of it; a cut that finishes an edge of C and one of another blank, 6 min, half of it."""
    cut_all(made, owner)
    shared = next(step for step in made.steps.filter(kind="cut") if step.key.count(":") == 3 and "C.1:" in step.key)
    assert len(shared.key.split("+")) == 2
    spend(step_of(made, "mark:C"), owner, 600)
    spend(shared, owner, 360)
    spend(step_of(made, "mark:A"), owner, 700)
    line = spoil(made, "C.1", owner)
    assert {work.step.key: work.share for work in line.work.all()}["mark:C"] == 1.0
    assert line.work.get(step=shared).share == 0.5
    lost = spoiled_work([made.pk])[made.pk]
    assert lost.minutes == pytest.approx(10 + 3)
    assert lost.money == Decimal("8.67")  # 13 min at 40.00 an hour: 8.666...
    spend(step_of(made, "mark:C"), owner, 1200, started_at=timezone.now() + timedelta(hours=1))  # on the next one
    assert spoiled_work([made.pk])[made.pk].minutes == pytest.approx(13)
    review = Review.of([made.pk])
    assert review.spoiled_work == lost


def test_of_several_marked_out_in_one_step_a_part(owner: Person, sheet: dict[str, Any]) -> None:
    """Three trays: A is marked out three times in 30 min. One is spoiled: 10 min. Of a sheet that is thrown away: 30 min."""
    sheet["quantity"] = 3
    made = job_create(plan=planning.compute(sheet), due_day=None, by=owner).fabrications.get()
    cut_all(made, owner)
    spend(step_of(made, "mark:A"), owner, 1800)
    names = [placed.name for sheet in CutCopies.of_job(newest(made)).sheets for placed in sheet.cut]
    for count, name in enumerate([name for name in names if name.startswith("A.")], 1):
        spoil(made, name, owner)
        assert spoiled_work([made.pk])[made.pk].minutes == pytest.approx(10 * count)
    assert count == 3


def test_time_by_hand_counts_on_the_day_and_a_correction_is_followed(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    spoil(made, "C.1", owner)
    day = {"day": timezone.localdate(), "form_key": uuid4()}
    entry = time_enter(step=step_of(made, "mark:C"), minutes=10, by=owner, **day)
    assert spoiled_work([made.pk])[made.pk].minutes == pytest.approx(10)
    TimeEntry.objects.filter(pk=entry.pk).update(seconds=300)
    assert spoiled_work([made.pk])[made.pk].minutes == pytest.approx(5)


# --- good after all


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "America/Los_Angeles", "UTC"])
@pytest.mark.parametrize("hour", [7, 18])
def test_time_by_hand_counts_by_the_shops_day_wherever_it_is(
    made: Fabrication, owner: Person, settings: Any, zone: str, hour: int
) -> None:
    """Spoiled on 9 May by the shop's clock: what was logged on 8 and 9 May counts, on 10 May no more."""
    settings.TIME_ZONE = zone
    with timezone.override(zone):
        cut_all(made, owner)
        line = spoil(made, "C.1", owner)
        Spoiled.objects.filter(pk=line.pk).update(at=datetime(2031, 5, 9, hour, tzinfo=ZoneInfo(zone)))
        for day, minutes in ((8, 1), (9, 2), (10, 4)):
            given: dict[str, Any] = {"day": date(2031, 5, day), "minutes": minutes, "form_key": uuid4()}
            time_enter(step=step_of(made, "mark:C"), by=owner, **given)
        assert spoiled_work([made.pk])[made.pk].minutes == pytest.approx(1 + 2)


def restore(line: Spoiled, by: Person, why: str = "Straightened") -> Spoiled:
    line.refresh_from_db()
    return take_for_good(line, why=why, by=by)


def test_taken_back_all_is_as_it_was(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    tick(step_of(made, "dress:C"), owner)
    spend(step_of(made, "mark:C"), owner, 600)
    before, rows = newest(made), dict(made.steps.filter(retired=False).values_list("key", "pk"))
    lay = frozen_sheets(made)
    line = restore(spoil(made, "C.1", owner), owner)
    after = newest(made)
    assert (line.struck_by, line.struck_why) == (owner, "Straightened")
    assert after.reason == "C.1 is good after all: Straightened"
    assert frozen_sheets(made) == lay
    assert after.plan["layout"]["sheets"][0]["offcuts"] == before.plan["layout"]["sheets"][0]["offcuts"]
    assert dict(made.steps.filter(retired=False).values_list("key", "pk")) == rows
    assert not made.steps.filter(retired=False, kind="cut", done_at=None).exists()
    assert spoiled_work([made.pk]) == {}
    review = Review.of([made.pk])
    assert review.actual is not None
    assert (review.planned.spoiled.mass, review.actual.spoiled.mass) == (0, 0)


def test_taken_back_twice(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    line = restore(spoil(made, "C.1", owner), owner)
    assert restore(line, owner) == line
    with pytest.raises(LineIsStruck):
        restore(line, owner, why="For another reason")
    assert made.revisions.count() == 3


def test_one_whose_place_is_cut_is_not_taken_back(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    line = spoil(made, "C.1", owner)
    tick(made.steps.filter(retired=False, kind="cut", done_at=None)[0], owner)
    with pytest.raises(CannotRestore, match="edda ticked a cut that came with the one in its place: Sheet 1, cut"):
        restore(line, owner)
    line.refresh_from_db()
    assert line.struck_at is None
    assert made.revisions.count() == 2


def test_one_after_which_another_revision_came_is_not_taken_back(made: Fabrication, owner: Person) -> None:
    cut_all(made, owner)
    line = spoil(made, "C.1", owner)
    spoil(made, "A.1", owner)
    with pytest.raises(CannotRestore, match=r"Revision 3 \(A\.1 spoiled: The guide slipped\) came since"):
        restore(line, owner)


# --- cut along their outlines


def test_cut_to_outlines_only_the_new_one_is_to_cut(owner: Person, sheet: dict[str, Any]) -> None:
    sheet["making"]["cutting"] = "contour"
    made = job_create(plan=planning.compute(sheet), due_day=None, by=owner).fabrications.get()
    for kind in ("mark", "cut"):
        for step in made.steps.filter(kind=kind):
            tick(step, owner)
    spoil(made, "C.1", owner)
    assert step_of(made, "cut:C").done_by == owner
    assert step_of(made, "cut:C.1:again").done_at is None
    assert len(frozen_sheets(made)) == 1  # the sheet of the new one is not cut into yet
    tick(step_of(made, "cut:C.1:again"), owner)
    assert len(frozen_sheets(made)) == 2
