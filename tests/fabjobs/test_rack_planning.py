"""A plan draws on the rack: pieces are reserved as it is saved, issued as they are cut, released as it changes."""

from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.template.loader import render_to_string
from django.test import Client

from calc.balance import Balance, Metal
from calc.units import Display
from fabjobs import planning
from fabjobs.forms import PutAwayForm
from fabjobs.looking_back.review import Review
from fabjobs.metal import MetalBook, PlannedOffcut
from fabjobs.models import Fabrication, Job, Person, Step, StockItem, StockMove
from fabjobs.putting_away import PutAway
from fabjobs.rack import pieces_for
from fabjobs.services import line_strike, piece_find, stock_buy
from fabjobs.services.ledger import balances, reserved_for
from tests.fabjobs.ledger import issued, returned
from tests.fabjobs.racked import sheets as sheets_racked
from tests.fabjobs.test_new_job import value_of
from tests.fabjobs.ticking import tick

METAL: dict[str, Any] = {"alloy": "5052-H32", "thickness": 1.5}
AREAL = 1.5e-3 * 2680  # [kg/m2] thickness x density of 5052, handbooks


def offcut(owner: Person, length: float = 1600, width: float = 1000, price: str = "20.00") -> StockItem:
    area = length * width
    given = {**METAL, "length": length, "width": width, "area": area, "mass": area * 1e-6 * AREAL, "by": owner}
    return piece_find(price=Decimal(price), count=1, reason="Stood there", form_key=uuid4(), **given)


def saved(signed_in: Client, form: dict[str, str]) -> Fabrication:
    answer = signed_in.post("/jobs/new", {**form, "form_key": str(uuid4())})
    assert answer.status_code == 302, answer.content.decode()
    return Job.objects.get(number=int(answer["Location"].strip("/").split("/")[-1])).fabrications.get()


def test_saving_a_job_reserves_the_offcut_that_it_is_laid_out_on(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    piece = offcut(owner)
    made = saved(signed_in, form)
    stock = [used["stock"] for used in made.revisions.get().plan["layout"]["sheets"]]
    assert stock == [piece.name]
    assert balances(piece) == (1, 1)
    assert reserved_for(piece, made) == 1
    assert not pieces_for(**METAL).exists()
    assert pieces_for(**METAL, fabrication=made).get() == piece


def test_a_second_job_goes_by_what_is_left(signed_in: Client, owner: Person, form: dict[str, str]) -> None:
    piece = offcut(owner)
    first, second = saved(signed_in, form), saved(signed_in, form)
    stock = [used["stock"] for used in second.revisions.get().plan["layout"]["sheets"]]
    assert piece.name not in stock
    assert reserved_for(piece, first) == 1


def cuts_of(made: Fabrication) -> list[Step]:
    return list(made.steps.filter(kind="cut", retired=False).order_by("position"))


def test_the_first_tick_issues_the_sheet_and_taking_it_back_undoes_that(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    piece = offcut(owner)
    made = saved(signed_in, form)
    first, second, *_ = cuts_of(made)
    tick(first, owner)
    tick(second, owner)
    assert [(line.item, line.count, line.by_itself) for line in issued()] == [(piece, 1, True)]
    assert (balances(piece), reserved_for(piece, made)) == ((0, 0), 0)
    tick(second, owner, done=False)
    assert balances(piece) == (0, 0)  # the first cut is made all the same
    tick(first, owner, done=False)
    assert (balances(piece), reserved_for(piece, made)) == ((1, 1), 1)
    tick(first, owner)
    assert (balances(piece), reserved_for(piece, made)) == ((0, 0), 0)


def test_a_sheet_that_was_to_be_bought_is_bought_for_the_job_as_it_is_cut(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    made = saved(signed_in, form)
    first, *_ = cuts_of(made)
    tick(first, owner)
    line = issued().get()
    assert (line.item.label, line.item.price, line.item.length) == ("S1", Decimal("96.00"), 2500)
    assert set(line.item.moves.values_list("kind", "on_hand")) == {("bought", 1), ("issued", -1)}
    tick(first, owner, done=False)
    assert sum(line.item.moves.values_list("on_hand", flat=True)) == 0
    assert line.item.moves.count() == 4  # two lines, and one that corrects each
    assert "Sheets used" in signed_in.get(f"/jobs/{made.job.number}/metal/").content.decode()


def test_what_was_logged_by_hand_is_not_issued_again_by_a_tick(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    made = saved(signed_in, form)
    given = {"form_key": str(uuid4()), "revision": "1"}
    assert signed_in.post(f"/jobs/{made.job.number}/metal/sheets/as-planned", given).status_code == 302
    tick(cuts_of(made)[0], owner)
    assert issued().count() == 1
    tick(cuts_of(made)[0], owner, done=False)
    assert issued().get().struck_at is None  # logged by hand, so not by a tick to be taken back


def test_the_last_cut_offers_the_planned_offcuts_and_one_tap_keeps_them(
    signed_in: Client, owner: Person, form: dict[str, str], htmx: Any
) -> None:
    made = saved(signed_in, form)
    number, cuts = made.job.number, cuts_of(made)
    for step in cuts[:-1]:
        tick(step, owner)
    assert "Put it on the rack" not in signed_in.get(f"/jobs/{number}/").content.decode()
    cuts[-1].refresh_from_db()
    given = {"form_key": str(uuid4()), "version": cuts[-1].version, "revision": cuts[-1].revision_id, "done": "1"}
    answer = signed_in.post(f"/jobs/{number}/steps/{cuts[-1].pk}/tick", given, headers=htmx())
    planned = [kept for used in made.revisions.get().plan["layout"]["sheets"] for kept in used["offcuts"]]
    assert planned
    assert "on the rack</button>" in answer.content.decode()
    kept = signed_in.post(
        f"/jobs/{number}/put-away", {"form_key": str(uuid4()), "revision": "1", "place": "By the door"}, headers=htmx()
    )
    assert kept.status_code == 200
    assert sum(line.count for line in returned()) == len(planned)
    for line in returned():
        assert (line.item.place, line.item.from_job) == ("By the door", made)
        assert f"R{line.item.number}</a>" in kept.content.decode()
        # its share by mass of the 96.00 that the one sheet cost
        sheet = 2500 * 1250
        assert line.item.price == pytest.approx(Decimal(96 * line.item.area / sheet), abs=Decimal("0.0051"))
    again = signed_in.post(f"/jobs/{number}/put-away", {"form_key": str(uuid4()), "revision": "1"}, headers=htmx())
    assert again.status_code == 409
    assert "All of them are on the rack already." in again.content.decode()


@pytest.mark.parametrize(("counts", "button"), [([1], "Put it on"), ([2], "Put them on"), ([1, 1], "Put them on")])
def test_two_offcuts_of_one_size_are_them(job: Job, counts: list[int], button: str) -> None:
    pieces = [
        PlannedOffcut(600 - 10 * place, 300, 180_000, count, ("5052-H32", 1.5)) for place, count in enumerate(counts)
    ]
    told = PutAway(pieces, Display(), PutAwayForm.fresh(1))
    assert f"{button} the rack</button>" in render_to_string("job/_put_away.html", {"job": job, "put_away": told})


def test_the_next_job_is_laid_out_on_what_the_first_left(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    made = saved(signed_in, form)
    for step in cuts_of(made):
        tick(step, owner)
    signed_in.post(f"/jobs/{made.job.number}/put-away", {"form_key": str(uuid4()), "revision": "1"})
    largest = max((line.item for line in returned()), key=lambda item: item.area)
    following = saved(signed_in, form)
    assert [used["stock"] for used in following.revisions.get().plan["layout"]["sheets"]] == [largest.name]
    assert reserved_for(largest, following) == 1
    tick(cuts_of(following)[0], owner)
    assert balances(largest) == (0, 0)


def test_a_change_releases_what_it_no_longer_needs(signed_in: Client, owner: Person, form: dict[str, str]) -> None:
    piece = offcut(owner)
    made = saved(signed_in, form)
    assert reserved_for(piece, made) == 1
    page = signed_in.get(f"/jobs/{made.job.number}/change").content.decode()
    hidden = {name: value_of(page, name) for name in ("form_key", "started_from", "job_version")}
    larger = {**form, **hidden, "quantity": "1", "thickness": "3", "reason": "Thicker"}
    assert signed_in.post(f"/jobs/{made.job.number}/change", larger).status_code == 302
    assert (balances(piece), reserved_for(piece, made)) == ((1, 0), 0)


def test_a_piece_that_another_job_took_meanwhile_is_planned_without(
    signed_in: Client, owner: Person, form: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    piece, compute, others = offcut(owner), planning.compute, saved(signed_in, {**form, "thickness": "2"})

    def while_another_takes_it(sheet: Any) -> Any:
        plan = compute(sheet)
        if reserved_for(piece, others) == 0:
            given = {"kind": "reserved", "reserved": 1, "fabrication": others, "by": owner}
            StockMove.objects.create(item=piece, **given)
        return plan

    monkeypatch.setattr(planning, "compute", while_another_takes_it)
    made = saved(signed_in, form)
    assert [used["stock"] for used in made.revisions.get().plan["layout"]["sheets"]] == ["S1"]
    assert (reserved_for(piece, made), balances(piece)) == (0, (1, 1))


def test_an_offcut_that_is_on_the_rack_is_no_more_part_of_its_sheet(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    made = saved(signed_in, form)
    number = made.job.number
    for step in cuts_of(made):
        tick(step, owner)
    signed_in.post(f"/jobs/{number}/put-away", {"form_key": str(uuid4()), "revision": "1"})
    largest = max((line.item for line in returned()), key=lambda item: item.area)
    page = signed_in.get(f"/jobs/{number}/change").content.decode()
    hidden = {name: value_of(page, name) for name in ("form_key", "started_from", "job_version")}
    answer = signed_in.post(f"/jobs/{number}/change", {**form, **hidden, "quantity": "2", "reason": "One more"})
    assert answer.status_code == 302
    sheets = made.revisions.latest("number").plan["layout"]["sheets"]
    assert [len(used["placed"]) for used in sheets if used["stock"] == "S1"] == [4]  # nothing new on it
    assert {used["stock"] for used in sheets} == {"S1", largest.name}
    assert all(kept["away"] for kept in sheets[0]["offcuts"])
    assert reserved_for(largest, made) == 1
    assert issued().count() == 1


def test_a_sheet_bought_ahead_is_issued_and_not_bought_again(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    made = saved(signed_in, form)
    area = 2500 * 1250
    size = {"label": "From Tuesday", "length": 2500.0, "width": 1250.0, "mass": area * 1e-6 * AREAL}
    ahead = stock_buy(**METAL, **size, price=Decimal("101.00"), count=2, by=owner, form_key=uuid4())
    first, second, *_ = cuts_of(made)
    tick(first, owner)
    tick(second, owner)
    assert [(line.item, line.count) for line in issued()] == [(ahead, 1)]
    assert balances(ahead) == (1, 0)
    bought = balance(made).bought
    assert bought is not None
    assert (bought.money, bought.area) == (Decimal("101.00"), area)  # the one that was cut, of the two
    assert Review.of([made.pk]).actual.bought == bought
    assert "As planned: 1 x S1" not in signed_in.get(f"/jobs/{made.job.number}/metal/").content.decode()
    tick(second, owner, done=False)
    tick(first, owner, done=False)
    assert balances(ahead) == (2, 0)
    assert Review.of([made.pk]).actual is None


def balance(made: Fabrication) -> Balance:
    revision = made.revisions.latest("number")
    actual = MetalBook.of(revision, planning.restore(revision)).actual
    assert actual is not None
    return actual


def test_what_was_bought_for_a_job_and_issued_to_it_is_bought_once(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    """A sheet that its first cut bought, and an offcut of the rack, which nobody bought for it."""
    made = saved(signed_in, form)
    tick(cuts_of(made)[0], owner)
    assert balance(made).bought == balance(made).issued
    piece = offcut(owner)
    of_rack = saved(signed_in, form)
    tick(cuts_of(of_rack)[0], owner)
    assert issued().filter(item=piece).exists()
    assert balance(of_rack).bought == Metal()
    for one in (made, of_rack):
        actual = Review.of([one.pk]).actual
        assert actual is not None
        assert actual.bought == balance(one).bought


def test_a_sheet_of_the_rack_issued_as_itself_was_not_to_be_bought_by_either_of_its_labels(owner: Person) -> None:
    """The second is its label where a size that the shop buys has the first."""
    of_rack = sheets_racked(owner)
    for label, was_to_be in (
        ("", False),
        (f"R{of_rack.number}", False),
        (f"Rack {of_rack.number}", False),
        ("S1", True),
    ):
        assert StockMove(item=of_rack, kind="issued", of_stock=label).was_to_be_bought is was_to_be


def test_while_a_sheet_is_cut_what_is_left_of_it_is_in_hand_then_scrap(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    made = saved(signed_in, form)
    first, *others = cuts_of(made)
    tick(first, owner)
    actual = balance(made)
    assert actual.in_hand.mass == pytest.approx(actual.issued.mass - actual.in_blanks.mass)
    assert actual.scrap == Metal(0.0, 0.0, Decimal("0.00"))
    number = made.job.number
    for path in ("metal/", "review/"):
        assert "In hand, not cut up yet" in signed_in.get(f"/jobs/{number}/{path}").content.decode()
    for step in others:
        tick(step, owner)
    cut = balance(made)
    assert cut.in_hand == Metal()
    assert cut.scrap.mass == pytest.approx(actual.in_hand.mass)
    assert signed_in.post(f"/jobs/{number}/put-away", {"form_key": str(uuid4()), "revision": "1"}).status_code == 302
    back = balance(made)
    assert back.returned.mass > 0
    parts = (back.in_blanks, back.returned, back.spoiled, back.in_hand, back.scrap)
    assert sum(part.mass for part in parts) == pytest.approx(back.issued.mass, abs=1e-9)
    assert "In hand, not cut up yet" not in signed_in.get(f"/jobs/{number}/metal/").content.decode()


def test_of_two_sheets_the_one_that_is_cut_up_has_scrap_and_the_other_is_in_hand(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    made = saved(signed_in, {**form, "quantity": "14"})
    revision = made.revisions.get()
    plan = planning.restore(revision)
    assert len(plan.layout.sheets) > 1
    for number in range(1, len(plan.layout.sheets) + 1):
        of_sheet = [step for step in cuts_of(made) if step.text.startswith(f"Sheet {number}, ")]
        for step in of_sheet if number == 1 else of_sheet[:1]:
            tick(step, owner)
    masses = {blank.name: blank.mass for blank in plan.blanks}
    left = [
        used.area * 1e-6 * AREAL - sum(masses[placed.blank] for placed in used.placed) for used in plan.layout.sheets
    ]
    actual = balance(made)
    assert actual.in_hand.mass == pytest.approx(sum(left[1:]))
    assert actual.scrap.mass == pytest.approx(left[0])


def changed(signed_in: Client, made: Fabrication, form: dict[str, str], **typed: str) -> list[dict[str, Any]]:
    """The sheets of the next revision."""
    number = made.job.number
    page = signed_in.get(f"/jobs/{number}/change").content.decode()
    hidden = {name: value_of(page, name) for name in ("form_key", "started_from", "job_version")}
    answer = signed_in.post(f"/jobs/{number}/change", {**form, **hidden, "reason": "Asked for", **typed})
    assert answer.status_code == 302, answer.content.decode()
    sheets: list[dict[str, Any]] = made.revisions.latest("number").plan["layout"]["sheets"]
    return sheets


def test_a_sheet_bought_ahead_and_cut_up_is_no_whole_sheet_to_the_next_plan(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    made = saved(signed_in, form)
    size = {"label": "Ahead", "length": 2500.0, "width": 1250.0, "mass": 2500 * 1250e-6 * AREAL}
    ahead = stock_buy(**METAL, **size, price=Decimal("96.00"), count=1, by=owner, form_key=uuid4())
    tick(cuts_of(made)[0], owner)
    assert issued().get().item == ahead
    sheets = changed(signed_in, made, form, quantity="14")
    assert ahead.name not in {used["stock"] for used in sheets}
    tick(next(step for step in cuts_of(made) if step.done_at is None), owner)
    assert balances(ahead) == (0, 0)
    assert issued().filter(item=ahead).get().struck_at is None


def test_metal_changed_and_back_does_not_make_a_cut_piece_whole(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    piece = offcut(owner)
    made = saved(signed_in, form)
    for step in cuts_of(made):
        tick(step, owner)
    changed(signed_in, made, form, thickness="2")
    assert "To the rack" not in signed_in.get(f"/jobs/{made.job.number}/").content.decode()
    sheets = changed(signed_in, made, form, thickness=form["thickness"])
    assert piece.name not in {used["stock"] for used in sheets}


def test_every_sheet_that_is_cut_up_has_its_offcuts_put_away_in_turn(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    made = saved(signed_in, {**form, "quantity": "14"})
    sheets = made.revisions.get().plan["layout"]["sheets"]
    assert len(sheets) > 1
    kept = 0
    for number, used in enumerate(sheets, 1):
        for step in cuts_of(made):
            if step.text.startswith(f"Sheet {number}, "):
                tick(step, owner)
        if used["offcuts"]:
            given = {"form_key": str(uuid4()), "revision": "1"}
            assert signed_in.post(f"/jobs/{made.job.number}/put-away", given).status_code == 302
        kept += len(used["offcuts"])
        assert sum(line.count for line in returned()) == kept


def test_a_first_tick_is_not_taken_back_while_offcuts_of_the_sheet_are_on_the_rack(
    signed_in: Client, owner: Person, form: dict[str, str], htmx: Any
) -> None:
    made = saved(signed_in, form)
    for step in cuts_of(made):
        tick(step, owner)
    signed_in.post(f"/jobs/{made.job.number}/put-away", {"form_key": str(uuid4()), "revision": "1"})
    first, *others = cuts_of(made)
    for step in others:
        tick(step, owner, done=False)
    given = {"form_key": str(uuid4()), "version": first.version, "revision": first.revision_id, "done": "0"}
    answer = signed_in.post(f"/jobs/{made.job.number}/steps/{first.pk}/tick", given, headers=htmx())
    assert answer.status_code == 409
    assert "Offcuts of it are on the rack" in answer.content.decode()
    first.refresh_from_db()
    assert first.done_at is not None


def test_striking_an_issue_after_the_metal_changed_keeps_nothing_reserved(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    piece = offcut(owner)
    made = saved(signed_in, form)
    tick(cuts_of(made)[0], owner)
    changed(signed_in, made, form, thickness="2")
    line_strike(line=issued().get(), why="Not cut after all", by=owner)
    assert balances(piece) == (1, 0)


@pytest.mark.parametrize("area", [1.0, 1.2e6])
def test_an_offcut_of_unknown_outline_is_not_laid_out_on(
    signed_in: Client, owner: Person, form: dict[str, str], area: float
) -> None:
    given = {**METAL, "length": 1600.0, "width": 1000.0, "area": area, "mass": area * 1e-6 * AREAL, "by": owner}
    piece = piece_find(price=Decimal("9.00"), count=1, reason="Of before", form_key=uuid4(), **given)
    made = saved(signed_in, form)
    assert piece.name not in {used["stock"] for used in made.revisions.get().plan["layout"]["sheets"]}
