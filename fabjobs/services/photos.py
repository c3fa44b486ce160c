"""Photos of a job or of one of its steps: added, and struck out with a reason (`line_strike`)."""

import hashlib
import shutil
from uuid import UUID

from django.conf import settings
from django.db import OperationalError, transaction

from fabjobs.models import Job, Person, Photo, PhotoImage, Step
from fabjobs.moments import moment
from fabjobs.pictures import pictures_of
from fabjobs.safekeeping.backups import takes_for_a_while
from fabjobs.services.once import SentBefore, line_of_form
from fabjobs.services.steps import step_there

LEAST_FREE = 300_000_000  # bytes left for ticks and times, beside tonight's backup


class NoRoomForPhotos(Exception):
    """The disk is full, or so nearly that photos would crowd out the rest; the text says so."""

    def __init__(self) -> None:
        super().__init__(
            "The disk of the shop's computer is nearly full, so the photo was not kept. Ticks and times still are."
            " Make room there, then send the photo again."
        )


def photo_add(
    *, job: Job, sent: bytes, by: Person, form_key: UUID, step: Step | None = None, caption: str = ""
) -> Photo:
    """Keep a photo of a job, or of a step of it: the file as it was sent, made anew by `fabjobs.pictures`.

    The same form again makes no second one; raises `SentBefore` if it said something else, or where this file is there
    already. Raises `PhotoRefused` for what can't be kept, `NoRoomForPhotos`, and `StepChanged` where the step is gone.
    """
    digest = hashlib.sha256(sent).hexdigest()
    place = {"job_id": job.pk, "step_id": None if step is None else step.pk}
    before = line_of_form(Photo, form_key, **place, caption=caption, digest=digest)
    if before is not None:
        return before
    made = pictures_of(sent)  # outside the transaction: it takes a while
    _see_that_it_fits()
    try:
        with transaction.atomic():
            before = line_of_form(Photo, form_key, **place, caption=caption, digest=digest)
            if before is not None:
                return before
            if step is not None:
                step_there(step)
            _refuse_the_same(digest, **place)
            size = {"width": made.width, "height": made.height, "size": len(made.large) + len(made.small)}
            photo = Photo.objects.create(**place, **size, caption=caption, digest=digest, by=by, form_key=form_key)
            PhotoImage.objects.create(photo=photo, large=made.large, small=made.small)
            return photo
    except OperationalError as error:
        if "full" in str(error):  # SQLite: "database or disk is full"
            raise NoRoomForPhotos from None
        raise


def _refuse_the_same(digest: str, **place: int | None) -> None:
    same = Photo.objects.filter(digest=digest, struck_at=None, **place).select_related("by").first()
    if same is not None:
        raise SentBefore(same, f"This photo is here already: {same.by} sent it {moment(same.at)}. Nothing was added.")


def _see_that_it_fits() -> None:
    if not settings.DATA.exists():
        return
    if shutil.disk_usage(settings.DATA).free < LEAST_FREE + takes_for_a_while(settings.DATA):
        raise NoRoomForPhotos
