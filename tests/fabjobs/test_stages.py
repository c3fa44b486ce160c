"""A job's stage, read off its steps. The order of the stages is that of the work (common practice)."""

import pytest

from calc.tables.minutes import STANDARD
from fabjobs.models import Fabrication, Job, Person, Step
from fabjobs.stages import KINDS, Stage, jobs_in_hand, progress_of
from tests.fabjobs.ticking import tick


def stage(job: Job) -> str:
    return progress_of([job])[job.pk].stage.label


def tick_kinds(job: Job, owner: Person, *kinds: str) -> None:
    for step in Step.objects.filter(fabrication__job=job, kind__in=kinds, retired=False):
        tick(step, owner)


def test_a_job_goes_through_its_stages_in_the_order_of_the_work(job: Job, owner: Person) -> None:
    seen = [stage(job)]
    for kind in Step.objects.filter(fabrication__job=job).order_by("position").values_list("kind", flat=True):
        tick_kinds(job, owner, kind)
        if stage(job) != seen[-1]:
            seen.append(stage(job))
    assert seen == ["measured", "planned", "cutting", "welding", "fitting", "finished"]


@pytest.mark.parametrize(
    ("kinds", "expected"),
    [
        ([], "measured"),
        (["measure"], "planned"),
        (["measure", "mark"], "cutting"),
        (["cut"], "cutting"),
        (["dress"], "cutting"),
        (["clean"], "welding"),
        (["cut", "fit"], "welding"),
        (["outlet"], "welding"),
        (["test"], "fitting"),
        (["aperture"], "fitting"),
        (["measure", "cut", "weld", "install"], "fitting"),
        (["finish"], "fitting"),
    ],
)
def test_the_furthest_work_begun_is_the_stage(job: Job, owner: Person, kinds: list[str], expected: str) -> None:
    tick_kinds(job, owner, *kinds)
    assert stage(job) == expected


def test_one_tick_of_a_kind_begins_it_and_taken_back_it_ends_it(job: Job, owner: Person) -> None:
    cut = Step.objects.filter(fabrication__job=job, kind="cut").first()
    assert cut is not None
    tick(cut, owner)
    assert stage(job) == "cutting"
    tick(cut, owner, done=False)
    assert stage(job) == "measured"


def test_steps_that_are_no_longer_made_do_not_count(job: Job, owner: Person) -> None:
    tick_kinds(job, owner, "measure", "cut")
    Step.objects.filter(fabrication__job=job, kind="cut").update(retired=True)
    assert stage(job) == "planned"
    tick_kinds(job, owner, *STANDARD)
    assert stage(job) == "finished"


def test_every_fabrication_must_be_done(job: Job, owner: Person) -> None:
    second = Fabrication.objects.create(job=job, name="Second tray", position=2)
    revision = job.fabrications.get(position=1).revisions.get()
    Step.objects.create(
        fabrication=second, revision=revision, key="cut:x", position=1, kind="cut", text="Cut", driver=1, minutes=3
    )
    tick_kinds(job, owner, *(kind for kind in STANDARD if kind != "cut"))
    Step.objects.filter(fabrication__position=1, kind="cut").update(done_at="2031-01-01T00:00Z")
    progress = progress_of([job])[job.pk]
    assert (progress.stage, progress.next_step) == (Stage.FITTING, "Cut")
    assert progress.done == progress.steps - 1
    assert job in jobs_in_hand()


def test_a_job_without_steps_is_measured_and_in_hand(owner: Person) -> None:
    empty = Job.objects.create(number=9, title="Empty", created_by=owner)
    progress = progress_of([empty])[empty.pk]
    assert (progress.stage, progress.steps, progress.minutes, progress.next_step) == (Stage.MEASURED, 0, 0, None)
    assert empty in jobs_in_hand()


def test_the_sums_are_those_of_the_plan(job: Job) -> None:
    planned = job.fabrications.get().revisions.get().plan["steps"]
    progress = progress_of([job])[job.pk]
    assert progress.steps == len(planned)
    assert progress.minutes == pytest.approx(sum(step["minutes"] for step in planned))
    assert progress.next_step == planned[0]["text"]


def test_every_kind_of_work_belongs_to_one_stage() -> None:
    kinds = [kind for kinds in KINDS.values() for kind in kinds]
    assert sorted(kinds) == sorted(STANDARD)
