from datetime import date

from django.db import transaction
from django.db.models import Max

import calc
from fabjobs import planning
from fabjobs.models import Fabrication, Job, Person


@transaction.atomic
def job_create(*, plan: calc.Plan, due_day: date | None, by: Person) -> Job:
    """A new job with one fabrication and its first revision, named as the plan's sheet says."""
    last = Job.objects.aggregate(last=Max("number"))["last"] or 0
    job = Job.objects.create(
        number=last + 1,
        title=plan.sheet.title,
        customer=plan.sheet.customer,
        machine=plan.sheet.machine,
        due_day=due_day,
        created_by=by,
    )
    fabrication = Fabrication.objects.create(job=job, name="Tray")
    planning.store(fabrication=fabrication, plan=plan, by=by)
    return job
