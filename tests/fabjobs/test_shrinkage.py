"""The shop's own shrinkage: learnt from its trays as measured, taken into new jobs, put on the blanks and taken off."""

import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

import calc
from calc.fitup import wanted
from calc.learning import WANTED
from fabjobs import planning, shrinkage
from fabjobs.forms import ChangeForm, NewJobForm
from fabjobs.models import AsBuilt, Fabrication, Job, Person, Revision, ShopSettings, Step, Tick
from fabjobs.services import as_built_add, job_create
from fabjobs.shrinkage import own_of
from tests.conftest import SHEET
from tests.fabjobs.changing import first_cut, latest, tick, typed
from tests.fabjobs.test_as_built import SIZES
from tests.shapes import pan

PAGE, TAKE = "/jobs/1/shrinkage/", "/jobs/1/shrinkage/take"
Headers = Callable[..., dict[str, str]]
SHRUNK = {key: size * 0.998 if key != "depth" else size for key, size in SIZES.items()}  # every side 2 mm in a metre


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    cache.clear()


def measured(made: Fabrication, by: Person, copies: int, **change: float) -> None:
    """So many trays welded, and measured by the newest revision."""
    newest = made.revisions.latest("number").number
    for copy in range(1, copies + 1):
        given: dict[str, Any] = {"copy": copy, "measured": {**SHRUNK, **change}, "revision": newest}
        as_built_add(fabrication=made, **given, by=by, form_key=uuid4())
    weld_all(made, by)


def weld_all(made: Fabrication, by: Person) -> None:
    for step in made.steps.filter(kind="weld", retired=False, done_at=None):
        tick(step, by)


@pytest.fixture
def make(owner: Person) -> Callable[..., Job]:
    def made(copies: int, **sheet: Any) -> Job:
        """A job of ten trays, so many of them measured."""
        job = job_create(plan=calc.plan({**SHEET, "quantity": 10, **sheet}), due_day=None, by=owner)
        measured(job.fabrications.get(), owner, copies)
        return job

    return made


def taking(allow: str = "1", started_from: int = 1, **change: str) -> dict[str, str]:
    return {"allow": allow, "started_from": str(started_from), "form_key": str(uuid4()), **change}


def words(page: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", page).split())


# Learnt


@pytest.mark.parametrize("copies", [0, 2, WANTED - 1])
def test_of_too_few_trays_it_says_how_many(signed_in: Client, make: Callable[..., Job], copies: int) -> None:
    make(copies)
    own = own_of("5052-H32", "TIG")
    assert (own.trays, own.times) == (copies, None)
    page = words(signed_in.get(PAGE).content.decode())
    assert "By the published figures, which are for steel: their range is taken wider" in page
    assert f"{copies} of your trays welded and measured so far; {WANTED} are wanted" in page


def test_of_enough_the_next_job_takes_what_they_say(
    signed_in: Client, make: Callable[..., Job], form: dict[str, str]
) -> None:
    make(6)
    own = own_of("5052-H32", "TIG")
    assert own.trays == 6
    assert own.times is not None
    assert own.times.trays == 6
    assert own.times.across > 1  # 2 mm in a metre is more than the published figures give
    assert signed_in.post("/jobs/new", form).status_code == 302
    stored = Revision.objects.get(fabrication__job__number=2)
    assert stored.sheet["making"]["own_shrinkage"]["trays"] == 6
    assert calc.plan(stored.sheet).as_json() == stored.plan
    page = words(signed_in.get("/jobs/2/shrinkage/").content.decode())
    assert "From 6 of your trays" in page


def test_other_metals_and_processes_say_nothing(make: Callable[..., Job]) -> None:
    make(6)
    assert own_of("3003-H14", "TIG").trays == 6  # aluminium too
    assert own_of("304", "TIG").trays == 0
    assert own_of("5052-H32", "MIG").trays == 0
    make(5, making={"effort": "quick", "process": "MIG"})
    assert own_of("5052-H32", "MIG").trays == 5
    assert own_of("unobtainium", "TIG").trays == 0


def test_a_tray_that_looks_wrong_is_left_out_until_it_is_measured_again(
    make: Callable[..., Job], owner: Person
) -> None:
    made = make(5).fabrications.get()
    measured(made, owner, 1, **{"diagonal-1-3": 860.0})
    assert own_of("5052-H32", "TIG").trays == 4
    measured(made, owner, 1)
    assert own_of("5052-H32", "TIG").trays == 5


def test_a_tray_is_not_learnt_from_until_all_its_seams_are_ticked(job: Job, owner: Person, signed_in: Client) -> None:
    made = job.fabrications.get()
    given: dict[str, Any] = {"copy": 1, "measured": SHRUNK, "revision": 1}
    as_built_add(fabrication=made, **given, by=owner, form_key=uuid4())
    assert own_of("5052-H32", "TIG").trays == 0
    assert f"0 of your trays welded and measured so far; {WANTED}" in words(signed_in.get(PAGE).content.decode())
    last, *others = made.steps.filter(kind="weld").order_by("-position")
    assert others
    for step in others:
        tick(step, owner)
    assert own_of("5052-H32", "TIG").trays == 0
    tick(last, owner)
    assert own_of("5052-H32", "TIG").trays == 1


def test_seams_that_are_planned_later_take_back_no_tray(signed_in: Client, make: Callable[..., Job]) -> None:
    job = make(3)
    assert signed_in.post("/jobs/1/change", typed(job, depth="60", reason="Pump sits lower")).status_code == 302
    assert Step.objects.filter(kind="weld", retired=False, done_at=None).exists()
    assert own_of("5052-H32", "TIG").trays == 3


def test_only_the_newest_are_learnt_from_and_they_are_read_once(
    make: Callable[..., Job], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shrinkage, "MOST_TRAYS", 7)
    make(9)
    assert own_of("5052-H32", "TIG").trays == 7
    monkeypatch.setattr(shrinkage, "own_shrinkage", lambda _: pytest.fail("worked out again"))
    with CaptureQueriesContext(connection) as queries:
        assert own_of("5052-H32", "TIG").trays == 7
    assert len(queries) == 3  # lines, what they are of, ticked seams
    assert not any('"plan"' in query["sql"] for query in queries.captured_queries)


def test_how_far_the_next_tray_may_be_from_what_is_learnt_is_told(signed_in: Client, make: Callable[..., Job]) -> None:
    make(6)
    make(0)
    signed_in.post("/jobs/2/shrinkage/take", taking())
    own = own_of("5052-H32", "TIG").times
    assert own is not None
    assert own.along is not None
    page = words(signed_in.get("/jobs/2/shrinkage/").content.decode())
    low, high = max(own.across - 2 * own.across_spread, 0), own.across + 2 * own.across_spread
    assert f"across {own.across:.2f} times the published figure ({low:.2f} to {high:.2f})" in page
    low, high = max(own.along - 2 * own.along_spread, 0), own.along + 2 * own.along_spread
    assert (
        f"along {own.along:.2f} times ({low:.2f} to {high:.2f}); the next tray is within these 19 times in 20" in page
    )


def test_pans_tell_nothing_of_what_shrinks_along(signed_in: Client, owner: Person) -> None:
    """Their corner seams stand square to their tops: the page says so, and the published figure stands."""
    shape = pan(500, 300, 60, inside_radius=2)
    job = job_create(plan=calc.plan({**SHEET, "quantity": 6, "shape": shape}), due_day=None, by=owner)
    made = job.fabrications.get()
    sizes = {line.key: line.nominal for line in wanted(planning.restore(made.revisions.get()))}
    for copy in range(1, 7):
        short = {key: size - 1 if key.startswith("side") else size for key, size in sizes.items()}
        given: dict[str, Any] = {"copy": copy, "measured": short, "revision": 1}
        as_built_add(fabrication=made, **given, by=owner, form_key=uuid4())
    weld_all(made, owner)
    own = own_of("5052-H32", "TIG").times
    assert own is not None
    assert own.along is None
    page = words(signed_in.get(PAGE).content.decode())
    assert "By now 6 of your trays say" in page
    assert "Along: nothing is learnt yet" in page
    signed_in.post(TAKE, taking())
    assert latest(job).sheet["making"]["own_shrinkage"]["along"] is None
    page = words(signed_in.get(PAGE).content.decode())
    assert "From 6 of your trays" in page
    assert "By now" not in page


# Held against what its blanks were cut by


def allow(client: Client, made: Fabrication, on: str = "1") -> None:
    """Shrinkage put on the blanks of a job, or taken off them."""
    number = made.revisions.latest("number").number
    client.post(f"/jobs/{made.job.number}/shrinkage/take", taking(on, started_from=number))
    assert made.revisions.latest("number").number == number + 1


def cut_all(made: Fabrication, by: Person, kind: str = "cut") -> None:
    for step in made.steps.filter(retired=False, kind=kind, done_at=None):
        tick(step, by)


def times() -> tuple[float, float]:
    own = own_of("5052-H32", "TIG").times
    assert own is not None
    assert own.along is not None
    return own.across, own.along


def test_trays_measured_again_after_shrinkage_is_put_on_say_the_same(
    signed_in: Client, make: Callable[..., Job], owner: Person
) -> None:
    """Nothing was ticked: they were made by what was in force when they were measured first."""
    made = make(WANTED).fabrications.get()
    before = times()
    allow(signed_in, made)
    measured(made, owner, WANTED)
    assert times() == before


def test_trays_cut_before_shrinkage_is_put_on_and_measured_after_say_the_same(
    signed_in: Client, make: Callable[..., Job], owner: Person
) -> None:
    for kind in ("cut", "weld"):  # a shop that ticks only its seams says when as well
        first, later = (make(copies).fabrications.get() for copies in (WANTED, 0))
        before = times()
        cut_all(later, owner, kind)
        allow(signed_in, later)
        measured(later, owner, WANTED)
        AsBuilt.objects.filter(fabrication=first).delete()
        assert times() == before
        AsBuilt.objects.all().delete()


def test_trays_cut_anew_with_what_they_shrink_say_that_they_shrink_more(
    signed_in: Client, make: Callable[..., Job], owner: Person
) -> None:
    """As short as those that were cut without it, though cut larger: measured first then, or again."""
    made = make(WANTED).fabrications.get()
    cut_all(made, owner)
    measured(made, owner, WANTED)
    without = times()
    allow(signed_in, made)
    cut_all(made, owner)
    assert times() == without  # not measured since
    measured(made, owner, WANTED)
    with_it = times()
    assert with_it > without
    other = make(0).fabrications.get()
    allow(signed_in, other)
    cut_all(other, owner)
    measured(other, owner, WANTED)
    AsBuilt.objects.filter(fabrication=made).delete()
    assert times()[0] > without[0]


def test_shrinkage_taken_off_after_the_cut_leaves_what_was_allowed_in_the_trays(
    signed_in: Client, make: Callable[..., Job], owner: Person
) -> None:
    made = make(0).fabrications.get()
    allow(signed_in, made)
    cut_all(made, owner)
    measured(made, owner, WANTED)
    with_it = times()
    allow(signed_in, made, "0")
    measured(made, owner, WANTED)
    assert times() == with_it


def test_a_tick_taken_back_or_set_after_the_measuring_says_nothing(
    signed_in: Client, make: Callable[..., Job], owner: Person
) -> None:
    made = make(WANTED).fabrications.get()
    before = times()
    allow(signed_in, made)
    step = made.steps.filter(retired=False, kind="cut")[0]
    tick(step, owner)
    Step.objects.filter(pk=step.pk).update(done_at=None)
    Tick.objects.create(step=step, done=False, by=owner)
    measured(made, owner, WANTED)
    assert times() == before
    cut_all(made, owner)
    assert times() == before


def test_trays_cut_of_one_metal_and_measured_as_another_say_nothing_of_either(
    make: Callable[..., Job], owner: Person
) -> None:
    made = make(0).fabrications.get()
    cut_all(made, owner)
    steel = calc.plan({**SHEET, "quantity": 10, "material": {"alloy": "DC01", "thickness": 1.5}})
    planning.store(fabrication=made, plan=steel, by=owner, reason="Of steel")
    measured(made, owner, WANTED)
    assert [own_of(metal, "TIG").trays for metal in ("DC01", "5052-H32")] == [0, 0]


# Kept


def test_a_change_keeps_what_the_job_was_planned_by_unless_it_is_of_another_metal(
    make: Callable[..., Job], job: Job, owner: Person
) -> None:
    make(6)
    assert latest(job).sheet["making"]["own_shrinkage"] is None
    for alloy, told in (("3003-H14", None), ("304", None)):
        form = ChangeForm(typed(job, alloy=alloy), revision=latest(job), shop=ShopSettings.current())
        assert form.is_valid()
        assert form.sheet["making"]["own_shrinkage"] is told
    # A job of another family's metal that comes to this one takes what its trays say.
    steel = {**SHEET, "material": {"alloy": "DC01", "thickness": 1.5}}
    other = job_create(plan=calc.plan(steel), due_day=None, by=owner)
    form = ChangeForm(typed(other, alloy="5052-H32"), revision=latest(other), shop=ShopSettings.current())
    assert form.is_valid()
    assert form.sheet["making"]["own_shrinkage"]["trays"] == 6


def test_more_trays_do_not_make_a_job_another(make: Callable[..., Job], job: Job) -> None:
    make(6)
    form = ChangeForm(typed(job), revision=latest(job), shop=ShopSettings.current())
    assert form.is_valid()
    assert not form.changes_the_sheet


def test_the_form_of_a_new_job_holds_nothing_of_it(make: Callable[..., Job], form: dict[str, str]) -> None:
    make(6)
    read = NewJobForm(form, shop=ShopSettings.current())
    assert read.is_valid()
    assert read.sheet["making"]["own_shrinkage"]["trays"] == 6
    assert "allow_shrinkage" not in read.sheet["making"]  # it is put on the blanks by hand


# Put on the blanks


def masses(revision: Revision) -> list[float]:
    return [blank["mass"] for blank in revision.plan["blanks"]]


def test_put_on_the_blanks_it_is_the_next_revision_and_taken_off_the_one_after(
    signed_in: Client, make: Callable[..., Job], job: Job
) -> None:
    answer = signed_in.post(TAKE, taking())
    assert (answer.status_code, answer["Location"]) == (302, "/jobs/1/")
    before, after = Revision.objects.filter(fabrication__job=job).order_by("number")
    assert (after.number, after.reason) == (2, "Shrinkage put on the blanks")
    assert after.sheet["making"] == {**before.sheet["making"], "allow_shrinkage": True}
    assert all(larger > size for larger, size in zip(masses(after), masses(before), strict=True))
    assert calc.plan(after.sheet).as_json() == after.plan
    assert "The blanks allow for it" in words(signed_in.get(PAGE).content.decode())
    signed_in.post(TAKE, taking("0", started_from=2))
    third = latest(job)
    assert (third.number, third.reason) == (3, "Shrinkage taken off the blanks")
    assert masses(third) == masses(before)


def test_put_on_the_blanks_it_goes_by_what_the_trays_say_today(
    signed_in: Client, make: Callable[..., Job], job: Job
) -> None:
    signed_in.post(TAKE, taking())
    make(6)
    page = words(signed_in.get(PAGE).content.decode())
    assert "By now 6 of your trays say" in page
    assert "Put it on by today's figures" in page.replace("&#x27;", "'")
    signed_in.post(TAKE, taking(started_from=2))
    assert latest(job).sheet["making"]["own_shrinkage"]["trays"] == 6
    assert masses(latest(job)) > masses(Revision.objects.get(fabrication__job=job, number=2))


def test_put_on_once_by_todays_figures_it_is_so(signed_in: Client, make: Callable[..., Job], job: Job) -> None:
    """What comes back from the stored sheet is what was learnt: it is offered no more, and sent again makes no revision."""
    make(6)
    signed_in.post(TAKE, taking())
    assert latest(job).number == 2
    page = words(signed_in.get(PAGE).content.decode()).replace("&#x27;", "'")
    assert "By now" not in page
    assert "today's figures" not in page
    assert signed_in.post(TAKE, taking(started_from=2)).status_code == 302
    assert latest(job).number == 2


def test_where_it_is_cut_into_that_is_said_first(signed_in: Client, job: Job, owner: Person) -> None:
    assert "Cut into." not in words(signed_in.get(PAGE).content.decode())
    tick(first_cut(job), owner)
    page = words(signed_in.get(PAGE).content.decode())
    assert page.index("Cut into.") < page.index("Put it on the blanks")


def test_the_same_form_twice_makes_one_revision(signed_in: Client, job: Job) -> None:
    form = taking()
    assert [signed_in.post(TAKE, form).status_code for _ in range(2)] == [302, 302]
    assert Revision.objects.count() == 2


def test_what_is_so_already_makes_no_revision(signed_in: Client, job: Job, make: Callable[..., Job]) -> None:
    assert signed_in.post(TAKE, taking("0")).status_code == 302
    signed_in.post(TAKE, taking())
    assert signed_in.post(TAKE, taking(started_from=2)).status_code == 302
    assert latest(job).number == 2


@pytest.mark.parametrize("by_htmx", [False, True])
def test_a_stale_tap_is_told_and_changes_nothing(
    signed_in: Client, job: Job, owner: Person, plan: calc.Plan, htmx: Headers, by_htmx: bool
) -> None:
    planning.store(fabrication=job.fabrications.get(), plan=plan, by=owner, reason="Pump sits lower")
    answer = signed_in.post(TAKE, taking(), headers=htmx() if by_htmx else {})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "saved revision 2" in page
    assert 'name="started_from" value="2"' in page
    assert page.lstrip().startswith('<div id="shrinkage"') is by_htmx
    assert Revision.objects.count() == 2


def test_by_htmx_the_whole_page_is_led_on(signed_in: Client, job: Job, htmx: Headers) -> None:
    assert signed_in.post(TAKE, taking(), headers=htmx())["HX-Redirect"] == "/jobs/1/"


def test_what_can_not_be_planned_is_told(signed_in: Client, job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: object) -> calc.Plan:
        raise calc.SheetFaults([calc.Fault("sheet.stock", "no sheet is large enough")])

    monkeypatch.setattr(shrinkage.planning, "compute", refuse)
    answer = signed_in.post(TAKE, taking())
    assert answer.status_code == 422
    assert "no sheet is large enough" in answer.content.decode()
    assert Revision.objects.count() == 1


@pytest.mark.parametrize("change", [{"allow": "2"}, {"allow": ""}, {"started_from": "0"}, {"form_key": "x"}])
def test_what_is_not_whole_is_told(signed_in: Client, job: Job, change: dict[str, str]) -> None:
    answer = signed_in.post(TAKE, taking() | change)
    assert answer.status_code == 422
    assert "did not come back whole" in answer.content.decode()
    assert Revision.objects.count() == 1


# Refused


def test_a_job_that_is_not_there_or_has_no_seam(signed_in: Client, owner: Person) -> None:
    parts = {"family": "flat-parts", "parts": [{"name": "lid", "outline": [[0, 0], [300, 0], [300, 200], [0, 200]]}]}
    job_create(plan=calc.plan({**SHEET, "shape": parts}), due_day=None, by=owner)
    for path in (PAGE, "/jobs/9/shrinkage/"):
        assert signed_in.get(path).status_code == 404
        assert signed_in.post(f"{path}take", taking()).status_code == 404


def test_wrong_method(signed_in: Client, job: Job) -> None:
    assert signed_in.post(PAGE, taking()).status_code == 405
    assert signed_in.get(TAKE).status_code == 405


def test_signed_out(job: Job) -> None:
    for answer in (Client().get(PAGE), Client().post(TAKE, taking())):
        assert answer.status_code == 302
        assert answer["Location"].startswith("/sign-in")
    assert Revision.objects.count() == 1
