"""Whether a paper in someone's hand is the current one: it is known by its job, its revision and its check code."""

from dataclasses import dataclass
from typing import Literal

from fabjobs.codes import as_read
from fabjobs.models import Job, Revision
from fabjobs.whole_numbers import LARGEST


@dataclass(frozen=True)
class PaperInHand:
    """What is to be said of a paper. revision: the one that it is of; current: the one in force for what it shows."""

    verdict: Literal["current", "outdated", "foreign"]
    revision: Revision | None = None
    current: Revision | None = None


FOREIGN = PaperInHand("foreign")


def judge(job: Job | None, number: int, code: str) -> PaperInHand:
    """What a paper of this job (None: there is no such job), revision number and check code as typed is."""
    if job is None or not 0 < number <= LARGEST:
        return FOREIGN
    light = Revision.objects.defer("sheet", "plan", "thumbnail").select_related("created_by", "fabrication__job")
    revision = light.filter(fabrication__job=job, number=number, check_code=as_read(code)).first()
    if revision is None:
        return FOREIGN
    current = light.filter(fabrication=revision.fabrication).last()
    return PaperInHand("current" if current == revision else "outdated", revision, current)


def judge_mark(job: Job, mark: str | None) -> PaperInHand | None:
    """The same of the mark that the address on a traveller carries, `<revision>-<code>`; None where there is none.

    What is no mark at all is no paper of this shop.
    """
    if mark is None:
        return None
    number, _, code = mark.partition("-")
    if not (number.isascii() and number.isdigit() and len(number) < 10):
        return FOREIGN
    return judge(job, int(number), code)


def mark_of(revision: Revision) -> str:
    """What the address on the traveller carries."""
    return f"{revision.number}-{revision.check_code}"
