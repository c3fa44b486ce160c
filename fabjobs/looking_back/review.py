"""Looking back: what was expected of some jobs against what they took; one definition for a single job and for many.

Filler and gas are not weighed as they are used: they stand as they were planned. Rounding: see `fabjobs.looking_back.sums`.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from functools import cached_property

from django.db.models import Count, Exists, Max, OuterRef, Q

from calc.balance import Balance, sum_up
from fabjobs.cut_up import mass_in_hand
from fabjobs.kinds import kind_name
from fabjobs.looking_back.spoiled import spoiled_work
from fabjobs.looking_back.sums import Made, Work, among, made_of, work_by_fabrication, work_by_kind
from fabjobs.metal import BalanceRow, balance_rows
from fabjobs.models import Fabrication, Job, Revision, Step, TimeEntry
from fabjobs.planning import restore
from fabjobs.services.ledger import issued_to


@dataclass(frozen=True)
class WorkLine:
    """A kind of work (or a job): expected and actual."""

    name: str
    expected: Work
    actual: Work

    @property
    def difference(self) -> Work:
        return self.actual - self.expected


@dataclass(frozen=True)
class MoneyLine:
    """A line of the money: expected and actual. `is_known` is false where there is nothing to set against the plan: both
    are 0 then, and a dash is shown for them."""

    name: str
    expected: Decimal
    actual: Decimal
    is_known: bool = True

    @property
    def difference(self) -> Decimal:
        return self.actual - self.expected


@dataclass(frozen=True)
class JobLine:
    """One job among others; `finished` is when its last step was ticked.

    The metal, in kilograms and in the money, is that of its fabrications with a sheet logged; None where none has one.
    """

    number: int
    title: str
    customer: str
    finished: datetime | None
    work: WorkLine
    money: MoneyLine
    planned: Balance | None
    actual: Balance | None
    has_sheets: bool
    spoiled: Work


@dataclass(frozen=True)
class Review:
    """Some fabrications, their work by kind."""

    made: Sequence[Made]
    kinds: Sequence[WorkLine]
    spoiled: Mapping[int, Work] = field(
        default_factory=dict
    )  # by fabrication, what of the work was spoiled with blanks

    @classmethod
    def of(cls, fabrications: Iterable[int], in_hand: Mapping[int, float] | None = None) -> "Review":
        """The sums over these fabrications: a constant number of queries. in_hand [kg]: by fabrication, what is left of its
        sheets that are not cut up yet; of those that are finished nothing is."""
        wanted = list(fabrications)
        kept = in_hand or {}
        return cls(
            [
                replace(one, in_hand_mass=kept[one.fabrication]) if one.fabrication in kept else one
                for one in made_of(wanted)
            ],
            [WorkLine(kind_name(kind), expected, actual) for kind, expected, actual in work_by_kind(wanted)],
            spoiled_work(wanted),
        )

    @cached_property
    def work(self) -> WorkLine:
        """All kinds together."""
        zero = Work()
        expected = sum((line.expected for line in self.kinds), zero)
        return WorkLine("All work", expected, sum((line.actual for line in self.kinds), zero))

    @property
    def spoiled_work(self) -> Work:
        """Of all the work, what was spoiled with blanks."""
        return sum(self.spoiled.values(), Work())

    @property
    def has_spoiled(self) -> bool:
        """Whether blanks were spoiled on which work was logged, or of which the metal was charged."""
        return bool(self.spoiled) or any(made.spoiled_mass for made in self.made)

    @cached_property
    def planned(self) -> Balance:
        """Over the same fabrications as `actual`: like is set against like."""
        logged = [made for made in self.made if made.has_sheets]
        return sum_up(made.planned for made in logged or self.made)

    @cached_property
    def actual(self) -> Balance | None:
        """None where no sheet was logged for any of them."""
        logged = [made.actual for made in self.made if made.has_sheets]
        return sum_up(logged) if logged else None

    @property
    def rows(self) -> Iterator[BalanceRow]:
        return balance_rows(self.planned, self.actual)

    @cached_property
    def money(self) -> list[MoneyLine]:
        return _money(self.made, self.work)

    @cached_property
    def total(self) -> MoneyLine:
        return _total(self.money)

    @property
    def without_sheets(self) -> int:
        """How many jobs have no sheet logged."""
        return len({made.job for made in self.made if not made.has_sheets})

    @property
    def at_odds(self) -> list[int]:
        """The numbers of the jobs whose metal does not add up."""
        return sorted({made.number for made in self.made if made.actual.discrepancy})


def _money(made: Sequence[Made], work: WorkLine) -> list[MoneyLine]:
    """Metal over the fabrications that have a sheet logged: against no sheet, all that was expected would seem saved."""
    with_sheets = [one for one in made if one.has_sheets]

    def sum_of(name: str) -> Decimal:
        return sum((getattr(one.summary, name) for one in made), Decimal(0))

    metal, labour, supplies = sum_of("metal_cost"), sum_of("labour_cost"), sum_of("supplies_cost")
    bought_in = sum((one.bought_in for one in made), Decimal(0))
    expected_metal = sum((one.summary.metal_cost for one in with_sheets), Decimal(0))
    return [
        MoneyLine(
            "Metal", expected_metal, sum((one.issued.money for one in with_sheets), Decimal(0)), bool(with_sheets)
        ),
        MoneyLine("Labour", labour, work.actual.money),
        MoneyLine("Filler and gas", supplies, supplies),
        MoneyLine("Bought in", sum_of("total_cost") - metal - labour - supplies, bought_in),
    ]


def _total(lines: Iterable[MoneyLine]) -> MoneyLine:
    kept = list(lines)
    expected = sum((line.expected for line in kept), Decimal(0))
    return MoneyLine("Total", expected, sum((line.actual for line in kept), Decimal(0)))


@dataclass(frozen=True)
class Progress:
    """How many of a job's steps are done."""

    done: int
    steps: int

    @property
    def is_finished(self) -> bool:
        return self.done == self.steps


def progress_of(job: Job) -> Progress:
    """Of the steps in force; a step that was retired is none to do."""
    counts = Step.objects.filter(fabrication__job=job, retired=False).aggregate(
        steps=Count("pk"), done=Count("pk", filter=~Q(done_at=None))
    )
    return Progress(**counts)


def currencies_of(job: Job) -> list[str]:
    """What its revisions were costed in, the newest's first."""
    revisions = Revision.objects.filter(fabrication__job=job).order_by("-pk")
    return list(dict.fromkeys(revisions.values_list("currency", flat=True)))


def in_other_currencies(jobs: Iterable[int], currency: str) -> set[int]:
    """Those of the jobs (keys) with a revision in another currency: neither their plans nor their hours add up with
    the others' money."""
    others = Revision.objects.filter(fabrication__job__in=among(jobs)).exclude(currency=currency).order_by()
    return set(others.values_list("fabrication__job", flat=True).distinct())


def fabrications_of(job: Job) -> list[int]:
    return list(job.fabrications.values_list("pk", flat=True))


def in_hand_of(job: Job) -> dict[int, float]:
    """What is left [kg] of a job's sheets that are issued and not cut up, by fabrication."""
    found = {}
    for revision in Revision.objects.latest_of([job]):
        if lines := list(issued_to(revision.fabrication)):
            found[revision.fabrication_id] = mass_in_hand(revision, restore(revision), lines)
    return found


def finished_between(start: datetime, end: datetime) -> dict[int, datetime]:
    """The jobs (keys) all of whose steps are ticked, the last from `start` and before `end`, with that time."""
    finished = (
        Step.objects.filter(retired=False)
        .order_by()
        .values("fabrication__job")
        .annotate(left=Count("pk", filter=Q(done_at=None)), last=Max("done_at"))
        .filter(left=0, last__gte=start, last__lt=end)
    )
    return dict(finished.values_list("fabrication__job", "last"))


def still_in_hand(start: datetime, end: datetime) -> int:
    """How many jobs were worked on from `start` and before `end` and are not finished."""
    to_do = Step.objects.filter(fabrication__job=OuterRef("pk"), retired=False, done_at=None)
    worked = TimeEntry.objects.filter(
        step__fabrication__job=OuterRef("pk"), started_at__gte=start, started_at__lt=end
    ).order_by()
    return Job.objects.filter(Exists(to_do), Exists(worked)).count()


def review_jobs(jobs: Iterable[int]) -> Review:
    """The review of several jobs (keys)."""
    return Review.of(Fabrication.objects.filter(job__in=among(jobs)).order_by().values_list("pk", flat=True))


def job_lines(review: Review, finished: Mapping[int, datetime], jobs: Sequence[int]) -> list[JobLine]:
    """A line for each of these jobs (keys) of a review, in their order."""
    by_job: dict[int, list[Made]] = {job: [] for job in jobs}
    for one in review.made:
        by_job.get(one.job, []).append(one)
    fabrications = [one.fabrication for made in by_job.values() for one in made]
    work = work_by_fabrication(fabrications)
    words = {
        row[0]: row[1:]
        for row in Job.objects.filter(pk__in=among(jobs)).values_list("pk", "number", "title", "customer")
    }
    lines = []
    for job in jobs:
        made = by_job[job]
        logged = [one for one in made if one.has_sheets]
        number, title, customer = words[job]
        pairs = [work.get(one.fabrication, (Work(), Work())) for one in made]
        spent = WorkLine(title, sum((one for one, _ in pairs), Work()), sum((two for _, two in pairs), Work()))
        lines.append(
            JobLine(
                number=number,
                title=title,
                customer=customer,
                finished=finished.get(job),
                work=spent,
                money=_total(_money(made, spent)),
                planned=sum_up(one.planned for one in logged) if logged else None,
                actual=sum_up(one.actual for one in logged) if logged else None,
                has_sheets=len(logged) == len(made),
                spoiled=sum((review.spoiled.get(one.fabrication, Work()) for one in made), Work()),
            )
        )
    return lines
