"""What a guest takes of a sheet follows the sheet: as it is issued, what was paid for it, and whether it is shared still."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from uuid import uuid4

import pytest

import calc
from fabjobs import planning
from fabjobs.heading import Heading
from fabjobs.metal import MetalBook
from fabjobs.models import Form, Job, MoveKind, Person, ShopSettings, Step, StockMove
from fabjobs.services import (
    JobIsStale,
    job_change,
    line_strike,
    offcut_return,
    offcuts_return_as_planned,
    sheet_use,
    sheets_use_as_planned,
    stock_buy,
    time_correct,
    time_enter,
)
from fabjobs.together import along, plan_apart
from tests.fabjobs.changing import first_cut, latest
from tests.fabjobs.pairs import METAL, STOCK, first_cut_of, lay_together, on_small_sheets, shares, two_jobs
from tests.fabjobs.test_together_services import set_tick

pytestmark = pytest.mark.django_db

WHOLE = Decimal("96.35")
Pair = tuple[Job, Job]


@pytest.fixture
def pair(owner: Person, shop: ShopSettings) -> Pair:
    """Guest and host, on one large sheet."""
    jobs = two_jobs(owner)
    lay_together(*jobs, owner)
    return jobs


def book(job: Job) -> MetalBook:
    revision = latest(job)
    return MetalBook.of(revision, planning.restore(revision))


def paid(job: Job) -> Decimal:
    """What stands issued to it, in money; nothing where no sheet does."""
    actual = book(job).actual
    return Decimal(0) if actual is None else actual.issued.money


def told(job: Job) -> list[tuple[float, Decimal]]:
    """What the guest's own sheet says that it takes, sheet by sheet: area [mm2] and price."""
    return [(entry["area"], Decimal(entry["price"])) for entry in latest(job).sheet["elsewhere"]]


def passed_on() -> list[tuple[float, Decimal]]:
    return sorted((line.item.area, line.item.price) for line in shares())


def issue_of_sheet() -> StockMove:
    """The newest line that stands by which a whole sheet was issued."""
    lines = StockMove.objects.filter(item__form=Form.SHEET, kind=MoveKind.ISSUED, corrects=None, corrected_by=None)
    found = lines.select_related("item").order_by("pk").last()
    assert found is not None
    return found


def buy(by: Person, size: dict[str, object], price: str, count: int) -> None:
    """Sheets of a size put on the rack at a price of their own. 2680 kg/m3: 5052, handbooks."""
    length, width = float(str(size["length"])), float(str(size["width"]))
    mass = length * width * METAL["thickness"] * 2680e-9
    given = {**METAL, "label": "S1", "length": length, "width": width, "mass": mass, "price": Decimal(price)}
    stock_buy(**given, count=count, by=by, form_key=uuid4())


def part(job: Job, by: Person) -> None:
    """As the button does it."""
    revision = latest(job)
    plan = plan_apart(revision)
    job.refresh_from_db()
    job_change(
        fabrication=revision.fabrication,
        plan=plan,
        heading=Heading.of(job),
        started_from=revision.number,
        job_version=job.version,
        reason="Parted",
        by=by,
        along=along(revision, plan),
    )


# Struck out and logged anew


def test_a_sheet_struck_and_logged_by_hand_passes_its_share_on_again(pair: Pair, owner: Person) -> None:
    guest, host = pair
    set_tick(first_cut(host), owner)
    line_strike(line=issue_of_sheet(), why="Its price was another", by=owner)
    assert (shares(), paid(guest)) == ([], 0)
    given = {"count": 1, "label": "S1", "length": 2500.0, "width": 1250.0, "price": WHOLE}
    sheet_use(fabrication=latest(host).fabrication, **given, by=owner, form_key=uuid4())
    assert passed_on() == told(guest)
    assert paid(guest) + paid(host) == WHOLE


def test_struck_and_logged_as_planned_too(pair: Pair, owner: Person) -> None:
    guest, host = pair
    set_tick(first_cut(host), owner)
    line_strike(line=issue_of_sheet(), why="Another sheet", by=owner)
    planned = book(host).sheets_planned
    sheets_use_as_planned(fabrication=latest(host).fabrication, planned=planned, by=owner, form_key=uuid4())
    assert passed_on() == told(guest)
    assert paid(guest) + paid(host) == WHOLE


def test_a_sheet_logged_before_it_is_cut_into_passes_nothing_on_yet(pair: Pair, owner: Person) -> None:
    guest, host = pair
    planned = book(host).sheets_planned
    sheets_use_as_planned(fabrication=latest(host).fabrication, planned=planned, by=owner, form_key=uuid4())
    assert shares() == []
    set_tick(first_cut(host), owner)
    assert passed_on() == told(guest)


def test_a_sheet_logged_twice_and_struck_once_is_shared_by_the_one_that_stands(pair: Pair, owner: Person) -> None:
    """The first line is struck after the right one, of another price, was logged: the share is of that sheet then."""
    guest, host = pair
    set_tick(first_cut(host), owner)
    wrong = issue_of_sheet()
    given = {"count": 1, "label": "S1", "length": 2500.0, "width": 1250.0, "price": Decimal("80.00")}
    right = sheet_use(fabrication=latest(host).fabrication, **given, by=owner, form_key=uuid4())
    line_strike(line=wrong, why="Its price was another", by=owner)
    (share,) = shares()
    assert share.item.label == f"share of {right.item.name}"
    assert float(share.item.price) == pytest.approx(80.00 * share.item.area / (2500 * 1250), abs=0.005)
    assert paid(guest) + paid(host) == Decimal("80.00")


# Two sheets of one label


@pytest.fixture
def both_cut(owner: Person, shop: ShopSettings) -> Pair:
    """Guest and host on two shared sheets of one piece of the rack, of which there are four; both are cut into."""
    buy(owner, {"length": 900, "width": 560}, "30.00", 4)
    jobs = on_small_sheets(owner)
    sheets = [entry["sheet"] for entry in latest(jobs[0]).sheet["elsewhere"]]
    assert len(sheets) == 2
    for number in sheets:
        set_tick(first_cut_of(jobs[1], number), owner)
    return jobs


def test_striking_one_of_two_takes_back_its_share_only(both_cut: Pair, owner: Person) -> None:
    guest, host = both_cut
    assert passed_on() == sorted(told(guest))
    line_strike(line=issue_of_sheet(), why="Logged twice", by=owner)
    assert passed_on() == told(guest)[:1]
    assert paid(guest) == told(guest)[0][1]
    assert paid(guest) + paid(host) == Decimal("30.00")


def test_a_strike_sent_again_takes_no_newer_share_back(pair: Pair, owner: Person) -> None:
    """Of the rack, where the sheet that is issued next has the same name."""
    guest, host = pair
    buy(owner, STOCK[0], "96.35", 4)
    cuts = Step.objects.filter(fabrication__job=host, kind="cut", retired=False).order_by("position")[:2]
    set_tick(cuts[0], owner)
    line = issue_of_sheet()
    line_strike(line=line, why="Wrong", by=owner)
    set_tick(cuts[1], owner)
    before = shares()
    assert passed_on() == told(guest)
    line.refresh_from_db()
    line_strike(line=line, why="Wrong", by=owner)
    assert shares() == before
    assert paid(guest) + paid(host) == WHOLE


# What was paid


def test_a_sheet_that_cost_less_than_planned_is_shared_by_what_was_paid(pair: Pair, owner: Person) -> None:
    guest, host = pair
    buy(owner, STOCK[0], "5.00", 1)
    set_tick(first_cut(host), owner)
    ((area, price),) = passed_on()
    cent = Decimal("0.01")
    assert price == (Decimal("5.00") * Decimal(str(area / (2500 * 1250)))).quantize(cent, ROUND_HALF_UP)
    assert area == told(guest)[0][0]
    assert paid(guest) + paid(host) == Decimal("5.00")


def test_its_offcuts_are_put_away_after_that(pair: Pair, owner: Person) -> None:
    """By mass of the whole, at what was paid for a kilogram of it; nothing is worth less than nothing."""
    host = pair[1]
    buy(owner, STOCK[0], "5.00", 1)
    set_tick(first_cut(host), owner)
    made, planned = latest(host).fabrication, book(host).offcuts_planned
    lines = offcuts_return_as_planned(fabrication=made, planned=planned, by=owner, form_key=uuid4())
    assert lines
    for line in lines:
        assert float(line.item.price) == pytest.approx(5.00 * line.item.area / (2500 * 1250), abs=0.011)


# No longer shared


def test_parted_after_its_time_was_set_to_nothing_the_share_comes_back(pair: Pair, owner: Person) -> None:
    """The tick is taken back, but the time on the cut holds the sheet, and its share; then that was another job's."""
    guest, host = pair
    cut = first_cut(host)
    set_tick(cut, owner)
    entry = time_enter(step=cut, day=date(2031, 1, 1), minutes=10, by=owner, form_key=uuid4())
    set_tick(cut, owner, done=False)
    assert passed_on() == told(guest)
    time_correct(entry=entry, was=600, seconds=0, reason="Another job's", by=owner, form_key=uuid4())
    part(host, owner)
    assert told(guest) == []
    assert shares() == []
    assert paid(guest) == 0
    for job in pair:
        set_tick(first_cut(job), owner)
    assert shares() == []
    assert [paid(job) for job in pair] == [WHOLE, WHOLE]


def test_a_host_whose_shared_sheet_is_cut_meanwhile_keeps_its_metal(pair: Pair, owner: Person) -> None:
    host = pair[1]
    revision = latest(host)
    stiffer = {"material": {**METAL, "thickness": 2.0}, "guests": [], "elsewhere": []}
    plan = calc.plan({**revision.sheet, **stiffer})
    others = along(revision, plan)
    set_tick(first_cut(host), owner)
    host.refresh_from_db()
    with pytest.raises(JobIsStale, match="Sheet 1 was cut into meanwhile and holds blanks of job 1"):
        job_change(
            fabrication=revision.fabrication,
            plan=plan,
            heading=Heading.of(host),
            started_from=revision.number,
            job_version=host.version,
            reason="Stiffer",
            by=owner,
            along=others,
        )
    assert [latest(job).number for job in pair] == [2, 2]
    assert passed_on() == told(pair[0])


# What the guest has left of its share


def test_an_offcut_of_the_guests_takes_its_part_of_the_share(pair: Pair, owner: Person) -> None:
    """By mass, which of one metal is by area: 400 by 300 mm of what the guest took and paid for."""
    guest, host = pair
    set_tick(first_cut(host), owner)
    ((area, price),) = told(guest)
    made = latest(guest).fabrication
    line = offcut_return(fabrication=made, count=1, length=400.0, width=300.0, area=120e3, by=owner, form_key=uuid4())
    assert float(line.item.price) == pytest.approx(float(price) * 120e3 / area, abs=0.005)
    assert line.item.price > 3


def test_with_a_sheet_of_its_own_too_it_takes_its_part_of_both(pair: Pair, owner: Person) -> None:
    guest, host = pair
    set_tick(first_cut(host), owner)
    ((area, price),) = told(guest)
    made = latest(guest).fabrication
    given = {"count": 1, "label": "S2", "length": 1000.0, "width": 500.0, "price": Decimal("40.00")}
    sheet_use(fabrication=made, **given, by=owner, form_key=uuid4())
    line = offcut_return(fabrication=made, count=1, length=400.0, width=300.0, area=120e3, by=owner, form_key=uuid4())
    per_area = (float(price) + 40.00) / (area + 1000 * 500)
    assert float(line.item.price) == pytest.approx(per_area * 120e3, abs=0.005)
