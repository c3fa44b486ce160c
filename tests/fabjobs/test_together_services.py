"""Two jobs laid out together: both or none, what the ledger passes on, and what parts them."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest

import calc
from calc.layout import effort
from fabjobs import planning
from fabjobs.heading import Heading
from fabjobs.improving import look
from fabjobs.looking_back.sums import made_of
from fabjobs.metal import MetalBook
from fabjobs.models import Form, Improvement, Job, MoveKind, Person, Revision, ShopSettings, Step, StockItem, StockMove
from fabjobs.rack import pieces_for, sheet_now
from fabjobs.services import (
    JobIsStale,
    NotOnTheRack,
    improvement_take,
    job_change,
    job_create,
    jobs_lay_together,
    line_strike,
    offcuts_return_as_planned,
    plan_reserve,
    step_tick,
)
from fabjobs.services.ledger import balances
from fabjobs.sharing import elsewhere_on, told_alike
from fabjobs.together import along, along_found, candidates, parted_by, plan_apart, renumbered_by
from tests.fabjobs.changing import first_cut, latest
from tests.fabjobs.pairs import both, first_cut_of, lay_together, on_small_sheets, renumbering, shares, tray, two_jobs
from tests.fabjobs.racked import offcut

pytestmark = pytest.mark.django_db


@pytest.fixture
def jobs(owner: Person, shop: ShopSettings) -> tuple[Job, Job]:
    return two_jobs(owner)


@pytest.fixture
def pair(jobs: tuple[Job, Job], owner: Person) -> tuple[Job, Job]:
    """Guest and host."""
    lay_together(*jobs, owner)
    return jobs


def set_tick(step: Step, by: Person, *, done: bool = True) -> None:
    step.refresh_from_db()
    step_tick(step=step, version=step.version, done=done, by=by, form_key=uuid4())


def grow(job: Job, by: Person, quantity: int = 2) -> Revision:
    """More of it, as the page of changes saves it."""
    revision = latest(job)
    plan = planning.compute({**sheet_now(revision), "quantity": quantity})
    job.refresh_from_db()
    return job_change(
        fabrication=revision.fabrication,
        plan=plan,
        heading=Heading.of(job),
        started_from=revision.number,
        job_version=job.version,
        reason="Two are wanted",
        by=by,
        along=along(revision, plan),
    )


# Laid out together


def test_both_get_a_revision_that_tells_of_the_other(pair: tuple[Job, Job]) -> None:
    guest, host = pair
    assert [latest(job).number for job in pair] == [2, 2]
    assert latest(host).reason == "Laid out together with job 1"
    assert latest(guest).reason == "Laid out together with job 2"
    assert latest(host).sheet["guests"][0]["job"] == "1"
    assert {entry["job"] for entry in latest(guest).sheet["elsewhere"]} == {"2"}
    assert told_alike(latest(host), latest(guest))


def test_the_stored_sheets_alone_make_both_plans_again(pair: tuple[Job, Job]) -> None:
    for job in pair:
        assert calc.plan(latest(job).sheet).as_json() == latest(job).plan


def test_the_guest_knows_which_copies_the_host_turned_over(jobs: tuple[Job, Job], owner: Person) -> None:
    """Job 3's sheet turns two of the blanks of a second tray like job 1's over."""
    guest = job_create(plan=calc.plan(tray("Lathe tray, right", 700, 420)), due_day=date(2031, 7, 9), by=owner)
    host = job_create(plan=calc.plan(tray("Mill tray", 530, 350)), due_day=date(2031, 7, 1), by=owner)
    lay_together(guest, host, owner)
    placed = [one for used in latest(host).plan["layout"]["sheets"] for one in used["placed"]]
    over = {f"{one['blank'][2:]}.{one['copy']}" for one in placed if one["turned_over"] and "/" in one["blank"]}
    assert over
    told = {
        f"{of['blank']}.{copy}"
        for entry in latest(guest).sheet["elsewhere"]
        for of in entry["copies"]
        for copy in of["turned_over"]
    }
    assert told == over


def test_a_guest_of_an_earlier_day_that_does_not_say_how_its_copies_lie_agrees(pair: tuple[Job, Job]) -> None:
    guest, host = (latest(job) for job in pair)
    for of in (of for entry in guest.sheet["elsewhere"] for of in entry["copies"]):
        del of["turned_over"]
    assert told_alike(host, guest)
    guest.sheet["elsewhere"][0]["price"] = "0.01"
    assert not told_alike(host, guest)


def test_the_two_cost_what_the_sheets_cost(pair: tuple[Job, Job]) -> None:
    guest, host = (latest(job) for job in pair)
    sheets = len(host.plan["layout"]["sheets"])
    assert guest.metal_cost + host.metal_cost == sheets * Decimal("96.35")
    assert guest.metal_cost > 0


def test_the_same_form_again_is_no_second_time(jobs: tuple[Job, Job], owner: Person) -> None:
    laid, key = both(*jobs), uuid4()
    first = jobs_lay_together(host=laid["host"], guest=laid["guest"], by=owner, form_key=key)
    assert jobs_lay_together(host=laid["host"], guest=laid["guest"], by=owner, form_key=key) == first
    assert Revision.objects.count() == 4


def test_one_that_was_changed_meanwhile_leaves_both_as_they_were(jobs: tuple[Job, Job], owner: Person) -> None:
    laid = both(*jobs)
    grow(jobs[0], owner)
    with pytest.raises(JobIsStale, match="saved revision 2"):
        jobs_lay_together(host=laid["host"], guest=laid["guest"], by=owner, form_key=uuid4())
    assert [latest(job).number for job in jobs] == [2, 1]


@pytest.mark.parametrize("place", [0, 1])
def test_one_that_was_cut_into_meanwhile_leaves_both_as_they_were(
    jobs: tuple[Job, Job], owner: Person, place: int
) -> None:
    laid = both(*jobs)
    set_tick(first_cut(jobs[place]), owner)
    with pytest.raises(JobIsStale, match=f"Job {place + 1}: .*ticked a cut"):
        jobs_lay_together(host=laid["host"], guest=laid["guest"], by=owner, form_key=uuid4())
    assert [latest(job).number for job in jobs] == [1, 1]


def test_one_that_is_with_a_third_by_now_can_not_be_taken(jobs: tuple[Job, Job], owner: Person) -> None:
    laid = both(*jobs)
    lay_together(*jobs, owner)
    with pytest.raises(JobIsStale, match="is laid out with job"):
        jobs_lay_together(host=laid["host"], guest=laid["guest"], by=owner, form_key=uuid4())


def test_a_guest_that_says_otherwise_of_its_share_is_refused(jobs: tuple[Job, Job], owner: Person) -> None:
    laid = both(*jobs)
    sheet = laid["guest"].plan.sheet.as_json()
    sheet["elsewhere"][0]["price"] = "0.01"
    wrong = replace(laid["guest"], plan=calc.plan(sheet))
    with pytest.raises(JobIsStale, match="shares with it"):
        jobs_lay_together(host=laid["host"], guest=wrong, by=owner, form_key=uuid4())
    assert Revision.objects.count() == 2


def test_only_jobs_in_hand_of_the_same_metal_saw_and_currency_are_candidates(
    jobs: tuple[Job, Job], owner: Person
) -> None:
    for change in (
        {"material": {"alloy": "5052-H32", "thickness": 2.0}},
        {"material": {"alloy": "6061-T6", "thickness": 1.5}},
        {"material": {"alloy": "5052-H32", "thickness": 1.5, "finished_face": True}},
        {"making": {"effort": "quick", "kerf": 3.0}},
        {"making": {"effort": "quick", "cutting": "contour"}},
        {"rates": {"currency": "USD"}},
    ):
        job_create(plan=calc.plan(tray("Other", 300, 200, **change)), due_day=None, by=owner)
    assert [other.fabrication.job.number for other in candidates(latest(jobs[0]))] == [2]
    set_tick(first_cut(jobs[1]), owner)
    assert candidates(latest(jobs[0])) == []


def test_what_the_guest_had_reserved_is_free_and_the_host_has_what_it_is_laid_out_on(
    owner: Person, shop: ShopSettings
) -> None:
    piece = offcut(owner, 1200.0, 1000.0)
    jobs = two_jobs(
        owner, stock=[{"length": 1200, "width": 1000, "price": "12.00", "rack": piece.number, "label": "R1"}]
    )
    plan_reserve(fabrication=latest(jobs[0]).fabrication, plan=planning.restore(latest(jobs[0])), by=owner)
    assert balances(piece) == (1, 1)
    lay_together(*jobs, owner)
    held = StockMove.objects.filter(fabrication=latest(jobs[0]).fabrication)
    assert sum(move.reserved for move in held) == 0


# The ledger


def test_the_first_cut_passes_the_guests_share_on(pair: tuple[Job, Job], owner: Person) -> None:
    guest, host = pair
    (due,) = elsewhere_on(latest(host).plan, host.number, str(guest.number))
    set_tick(first_cut(host), owner)
    (line,) = shares()
    sheet = StockItem.objects.get(form=Form.SHEET)
    assert line.fabrication == latest(guest).fabrication
    assert (line.item.area, line.item.price) == (due["area"], Decimal(due["price"]))
    assert line.item.label == f"share of {sheet.name}"
    assert line.item.mass == pytest.approx(due["area"] * 1.5 * 2680e-9)  # [kg] 5052 weighs 2680 kg/m3, handbooks
    assert balances(line.item) == (0, 0)


def test_both_books_balance_to_the_cent_and_the_gram(pair: tuple[Job, Job], owner: Person) -> None:
    guest, host = (latest(job) for job in pair)
    set_tick(first_cut(pair[1]), owner)
    books = [MetalBook.of(revision, planning.restore(revision)) for revision in (guest, host)]
    actual = [book.actual for book in books]
    assert all(actual)
    assert sum(balance.issued.money for balance in actual) == Decimal("96.35")
    assert sum(balance.issued.mass for balance in actual) == pytest.approx(2.5 * 1.25 * 1.5 * 2.68, abs=5e-4)
    for balance, book in zip(actual, books, strict=True):
        assert balance.issued.money == book.planned.issued.money
        assert balance.issued.mass == pytest.approx(book.planned.issued.mass, abs=5e-4)
        assert not balance.discrepancy
    made = made_of([guest.fabrication_id, host.fabrication_id])
    for row, balance in zip(made, actual, strict=True):
        assert row.issued.money == balance.issued.money
        assert row.issued.mass == pytest.approx(balance.issued.mass)
        assert row.returned.mass == 0


def test_an_offcut_goes_back_to_the_host_at_what_was_paid_for_it(pair: tuple[Job, Job], owner: Person) -> None:
    """By mass of the whole sheet: the guest took its share at the same price a kilogram."""
    _, host = pair
    set_tick(first_cut(host), owner)
    book = MetalBook.of(latest(host), planning.restore(latest(host)))
    made = latest(host).fabrication
    lines = offcuts_return_as_planned(fabrication=made, planned=book.offcuts_planned, by=owner, form_key=uuid4())
    assert lines
    for line in lines:
        assert float(line.item.price) == pytest.approx(96.35 * line.item.area / (2500 * 1250), abs=0.011)
    after = MetalBook.of(latest(host), planning.restore(latest(host))).actual
    assert after is not None
    assert after.scrap.mass > 0
    assert not after.discrepancy


def test_the_tick_taken_back_takes_the_share_back(pair: tuple[Job, Job], owner: Person) -> None:
    cut = first_cut(pair[1])
    set_tick(cut, owner)
    set_tick(cut, owner, done=False)
    assert shares() == []
    assert all(balances(item) == (0, 0) for item in StockItem.objects.all())
    set_tick(cut, owner)
    assert len(shares()) == 1


def test_a_second_cut_passes_nothing_on_again(pair: tuple[Job, Job], owner: Person) -> None:
    cuts = Step.objects.filter(fabrication__job=pair[1], kind="cut").order_by("position")[:2]
    for cut in cuts:
        set_tick(cut, owner)
    assert len(shares()) == 1


def test_a_share_is_no_piece_of_the_rack(pair: tuple[Job, Job], owner: Person) -> None:
    set_tick(first_cut(pair[1]), owner)
    for job in pair:
        assert not pieces_for("5052-H32", 1.5, latest(job).fabrication).filter(form=Form.SHARE)


@pytest.mark.parametrize("kind", [MoveKind.ISSUED, MoveKind.RETURNED])
def test_a_share_is_not_struck_out_by_hand(pair: tuple[Job, Job], owner: Person, kind: str) -> None:
    set_tick(first_cut(pair[1]), owner)
    line = StockMove.objects.get(item__form=Form.SHARE, kind=kind)
    with pytest.raises(NotOnTheRack, match="undone with that cut's tick"):
        line_strike(line=line, why="Wrong", by=owner)


def test_a_sheet_struck_out_takes_its_share_along(pair: tuple[Job, Job], owner: Person) -> None:
    set_tick(first_cut(pair[1]), owner)
    line = StockMove.objects.get(item__form=Form.SHEET, kind=MoveKind.ISSUED)
    line_strike(line=line, why="Another sheet", by=owner)
    assert shares() == []


# Parted


def alone(job: Job) -> bool:
    return not latest(job).sheet["guests"] and not latest(job).sheet["elsewhere"]


@pytest.mark.parametrize("place", [0, 1])
def test_a_change_of_either_parts_them(pair: tuple[Job, Job], owner: Person, place: int) -> None:
    changed, other = pair[place], pair[1 - place]
    grow(changed, owner)
    assert [latest(job).number for job in pair] == [3, 3]
    assert all(alone(job) for job in pair)
    assert latest(other).reason == f"No longer laid out with job {changed.number}"
    assert latest(other).plan["layout"]["sheets"]


def test_a_change_that_leaves_the_other_as_it_was_is_refused(pair: tuple[Job, Job], owner: Person) -> None:
    revision = latest(pair[1])
    given = {"heading": Heading.of(pair[1]), "job_version": pair[1].version, "reason": "", "by": owner}
    with pytest.raises(JobIsStale, match="Which sheets job 1 shares with it"):
        job_change(fabrication=revision.fabrication, plan=plan_apart(revision), started_from=2, **given)
    assert latest(pair[1]) == revision


def test_parted_they_are_as_they_were(jobs: tuple[Job, Job], owner: Person) -> None:
    before = [latest(job).plan["layout"] for job in jobs]
    lay_together(*jobs, owner)
    revision = latest(jobs[1])
    plan = plan_apart(revision)
    job_change(
        fabrication=revision.fabrication,
        plan=plan,
        heading=Heading.of(jobs[1]),
        started_from=2,
        job_version=jobs[1].version,
        reason="Parted",
        by=owner,
        along=along(revision, plan),
    )
    assert [latest(job).plan["layout"] for job in jobs] == before


def test_parted_both_do_not_draw_on_the_same_piece(pair: tuple[Job, Job], owner: Person) -> None:
    """An offcut that came to the rack since, cheap and large enough for either: one takes it, the other a sheet."""
    piece = offcut(owner, 1400.0, 1200.0, price=Decimal("1.00"))
    grow(pair[1], owner, quantity=2)
    assert [latest(job).number for job in pair] == [3, 3]
    stocks = [{used["stock"] for used in latest(job).plan["layout"]["sheets"]} for job in pair]
    assert sum(piece.name in stock for stock in stocks) == 1
    assert balances(piece) == (1, 1)


def test_a_host_that_grows_keeps_the_guest_on_what_is_cut(pair: tuple[Job, Job], owner: Person) -> None:
    guest, host = pair
    set_tick(first_cut(host), owner)
    lay = latest(guest)
    share = shares()[0]
    grow(host, owner)
    assert latest(guest) == lay
    assert told_alike(latest(host), latest(guest))
    names = {f"{placed['blank']}.{placed['copy']}" for placed in latest(host).plan["layout"]["sheets"][0]["placed"]}
    assert any(name.startswith("1/") for name in names)
    last = Step.objects.filter(fabrication__job=host, kind="cut", retired=False).order_by("-position")[0]
    set_tick(last, owner)
    assert shares() == [share]


@pytest.fixture
def on_two_sheets(owner: Person, shop: ShopSettings) -> tuple[Job, Job]:
    """Guest and host on several small sheets, of which one that they share, not the first, is cut into."""
    jobs = on_small_sheets(owner)
    number = max(entry["sheet"] for entry in latest(jobs[0]).sheet["elsewhere"])
    assert number > 1
    set_tick(first_cut_of(jobs[1], number), owner)
    return jobs


@pytest.mark.parametrize("place", [0, 1])
def test_what_is_cut_of_several_stays_and_is_told_by_its_new_number(
    on_two_sheets: tuple[Job, Job], owner: Person, place: int
) -> None:
    guest, host = on_two_sheets
    (share,) = shares()
    grow(on_two_sheets[place], owner, quantity=3)
    assert told_alike(latest(host), latest(guest))
    (entry,) = latest(guest).sheet["elsewhere"]
    assert (entry["sheet"], entry["area"], Decimal(entry["price"])) == (1, share.item.area, share.item.price)
    assert all(calc.plan(latest(job).sheet).as_json() == latest(job).plan for job in on_two_sheets)
    assert len(latest(host).sheet["frozen"]) == 1
    last = Step.objects.filter(fabrication__job=host, kind="cut", retired=False).order_by("-position")[0]
    set_tick(last, owner)
    assert shares() == [share]
    # every copy that the guest wants lies somewhere, once
    here = [
        f"{one['blank']}.{one['copy']}" for used in latest(guest).plan["layout"]["sheets"] for one in used["placed"]
    ]
    away = [f"{of['blank']}.{copy}" for of in entry["copies"] for copy in of["copies"]]
    wanted = sum(blank["count"] for blank in latest(guest).plan["blanks"]) * latest(guest).sheet["quantity"]
    assert len({*here, *away}) == len(here) + len(away) == wanted


def test_a_better_layout_of_the_host_keeps_what_is_cut(
    on_two_sheets: tuple[Job, Job], owner: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Parted first; what is cut stays, and taking a layout that was found since leaves both saying the same."""
    for tries in (effort.TRIES, effort.JOINTS, effort.MOST_BLOCKS):
        monkeypatch.setitem(tries, "long", tries["quick"])  # how well it looks is not asked here
    guest, host = on_two_sheets
    grow(host, owner, quantity=3)
    revision = latest(host)
    asked = Improvement.objects.create(fabrication=revision.fabrication, revision=revision, by=owner)
    look(asked.pk)
    asked.refresh_from_db()
    improvement_take(improvement=asked, by=owner, form_key=uuid4(), along=along_found(revision, asked))
    assert latest(host).number == revision.number + 1
    assert told_alike(latest(host), latest(guest))


@pytest.mark.parametrize("place", [0, 1])
def test_another_metal_parts_them(pair: tuple[Job, Job], owner: Person, place: int) -> None:
    revision = latest(pair[place])
    sheet = {**revision.sheet, "material": {"alloy": "5052-H32", "thickness": 2.0}, "guests": [], "elsewhere": []}
    plan = calc.plan(sheet)
    job_change(
        fabrication=revision.fabrication,
        plan=plan,
        heading=Heading.of(pair[place]),
        started_from=2,
        job_version=pair[place].version,
        reason="Stiffer",
        by=owner,
        along=along(revision, plan),
    )
    assert all(alone(job) for job in pair)
    assert [latest(job).number for job in pair] == [3, 3]


def test_a_guest_that_grows_keeps_what_is_alike_on_what_is_cut(pair: tuple[Job, Job], owner: Person) -> None:
    guest, host = pair
    set_tick(first_cut(host), owner)
    before = latest(host)
    grow(guest, owner)
    assert latest(host) == before
    assert told_alike(latest(host), latest(guest))
    here = [placed["copy"] for used in latest(guest).plan["layout"]["sheets"] for placed in used["placed"]]
    assert set(here) == {2}


# Other numbers


@pytest.fixture
def moving(owner: Person, shop: ShopSettings) -> tuple[Job, Job]:
    """Guest and host; the shared sheets, the second and third of the host's, are cut into, and the guest has one of its own."""
    guest, host = renumbering(owner)
    sheets = [entry["sheet"] for entry in latest(guest).sheet["elsewhere"]]
    assert sheets == [2, 3]
    for number in sheets:
        set_tick(first_cut_of(host, number), owner)
    grow(guest, owner)
    assert latest(guest).plan["layout"]["sheets"]
    return guest, host


def test_where_only_numbers_move_the_guest_is_told_these_and_nothing_is_laid_out_anew(
    moving: tuple[Job, Job], owner: Person
) -> None:
    guest, host = moving
    set_tick(first_cut(guest), owner)
    marked = Step.objects.filter(fabrication__job=guest, kind="mark", text__contains="job 1, sheet").first()
    assert marked is not None
    set_tick(marked, owner)
    before = latest(guest)
    assert [job.number for job in renumbered_by(latest(host))] == [guest.number]
    assert parted_by(latest(host)) == []
    grow(host, owner, quantity=3)
    now = latest(guest)
    assert (now.number, now.reason) == (before.number + 1, "Job 1's sheets have other numbers")
    assert [entry["sheet"] for entry in now.sheet["elsewhere"]] == [1, 2]
    assert now.plan["layout"] == before.plan["layout"]
    assert told_alike(latest(host), now)
    marked.refresh_from_db()
    assert not marked.retired
    assert marked.done_at is not None
    assert "on job 1, sheet 1" in marked.text
    assert renumbered_by(latest(host)) == []


def test_its_stored_sheet_makes_that_plan_again(moving: tuple[Job, Job], owner: Person) -> None:
    guest, host = moving
    grow(host, owner, quantity=3)
    assert latest(guest).reason == "Job 1's sheets have other numbers"
    assert calc.plan(latest(guest).sheet).as_json() == latest(guest).plan


def test_what_is_parted_but_for_what_is_cut_says_so(on_two_sheets: tuple[Job, Job], owner: Person) -> None:
    guest, host = on_two_sheets
    grow(host, owner, quantity=3)
    assert latest(guest).reason == "No longer laid out with job 2, but for what is cut into"


def test_a_guest_that_left_and_is_host_of_a_third_is_not_parted_with_its_old_host(
    pair: tuple[Job, Job], owner: Person
) -> None:
    guest, host = pair
    set_tick(first_cut(host), owner)
    stiffer = {"material": {"alloy": "5052-H32", "thickness": 2.0}}
    revision = latest(guest)
    plan = planning.compute({**revision.sheet, **stiffer, "guests": [], "elsewhere": [], "frozen": []})
    job_change(
        fabrication=revision.fabrication,
        plan=plan,
        heading=Heading.of(guest),
        started_from=2,
        job_version=guest.version,
        reason="Stiffer",
        by=owner,
        along=along(revision, plan),
    )
    third = job_create(plan=calc.plan(tray("Mill tray", 400, 300, **stiffer)), due_day=date(2031, 7, 1), by=owner)
    lay_together(guest, third, owner)
    assert latest(guest).sheet["guests"][0]["job"] == "3"
    assert parted_by(latest(host)) == []
    assert parted_by(latest(guest)) == [third]
    stays = latest(guest)
    grow(host, owner)
    assert latest(guest) == stays
    grow(guest, owner)
    assert latest(third).number == 3
