"""What the tests of changes share: the form as it opens, work logged on steps, the same tray changed."""

from uuid import uuid4

from django.db.models import F
from django.utils import timezone

from fabjobs.forms import ChangeForm
from fabjobs.models import Job, Person, Revision, ShopSettings, Step, StepNote, Tick, TimeEntry


def latest(job: Job) -> Revision:
    return Revision.objects.filter(fabrication__job=job).latest("number")


def typed(job: Job, **changes: str) -> dict[str, str]:
    """What the form sends when it opens and these fields are typed over."""
    job.refresh_from_db()
    form = ChangeForm.of(job, latest(job), shop=ShopSettings.current())
    return {**form.data, "form_key": str(uuid4()), **changes}


DEEPER = {"depth": "60", "reason": "Pump sits lower"}
WIDER = {"corner_2_x": "803", "corner_2_y": "399", "reason": "Leg in the way"}  # from (797, 391): 10 in all


def tick(step: Step, by: Person) -> None:
    """As the page of the steps does it."""
    Tick.objects.create(step=step, done=True, by=by)
    Step.objects.filter(pk=step.pk).update(done_at=timezone.now(), done_by=by, version=F("version") + 1)


def work_on(step: Step, by: Person) -> None:
    """A tick, a quarter of an hour and a note."""
    tick(step, by)
    TimeEntry.objects.create(step=step, person=by, by=by, started_at=timezone.now(), seconds=900, rate=step.rate)
    StepNote.objects.create(step=step, by=by, text="blade changed")


def first_cut(job: Job) -> Step:
    return Step.objects.filter(fabrication__job=job, retired=False, kind="cut").order_by("position")[0]
