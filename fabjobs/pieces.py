"""The pieces of the rack as pages show them: found by words and sizes, drawn to one scale, with who has them reserved."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet, Sum
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from calc import drawing
from calc.records import Outline
from calc.units import Display
from fabjobs.defaults import SAME_THICKNESS
from fabjobs.models import Form, Job, MoveKind, StockItem, StockMove

SAME = 1e-6  # [mm] what a size typed in inches may be out by
WIDE = 400.0  # [units] of the large drawing


@dataclass(frozen=True)
class Wanted:
    """What is looked for. Lengths [mm]: the metal's thickness, and the least that a piece must hold either way round.

    there: "hand" for what is on the rack, "free" for what no job has reserved, "ever" for all that ever was.
    """

    words: str = ""
    alloy: str = ""
    thickness: float | None = None
    length: float | None = None
    width: float | None = None
    form: str = ""
    there: str = "hand"


@dataclass(frozen=True)
class Held:
    """So many pieces reserved for a job."""

    job: Job
    count: int


@dataclass(frozen=True)
class Row:
    """A piece in the list, its drawing and who has it reserved."""

    item: Any  # a StockItem with its balances
    drawing: SafeString
    held: Sequence[Held] = field(default_factory=tuple)


def pieces_found(wanted: Wanted) -> QuerySet[StockItem]:
    """The pieces that are looked for: the newest first, or the smallest that will do where a size is asked for."""
    items = StockItem.objects.exclude(form=Form.SHARE).select_related("from_job__job").filter(_of_kind(wanted))
    for word in wanted.words.split():
        items = items.filter(_has_word(word))
    if wanted.there != "ever":
        counted = Sum("on_hand") - Sum("reserved") if wanted.there == "free" else Sum("on_hand")
        there = StockMove.objects.order_by().values("item").annotate(there=counted).filter(there__gt=0)
        items = items.filter(pk__in=there.values("item"))
    return items.order_by("area", "number") if wanted.length or wanted.width else items.order_by("-number")


def _of_kind(wanted: Wanted) -> Q:
    found = Q(form=wanted.form) if wanted.form else Q()
    if wanted.alloy:
        found &= Q(alloy=wanted.alloy)
    if wanted.thickness:
        found &= Q(thickness__range=(wanted.thickness - SAME_THICKNESS, wanted.thickness + SAME_THICKNESS))
    length, width = (wanted.length or 0) - SAME, (wanted.width or 0) - SAME
    return found & (Q(length__gte=length, width__gte=width) | Q(length__gte=width, width__gte=length))


def _has_word(word: str) -> Q:
    """A piece whose metal, place or label has the word in it, or its job's title; a number is a piece's or a job's."""
    found = Q(alloy__icontains=word) | Q(place__icontains=word) | Q(label__icontains=word)
    found |= Q(from_job__job__title__icontains=word)
    digits = word[1:] if word[:1] in "rR" else word
    if digits.isascii() and digits.isdigit():
        found |= Q(number=int(digits))
        if digits == word:
            of_job = StockMove.objects.filter(item=OuterRef("pk"), fabrication__job__number=int(digits))
            found |= Q(Exists(of_job))
    return found | Q(from_job__isnull=False) if word.lower() == "job" else found


def rows_of(items: Iterable[StockItem], display: Display) -> list[Row]:
    """The rows of one page of the list, drawn to one scale; as many queries whatever their number."""
    shown = list(items)
    balances: Any = StockItem.objects.with_balances().filter(pk__in=[item.pk for item in shown]).order_by()
    counts = {pk: counted for pk, *counted in balances.values_list("pk", "on_hand", "reserved", "free")}
    held = holders_of(shown)
    longest = max((max(x for x, _ in item.edge) for item in shown), default=1.0)
    rows = []
    for item in shown:
        for name, count in zip(("on_hand", "reserved", "free"), counts[item.pk], strict=True):
            setattr(item, name, count)
        drawn = mark_safe(drawing.stock_outline(item.edge, longest, _title(item, display)))
        rows.append(Row(item, drawn, held.get(item.pk, ())))
    return rows


def holders_of(items: Iterable[StockItem]) -> Mapping[int, Sequence[Held]]:
    """Who has pieces of these reserved, by the item's key, in two queries."""
    moves = StockMove.objects.filter(item__in=[item.pk for item in items], fabrication__isnull=False)
    sums = moves.order_by().values_list("item", "fabrication__job").annotate(sum=Sum("reserved")).filter(sum__gt=0)
    kept = list(sums.order_by("fabrication__job__number"))
    jobs = Job.objects.in_bulk([job for _, job, _ in kept])
    held: dict[int, list[Held]] = defaultdict(list)
    for item, job, count in kept:
        held[item].append(Held(jobs[job], count))
    return held


def large_drawing(item: StockItem, display: Display) -> SafeString:
    """A piece in true proportion, dimensioned."""
    return mark_safe(drawing.stock_drawing(item.edge, display, _title(item, display), width=WIDE))


def outline_drawing(outline: Outline, display: Display) -> SafeString:
    """An offcut that is being typed in."""
    return mark_safe(drawing.stock_drawing(outline, display, "The offcut as typed", width=WIDE))


def _title(item: StockItem, display: Display) -> str:
    return f"{item.name}, {display.figure(item.length)} by {display.length(item.width)}"


def ledger_of(item: StockItem) -> QuerySet[StockMove]:
    """The lines of a piece, the newest first, each with the line that corrects it."""
    lines = item.moves.filter(corrects=None).select_related("by", "fabrication__job", "corrected_by__by")
    return lines.order_by("-pk")


def metals_there() -> list[str]:
    """The metals that were ever on the rack, by name."""
    return list(StockItem.objects.order_by("alloy").values_list("alloy", flat=True).distinct())


def offcuts_of_today() -> QuerySet[StockItem]:
    """The offcuts that came to the rack today and are there."""
    came = StockMove.objects.filter(
        kind__in=(MoveKind.RETURNED, MoveKind.COUNTED),
        on_hand__gt=0,
        corrects=None,
        corrected_by=None,
        at__date=timezone.localdate(),
    )
    return StockItem.objects.filter(form=Form.OFFCUT, pk__in=came.values("item"))
