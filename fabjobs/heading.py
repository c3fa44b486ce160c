"""A job's own lines, which change without a new revision."""

from dataclasses import dataclass
from datetime import date
from typing import Self

from fabjobs.models import Job


@dataclass(frozen=True)
class Heading:
    """What a job is called, whose it is, and when it is due."""

    title: str
    customer: str
    machine: str
    due_day: date | None

    @classmethod
    def of(cls, job: Job) -> Self:
        return cls(job.title, job.customer, job.machine, job.due_day)
