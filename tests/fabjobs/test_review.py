"""Looking back: expected against actual, summed by hand here."""

import csv
import io
import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

import calc
from fabjobs import planning
from fabjobs.looking_back.periods import Period, month_of, presets
from fabjobs.looking_back.review import Review, fabrications_of, finished_between
from fabjobs.models import Job, Part, Person, Revision, ShopSettings, Step, TimeEntry
from fabjobs.services import blank_spoil, job_create, line_strike, offcut_return, sheet_use, thing_buy

Finish = Callable[..., None]
ALL_DAYS = "?from=2000-01-01&to=2999-12-31"
CENT = Decimal("0.01")


@pytest.fixture
def finish(owner: Person) -> Finish:
    """Ticks every step of a job, the last on a day."""

    def ticked(job: Job, day: date) -> None:
        at = timezone.make_aware(datetime.combine(day, time(12)))
        Step.objects.filter(fabrication__job=job).update(done_at=at, done_by=owner)

    return ticked


def spend(job: Job, kind: str, *seconds: int | None, rate: str | None = None) -> None:
    """Time on the first step of a kind."""
    step = Step.objects.filter(fabrication__job=job, kind=kind, retired=False).first()
    assert step is not None
    if rate is not None:
        Step.objects.filter(pk=step.pk).update(rate=Decimal(rate))
    for one in seconds:
        given: dict[str, Any] = {"person": job.created_by, "by": job.created_by, "started_at": timezone.now()}
        TimeEntry.objects.create(step=step, seconds=one, rate=step.rate if rate is None else Decimal(rate), **given)


def log_metal(job: Job, sheets: int = 2) -> Part:
    """Sheets, an offcut, one spoiled blank, things bought; and one line of each kind struck out."""
    fabrication, by = job.fabrications.get(), job.created_by
    part = Part.objects.filter(fabrication=fabrication, blank="A").latest("pk")
    given: dict[str, Any] = {"fabrication": fabrication, "by": by}
    for count in (sheets, 7):
        sheet = sheet_use(
            **given, count=count, label="S1", length=2500, width=1250, price=Decimal("96.35"), form_key=uuid4()
        )
        kept = offcut_return(**given, count=1, length=1000, width=count * 100, area=count * 1e5, form_key=uuid4())
        spoiled = blank_spoil(**given, count=1, part=part, why="slipped", form_key=uuid4())
        bought = thing_buy(**given, count=3, what="Hose", price=Decimal("7.15"), form_key=uuid4())
    for line in (sheet, kept, spoiled, bought):
        line_strike(line=line, why="wrong job", by=by)  # type: ignore[type-var]
    return part


def metal_of(plan: calc.Plan) -> Decimal:
    return sum((Decimal(line.amount) for line in plan.cost.lines if line.kind == "metal"), Decimal(0))


def review_of(job: Job) -> Review:
    return Review.of(fabrications_of(job))


# One job: the sums


def test_expected_labour_is_what_the_quote_says(job: Job, plan: calc.Plan) -> None:
    review = review_of(job)
    quoted = {line.what.removeprefix("Labour: "): line for line in plan.cost.lines if line.kind == "labour"}
    assert {line.name: line.expected.money for line in review.kinds} == {
        kind: Decimal(line.amount) for kind, line in quoted.items()
    }
    # No sheet is logged: the metal is on neither side
    assert review.total.expected == Decimal(plan.cost.total) - metal_of(plan)
    assert review.work.expected.minutes == pytest.approx(sum(step.minutes for step in plan.steps))


def test_a_line_is_rounded_half_up_as_a_quote_rounds_it(job: Job) -> None:
    # One step of 46.5 min: 0.775 h, half up 0.78 h; at 31.25 that is 24.375, half up 24.38.
    Step.objects.filter(kind="cut").update(minutes=0, rate=Decimal("31.25"))
    step = Step.objects.filter(kind="cut").first()
    assert step is not None
    Step.objects.filter(pk=step.pk).update(minutes=46.5)
    # Three entries on it: 1800 + 61 + 11 = 1872 s = 0.52 h; at 31.25 that is 16.25.
    spend(job, "cut", 1800, 61, 11)
    (cut,) = (line for line in review_of(job).kinds if line.name == "cut")
    assert cut.expected.money == Decimal("24.38")
    assert (cut.actual.minutes, cut.actual.money) == (1872 / 60, Decimal("16.25"))
    # 18 s more at 31.25: 1890 x 31.25 / 3600 = 16.40625
    spend(job, "cut", 18)
    (cut,) = (line for line in review_of(job).kinds if line.name == "cut")
    assert cut.actual.money == Decimal("16.41")
    assert cut.difference.money == Decimal("16.41") - Decimal("24.38")


@pytest.mark.parametrize(
    ("seconds", "rate"), [(36, "0.50"), (18, "1.00"), (54, "42.35"), (86_400, "999999.99"), (1, "0")]
)
def test_actual_money_is_decimal_to_the_last_half(job: Job, seconds: int, rate: str) -> None:
    spend(job, "weld", seconds, rate=rate)
    (weld,) = (line for line in review_of(job).kinds if line.name == "weld")
    assert weld.actual.money == (Decimal(seconds) * Decimal(rate) / 3600).quantize(CENT, ROUND_HALF_UP)


def test_time_on_retired_steps_counts_and_their_minutes_do_not(job: Job) -> None:
    spend(job, "test", 600)
    before = review_of(job)
    Step.objects.filter(kind="test").update(retired=True)
    after = review_of(job)
    assert after.work.actual == before.work.actual
    (test,) = (line for line in after.kinds if line.name == "test")
    assert (test.expected.minutes, test.expected.money, test.actual.minutes) == (0, 0, 10)


def test_hours_logged_before_the_rates_changed_keep_their_price(job: Job, sheet: dict[str, Any]) -> None:
    step = Step.objects.filter(kind="weld").first()
    assert step is not None
    spend(job, "weld", 3600)  # at the program's own 42.00
    dearer = calc.plan({**sheet, "rates": {"labour": "60.00"}})
    planning.store(fabrication=job.fabrications.get(), plan=dearer, by=job.created_by, reason="today's rates")  # type: ignore[arg-type]
    step.refresh_from_db()
    assert (step.rate, step.retired) == (Decimal("60.00"), False)
    spend(job, "weld", 1800)
    (weld,) = (line for line in review_of(job).kinds if line.name == "weld")
    assert weld.actual.money == Decimal("42.00") + Decimal("30.00")  # 1 h at 42, half an hour at 60


def test_a_timer_that_runs_is_not_counted_yet(job: Job) -> None:
    spend(job, "cut", 300, None)
    assert review_of(job).work.actual.minutes == 5


def test_metal_and_money_by_hand(job: Job, plan: calc.Plan) -> None:
    part = log_metal(job)
    spend(job, "cut", 3600)  # an hour at the program's own 42.00
    review = review_of(job)
    actual, planned = review.actual, review.planned
    assert actual is not None
    areal = 0.0015 * 2680  # [kg/m2] 1.5 mm of 5052, 2680 kg/m3
    assert actual.issued.mass == pytest.approx(2 * 3.125 * areal)
    assert actual.issued.money == Decimal("192.70")  # 2 x 96.35
    assert (actual.returned.mass, actual.returned.area) == pytest.approx((0.2 * areal, 200_000))
    assert actual.spoiled.mass == pytest.approx(part.mass)
    assert actual.in_blanks.mass == pytest.approx(plan.takeoff.net_mass)
    assert actual.scrap.mass == pytest.approx(6.25 * areal - 0.2 * areal - part.mass - plan.takeoff.net_mass)
    assert planned.issued.mass == pytest.approx(plan.takeoff.sheet_mass)
    assert planned.scrap.mass == pytest.approx(plan.takeoff.scrap_mass)
    money = {line.name: (line.expected, line.actual) for line in review.money}
    cost: dict[str, Decimal] = {}
    for line in plan.cost.lines:
        cost[line.what] = Decimal(line.amount)
    assert money["Metal"] == (Decimal("96.00"), Decimal("192.70"))
    assert money["Bought in"] == (cost["Outlet fitting"], Decimal("21.45"))  # 3 x 7.15
    supplies = cost["Filler ER5356"] + cost["Argon"]
    assert money["Filler and gas"] == (supplies, supplies)
    assert money["Labour"][1] == Decimal("42.00")
    assert review.total.actual == Decimal("192.70") + Decimal("21.45") + supplies + Decimal("42.00")
    assert review.total.difference == review.total.actual - Decimal(plan.cost.total)


def test_the_newest_revision_is_what_was_expected(job: Job, sheet: dict[str, Any]) -> None:
    fabrication = job.fabrications.get()
    deeper = calc.plan({**sheet, "shape": {**sheet["shape"], "depth": 70}})
    planning.store(fabrication=fabrication, plan=deeper, by=job.created_by, reason="deeper")  # type: ignore[arg-type]
    log_metal(job)
    assert review_of(job).total.expected == Decimal(deeper.cost.total)
    assert len(review_of(job).made) == 1


# One job: the page


def test_the_page_of_one_job(signed_in: Client, job: Job) -> None:
    log_metal(job)
    spend(job, "cut", 5400)
    page = signed_in.get("/jobs/1/review/").content.decode()
    assert len(re.findall(r'<svg[^>]*class="drawing plot"', page)) == 3
    cut = re.search(r"<tr><th scope=\"row\">Cut</th>(.*?)</tr>", page)
    assert cut
    assert "1 h 30 min" in cut[1]
    assert "63.00" in cut[1]  # 1.5 h x 42.00
    assert "192.70" in page
    for heading in ("Money, in EUR", "Hours by kind of work", "Metal"):
        assert heading in page


def test_a_job_with_nothing_logged_says_so(signed_in: Client, job: Job) -> None:
    page = signed_in.get("/jobs/1/review/").content.decode()
    assert "No time is logged yet." in page
    assert "No sheet is logged yet" in page
    assert "the total is without metal" in page
    dashes = '<td class="num">\N{EN DASH}</td>' * 3
    assert f'<tr><th scope="row">Metal</th>{dashes}</tr>' in page
    assert "nan" not in page.lower()


def test_an_unfinished_job_is_not_final(signed_in: Client, job: Job, finish: Finish) -> None:
    steps = Step.objects.filter(fabrication__job=job)
    for step in steps[:2]:
        Step.objects.filter(pk=step.pk).update(done_at=timezone.now())
    Step.objects.filter(pk=steps[0].pk).update(retired=True)  # no longer one of them
    page = signed_in.get("/jobs/1/review/").content.decode()
    assert f"1 of {len(steps) - 1} steps done: not final" in page
    finish(job, date(2031, 5, 9))
    assert "not final" not in signed_in.get("/jobs/1/review/").content.decode()


# Currencies


def test_jobs_in_another_currency_are_left_out_and_said(
    signed_in: Client, job: Job, plan: calc.Plan, sheet: dict[str, Any], owner: Person, finish: Finish
) -> None:
    dollars = job_create(plan=calc.plan({**sheet, "rates": {"currency": "USD"}}), due_day=None, by=owner)
    for one in (job, dollars):
        log_metal(one)
        spend(one, "cut", 3600)
        finish(one, date(2031, 5, 9))
    page = signed_in.get(f"/review/{ALL_DAYS}").content.decode()
    assert "1 job finished</strong>" in page
    assert "1 job finished in these days was costed in another currency than EUR and is left out" in page
    assert f"{Decimal(plan.cost.total):.2f}" in page
    assert [row["job"] for row in rows_of(signed_in.get(f"/review/jobs.csv{ALL_DAYS}").content)] == ["1"]
    hours = rows_of(signed_in.get(f"/review/work.csv{ALL_DAYS}").content)
    assert sum(float(row["actual hours"]) for row in hours) == 1
    own = signed_in.get("/jobs/2/review/").content.decode()
    assert "Money, in USD" in own
    assert "EUR" not in own
    ShopSettings.objects.update(currency="USD")
    page = signed_in.get(f"/review/{ALL_DAYS}").content.decode()
    assert "another currency than USD" in page
    assert re.findall(r"job_review|/jobs/(\d)/review/", page) == ["2"]
    ShopSettings.objects.update(currency="NOK")
    page = signed_in.get(f"/review/{ALL_DAYS}").content.decode()
    assert "No job in NOK was finished" in page
    assert "2 jobs finished in these days were costed in another currency" in page


def test_a_job_that_changed_its_currency_says_so_and_is_in_no_sum(
    signed_in: Client, job: Job, sheet: dict[str, Any], finish: Finish
) -> None:
    dollars = calc.plan({**sheet, "rates": {"currency": "USD"}})
    planning.store(fabrication=job.fabrications.get(), plan=dollars, by=job.created_by, reason="today's rates")  # type: ignore[arg-type]
    finish(job, date(2031, 5, 9))
    page = signed_in.get("/jobs/1/review/").content.decode()
    assert "Money, in USD" in page
    assert "Earlier revisions were costed in EUR." in page
    for currency in ("EUR", "USD"):
        ShopSettings.objects.update(currency=currency)
        assert f"No job in {currency} was finished" in signed_in.get(f"/review/{ALL_DAYS}").content.decode()


def test_metal_that_does_not_add_up_is_told(signed_in: Client, job: Job) -> None:
    sheet_use(
        fabrication=job.fabrications.get(),
        count=1,
        label="S9",
        length=200,
        width=100,
        price=Decimal(5),
        by=job.created_by,  # type: ignore[arg-type]
        form_key=uuid4(),
    )
    page = signed_in.get("/jobs/1/review/").content.decode()
    assert "This does not add up: 0.08 kg of sheet is logged" in page  # 0.02 m2 x 4.02 kg/m2


# All jobs of a period


def test_a_job_counts_when_its_last_step_is_ticked(job: Job, plan: calc.Plan, owner: Person, finish: Finish) -> None:
    open_job = job_create(plan=plan, due_day=None, by=owner)
    finish(open_job, date(2031, 3, 9))
    Step.objects.filter(pk=Step.objects.filter(fabrication__job=open_job).latest("pk").pk).update(done_at=None)
    finish(job, date(2031, 3, 31))
    march = month_of(date(2031, 3, 9))
    assert list(finished_between(march.start, march.end)) == [job.pk]
    april = month_of(date(2031, 4, 1))
    assert finished_between(april.start, april.end) == {}
    # An hour before midnight of the last day is in it, midnight is not.
    Step.objects.filter(fabrication__job=job).update(done_at=march.end - timedelta(hours=1))
    assert list(finished_between(march.start, march.end)) == [job.pk]
    Step.objects.filter(fabrication__job=job).update(done_at=march.end)
    assert finished_between(march.start, march.end) == {}


def test_a_step_that_was_retired_open_does_not_hold_its_job_up(job: Job, finish: Finish) -> None:
    finish(job, date(2031, 3, 9))
    first = Step.objects.filter(fabrication__job=job).first()
    assert first is not None
    Step.objects.filter(pk=first.pk).update(retired=True, done_at=None)
    march = month_of(date(2031, 3, 1))
    assert list(finished_between(march.start, march.end)) == [job.pk]


def test_the_sums_of_two_jobs_are_the_sums_of_each(
    signed_in: Client, job: Job, plan: calc.Plan, owner: Person, finish: Finish
) -> None:
    other = job_create(plan=plan, due_day=None, by=owner)
    for one, seconds in ((job, 1000), (other, 1777)):
        log_metal(one)
        spend(one, "cut", seconds)
        finish(one, date(2031, 5, 9))
    both = Review.of([*fabrications_of(job), *fabrications_of(other)])
    first, second = review_of(job), review_of(other)
    assert both.work.actual == first.work.actual + second.work.actual
    # 1000 x 42 / 3600 = 11.6667 and 1777 x 42 / 3600 = 20.7317, each rounded by itself
    assert both.work.actual.money == Decimal("11.67") + Decimal("20.73")
    assert both.total.expected == 2 * Decimal(plan.cost.total)
    assert both.total.actual == first.total.actual + second.total.actual
    assert both.actual is not None
    assert both.actual.issued.money == Decimal("385.40")  # 4 x 96.35
    page = signed_in.get("/review/?from=2031-05-01&to=2031-05-31").content.decode()
    assert "2 jobs finished" in page
    assert "385.40" in page
    assert len(re.findall(r'<svg[^>]*class="drawing plot"', page)) == 3
    assert f"{first.total.actual:.2f}" in page


def test_a_job_without_sheets_is_left_out_of_the_metal_and_said(
    signed_in: Client, job: Job, plan: calc.Plan, owner: Person, finish: Finish
) -> None:
    other = job_create(plan=plan, due_day=None, by=owner)
    log_metal(job)
    for one in (job, other):
        finish(one, date(2031, 5, 9))
    both = Review.of([*fabrications_of(job), *fabrications_of(other)])
    assert both.without_sheets == 1
    assert both.planned.issued.mass == pytest.approx(plan.takeoff.sheet_mass)  # of one job, not of two
    page = signed_in.get(f"/review/{ALL_DAYS}").content.decode()
    assert "1 job has no sheet logged: its metal is in neither" in page
    assert "no sheet logged: money without metal</span>" in page
    metal, total = both.money[0], both.total
    assert (metal.expected, metal.actual) == (metal_of(plan), Decimal("192.70"))
    assert total.expected == 2 * Decimal(plan.cost.total) - metal_of(plan)
    # What it spent is the same but for the sheets of the one and for what it bought in (3 x 7.15)
    supplies = both.money[2].actual
    assert total.actual == Decimal("192.70") + supplies + Decimal("21.45")
    rest = Decimal(plan.cost.total) - metal_of(plan)
    assert re.search(rf'expected">{rest:.2f}</td>\s*<td[^>]*>{supplies / 2:.2f}</td>', page)
    with_sheets, without = rows_of(signed_in.get(f"/review/jobs.csv{ALL_DAYS}").content)
    assert with_sheets["expected total EUR"] == plan.cost.total
    assert without["expected total EUR"] == f"{rest:.2f}"
    assert {without[name] for name in without if name.endswith(" kg")} == {"\N{EN DASH}"}
    assert without["metal"] == "no sheet logged: not in the totals"


def test_an_empty_period_leads_on(signed_in: Client, job: Job) -> None:
    spend(job, "cut", 60)
    day = timezone.localdate()
    page = signed_in.get(f"/review/?from={day}&to={day}").content.decode()
    assert "No job was finished from" in page
    assert "1 job worked on in these days is still in hand" in page
    assert "<svg" not in page


def test_without_days_it_is_this_year(signed_in: Client, job: Job, finish: Finish) -> None:
    finish(job, timezone.localdate())
    page = signed_in.get("/review/").content.decode()
    assert "1 job finished" in page
    assert re.search(r'aria-current="true">This year</a>', page)
    assert f"1 Jan {timezone.localdate().year} to 31 Dec" in page


def test_a_hundred_jobs_fill_four_pages(
    signed_in: Client, plan: calc.Plan, owner: Person, finish: Finish, django_assert_max_num_queries: Any
) -> None:
    jobs = [job_create(plan=plan, due_day=None, by=owner) for _ in range(2)]
    for one in jobs:
        finish(one, date(2031, 5, 9))
        log_metal(one)
    with django_assert_max_num_queries(22) as two:
        signed_in.get(f"/review/{ALL_DAYS}")
    _many_more(jobs[0], 98)
    with django_assert_max_num_queries(len(two)):
        page = signed_in.get(f"/review/{ALL_DAYS}").content.decode()
    assert "100 jobs finished" in page
    assert "1 of 4" in page
    assert page.count('data-label="Finished"') == 25
    assert f"{100 * Decimal(plan.cost.total) - 98 * metal_of(plan):.2f}" in page
    assert "98 jobs have no sheet logged" in page


def _many_more(like: Job, count: int) -> None:
    """Jobs with the same plan, finished on the same day, in a few queries."""
    from fabjobs.models import Fabrication

    revision = Revision.objects.get(fabrication__job=like)
    steps = list(Step.objects.filter(fabrication__job=like))
    last = Job.objects.latest("number").number
    jobs = Job.objects.bulk_create(
        Job(number=last + i, title=like.title, created_by=like.created_by) for i in range(1, count + 1)
    )
    made = Fabrication.objects.bulk_create(Fabrication(job=job, name="Tray") for job in jobs)
    for fabrication in made:
        revision.pk, revision.fabrication, revision._state.adding = None, fabrication, True
        revision.save(force_insert=True)
        for step in steps:
            step.pk, step.fabrication, step.revision = None, fabrication, revision  # type: ignore[assignment]
        Step.objects.bulk_create(steps)


def test_one_job_asks_as_little_of_the_database(
    signed_in: Client, job: Job, django_assert_max_num_queries: Any
) -> None:
    log_metal(job)
    spend(job, "cut", *range(60, 90))
    with django_assert_max_num_queries(25):  # of what is cut by now too, until the job is finished
        signed_in.get("/jobs/1/review/")


def test_no_plan_is_loaded(signed_in: Client, job: Job, finish: Finish, django_assert_max_num_queries: Any) -> None:
    finish(job, date(2031, 5, 9))
    for path in ("/jobs/1/review/", f"/review/{ALL_DAYS}"):
        with django_assert_max_num_queries(30) as asked:
            signed_in.get(path)
        for query in asked.captured_queries:
            assert '"plan"' not in query["sql"]
            assert '"sheet"' not in query["sql"]


# Days


def test_days_in_words() -> None:
    named = {period.name: (str(period.first), str(period.last)) for period in presets(date(2032, 2, 10))}
    assert named == {
        "This month": ("2032-02-01", "2032-02-29"),
        "Last month": ("2032-01-01", "2032-01-31"),
        "This quarter": ("2032-01-01", "2032-03-31"),
        "Last quarter": ("2031-10-01", "2031-12-31"),
        "This year": ("2032-01-01", "2032-12-31"),
        "Last year": ("2031-01-01", "2031-12-31"),
    }


def test_a_day_is_as_long_as_the_clock_makes_it(settings: Any) -> None:
    with timezone.override("Europe/Oslo"):
        # summer time began on 30 March 2031 there: 23 hours
        day = Period(date(2031, 3, 30), date(2031, 3, 30))
        assert day.end.timestamp() - day.start.timestamp() == 23 * 3600


@pytest.mark.parametrize("path", ["/review/", "/review/jobs.csv", "/review/work.csv"])
@pytest.mark.parametrize(
    ("days", "words"),
    [
        ("from=yesterday&to=2031-05-31", "A day such as 2031-05-09."),
        ("from=2031-02-30&to=2031-05-31", "A day such as 2031-05-09."),
        ("from=&to=2031-05-31", "Not given yet."),
        ("from=2031-06-01&to=2031-05-31", "must not be before 2031-06-01 (got 2031-05-31)"),
        ("from=0001-01-01&to=9999-12-31", "must be 2000 to 2999 (got 1)"),
    ],
)
def test_days_that_do_not_fit(signed_in: Client, path: str, days: str, words: str) -> None:
    answer = signed_in.get(f"{path}?{days}")
    assert answer.status_code == 422
    assert words in answer.content.decode()


# CSV


def rows_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def test_jobs_for_a_spreadsheet(signed_in: Client, job: Job, plan: calc.Plan, finish: Finish) -> None:
    Job.objects.update(title="=HYPERLINK(1)", customer="+49 30")
    log_metal(job)
    spend(job, "cut", 5400)
    finish(job, date(2031, 5, 9))
    answer = signed_in.get(f"/review/jobs.csv{ALL_DAYS}")
    assert answer.content.startswith(b"\xef\xbb\xbf")
    assert answer["Content-Disposition"] == 'attachment; filename="jobs-2000-01-01-2999-12-31.csv"'
    (row,) = rows_of(answer.content)
    assert (row["title"], row["customer"]) == ("'=HYPERLINK(1)", "'+49 30")
    assert (row["job"], row["finished"], row["actual hours"]) == ("1", "2031-05-09", "1.5")
    assert row["expected total EUR"] == plan.cost.total
    assert row["actual labour EUR"] == "63.00"  # 1.5 h x 42.00
    assert float(row["issued actual kg"]) == pytest.approx(2 * 3.125 * 0.0015 * 2680, abs=0.001)


def test_hours_by_kind_for_a_spreadsheet(signed_in: Client, job: Job, finish: Finish) -> None:
    spend(job, "weld", 7200)
    finish(job, date(2031, 5, 9))
    rows = {row["kind"]: row for row in rows_of(signed_in.get(f"/review/work.csv{ALL_DAYS}").content)}
    assert rows["weld"]["actual hours"] == "2.0"
    assert rows["weld"]["actual EUR"] == "84.00"  # 2 h x 42.00
    assert list(rows)[:3] == ["measure", "mark", "cut"]


def test_a_table_of_nothing_has_its_head(signed_in: Client) -> None:
    for what in ("jobs", "work"):
        assert rows_of(signed_in.get(f"/review/{what}.csv{ALL_DAYS}").content) == []


def test_a_metal_difference_below_nothing_is_still_a_number(signed_in: Client, job: Job, finish: Finish) -> None:
    log_metal(job, sheets=1)
    blank_spoil(
        fabrication=job.fabrications.get(),
        count=200,
        part=Part.objects.get(blank="A"),
        why="a bad day",
        by=job.created_by,  # type: ignore[arg-type]
        form_key=uuid4(),
    )
    finish(job, date(2031, 5, 9))
    (row,) = rows_of(signed_in.get(f"/review/jobs.csv{ALL_DAYS}").content)
    assert float(row["scrap actual kg"]) < 0
    assert row["metal"] == "does not add up"
    page = signed_in.get(f"/review/{ALL_DAYS}").content.decode()
    assert "The metal does not add up in job " in page


# Refusals

PAGES = ["/review/", "/review/jobs.csv", "/review/work.csv", "/jobs/1/review/"]


@pytest.mark.parametrize("path", PAGES)
def test_signed_out(client: Client, job: Job, path: str) -> None:
    answer = client.get(path)
    assert (answer.status_code, answer["Location"].split("?")[0]) == (302, "/sign-in")


@pytest.mark.parametrize("path", PAGES)
def test_wrong_method(signed_in: Client, job: Job, path: str) -> None:
    assert signed_in.post(path).status_code == 405


def test_missing(signed_in: Client, job: Job) -> None:
    assert signed_in.get("/jobs/7/review/").status_code == 404
    Job.objects.create(number=2, title="Empty", created_by=job.created_by)
    assert signed_in.get("/jobs/2/review/").status_code == 404


def test_words_typed_are_shown_as_words(signed_in: Client, job: Job, finish: Finish) -> None:
    Job.objects.update(title='"><script>alert(1)</script>')
    finish(job, date(2031, 5, 9))
    for path in (f"/review/{ALL_DAYS}", "/jobs/1/review/"):
        page = signed_in.get(path).content.decode()
        assert "<script>alert(1)" not in page
        assert "&lt;script&gt;alert(1)" in page


def test_a_page_of_nonsense_is_the_nearest(signed_in: Client, job: Job, finish: Finish) -> None:
    finish(job, date(2031, 5, 9))
    for page in ("0", "x", "99"):
        assert signed_in.get(f"/review/{ALL_DAYS}&page={page}").status_code == 200
