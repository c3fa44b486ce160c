"""By which revision a tray that was measured was made: the one that its blanks were cut by, which says what they allow for.

That is the revision in force when the last cut before the measuring was ticked, by a tick that nobody took back. Where no cut
is ticked it is told by tacks and seams in the same way; where nothing is, it is the one by which the tray was measured first:
what is planned later changes no tray that is welded.

Of what its seams pull a tray says something only once they are welded, which is told by their ticks, of retired steps too.
"""

from collections.abc import Collection, Iterable, Iterator

from django.db.models import BigIntegerField, Exists, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from calc import Plan
from fabjobs.frozen import CUT
from fabjobs.models import AsBuilt, Revision, Step, Tick

WELD = "weld"  # the kind of a step that welds a seam
JOINED = ("fit", WELD)  # kinds of steps by which blanks become a tray


def with_made_by(lines: QuerySet[AsBuilt]) -> Iterator[tuple[AsBuilt, int]]:
    """These lines, each with the key of the revision that its tray was made by."""
    first = AsBuilt.objects.filter(fabrication=OuterRef("fabrication"), copy=OuterRef("copy")).order_by("pk")
    told = lines.annotate(
        cut_at=_last_done((CUT,)),
        joined_at=_last_done(JOINED),
        made_by=Coalesce(
            _in_force("cut_at"),
            _in_force("joined_at"),
            Subquery(first.values("revision")[:1]),
            output_field=BigIntegerField(),
        ),
    )
    yield from ((line, line.made_by) for line in told)


def seams_ticked(fabrications: Iterable[int]) -> dict[int, frozenset[str]]:
    """The keys of the seams that stand ticked as welded, by the key of the fabrication."""
    done = Step.objects.filter(fabrication__in=set(fabrications), kind=WELD, done_at__isnull=False)
    found: dict[int, set[str]] = {}
    for made, key in done.values_list("fabrication", "key"):
        found.setdefault(made, set()).add(key)
    return {made: frozenset(keys) for made, keys in found.items()}


def is_welded(plan: Plan, ticked: Collection[str]) -> bool:
    """Whether all seams of a plan are among those that are ticked."""
    return {step.key for step in plan.steps if step.kind == WELD} <= set(ticked)


def _last_done(kinds: Collection[str]) -> Subquery:
    """When the last step of these kinds was ticked before a line was written, of retired ones too; not one taken back."""
    ticks = Tick.objects.filter(
        step__fabrication=OuterRef("fabrication"),
        step__kind__in=kinds,
        done=True,
        at__lte=OuterRef("at"),
    )
    taken_back = Tick.objects.filter(step=OuterRef("step"), done=False, pk__gt=OuterRef("pk"))
    return Subquery(ticks.filter(~Exists(taken_back)).order_by("-at").values("at")[:1])


def _in_force(moment: str) -> Subquery:
    """The newest revision of a line's fabrication at a moment."""
    there = Revision.objects.filter(fabrication=OuterRef("fabrication"), created_at__lte=OuterRef(moment))
    return Subquery(there.order_by("-number").values("pk")[:1])
