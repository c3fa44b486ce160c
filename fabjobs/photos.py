"""What pages show of photos: those of a job or a step, and a form for one more."""

from dataclasses import dataclass
from typing import Self

from django.db.models import QuerySet

from fabjobs.forms.photos import PhotoForm
from fabjobs.models import Job, Photo, Step

STRIP = 8  # on the page of a job or a step; the rest on the page of all
STRUCK_SHOWN = 20


def photos_of(job: Job, step: Step | None = None) -> QuerySet[Photo]:
    """All photos of a job, or of one of its steps, the newest first; without their pictures."""
    of = Photo.objects.filter(job=job) if step is None else Photo.objects.filter(job=job, step=step)
    return of.select_related("by", "step", "struck_by").order_by("-pk")


@dataclass(frozen=True)
class PhotoStrip:
    """The newest photos of a job or a step, how many there are in all, and a form for one more."""

    newest: list[Photo]
    count: int
    form: PhotoForm

    @classmethod
    def of(cls, job: Job, step: Step | None = None) -> Self:
        standing = photos_of(job, step).filter(struck_at=None)
        newest = list(standing[: STRIP + 1])
        count = len(newest) if len(newest) <= STRIP else standing.count()
        return cls(newest[:STRIP], count, PhotoForm())

    @property
    def more(self) -> int:
        """How many are not in the strip."""
        return self.count - len(self.newest)
