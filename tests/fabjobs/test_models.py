"""The rules that the database itself keeps."""

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, connection, transaction

from fabjobs.models import Fabrication, Job, Part, Person, Revision, SetUpCode, ShopSettings, Step


def test_there_is_one_shop(shop: ShopSettings) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        ShopSettings(pk=2).save()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"unit": "mm", "rule": "1/16"}, "A rule in mm reads"),
        ({"unit": "in", "rule": "0.5"}, "A rule in mm reads"),
        ({"name": ""}, "cannot be blank"),
        ({"currency": "euros"}, "three capital letters"),
        ({"currency": "eur"}, "three capital letters"),
        ({"paper_address": "javascript:alert(1)"}, "valid URL"),
    ],
)
def test_shop_refuses_settings_that_do_not_fit(shop: ShopSettings, change: dict[str, str], words: str) -> None:
    for name, value in change.items():
        setattr(shop, name, value)
    with pytest.raises(ValidationError, match=words):
        shop.full_clean()


@pytest.mark.parametrize("change", [{"rule": "1/16"}, {"name": ""}, {"currency": "EURO"}, {"currency": "E"}])
def test_shop_rules_hold_without_a_form(shop: ShopSettings, change: dict[str, str]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        ShopSettings.objects.update(**change)


def test_shop_shows_lengths_at_its_rule() -> None:
    # 36 1/2 in = 927.1 mm exactly; 927.3 mm lies 0.008 in above it, nearer to it than to the next sixteenth
    assert ShopSettings(unit="in", rule="1/16").display.length(927.3) == "36 1/2 in"
    assert ShopSettings(unit="mm", rule="1").display.length(927.3) == "927 mm"


def test_job_numbers_are_unique_from_1(owner: Person) -> None:
    Job.objects.create(number=1, title="Tray", created_by=owner)
    for number in (1, 0):
        with pytest.raises(IntegrityError), transaction.atomic():
            Job.objects.create(number=number, title="Tray", created_by=owner)


def test_job_needs_a_title(owner: Person) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.create(number=1, title="", created_by=owner)


def test_two_fabrications_cannot_stand_at_one_position(job: Job) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Fabrication.objects.create(job=job, name="Second tray", position=1)
    Fabrication.objects.create(job=job, name="Second tray", position=2)


def test_a_revision_is_never_changed(job: Job) -> None:
    revision = Revision.objects.get(fabrication__job=job)
    revision.check_code = "000000"
    with pytest.raises(DatabaseError, match="a revision is never changed"), transaction.atomic():
        revision.save()
    with pytest.raises(DatabaseError, match="a revision is never changed"), transaction.atomic():
        Revision.objects.update(number=9)


@pytest.mark.parametrize(
    "change", [{"number": 1}, {"number": 0}, {"number": 2, "check_code": "AB"}, {"number": 2, "check_code": ""}]
)
def test_a_revision_has_a_number_and_a_code_of_its_own(job: Job, change: dict[str, object]) -> None:
    old = Revision.objects.get(fabrication__job=job)
    fields = {"sheet": {}, "plan": {}, "check_code": "ABC123", "created_by": job.created_by, **change}
    with pytest.raises(IntegrityError), transaction.atomic():
        Revision.objects.create(fabrication=old.fabrication, **fields)


@pytest.mark.parametrize("change", [{"count": 0}, {"area": 0.0}, {"mass": -1.0}, {"blank": "A"}])
def test_a_part_has_a_size_and_one_row(job: Job, change: dict[str, object]) -> None:
    part = Part.objects.filter(fabrication__job=job).get(blank="B")
    with pytest.raises(IntegrityError), transaction.atomic():
        Part.objects.filter(pk=part.pk).update(**change)


@pytest.mark.parametrize("change", [{"key": ""}, {"text": ""}, {"kind": ""}, {"minutes": -1.0}, {"position": 0}])
def test_a_step_says_what_to_do(job: Job, change: dict[str, object]) -> None:
    step = Step.objects.filter(fabrication__job=job).first()
    assert step is not None
    with pytest.raises(IntegrityError), transaction.atomic():
        Step.objects.filter(pk=step.pk).update(**change)


def test_a_step_key_has_one_row(job: Job) -> None:
    step = Step.objects.filter(fabrication__job=job).first()
    assert step is not None
    step.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        step.save(force_insert=True)


def test_set_up_code_is_kept_hashed_and_read_as_people_type_it(db: None) -> None:
    code = SetUpCode.renew()
    plain = code.replace("-", "")
    assert plain not in SetUpCode.objects.get().hashed
    assert SetUpCode.accepts(code)
    assert SetUpCode.accepts(f" {plain.lower()[:6]} {plain.lower()[6:]}")


def test_set_up_code_runs_out_of_tries(db: None) -> None:
    code = SetUpCode.renew()
    for _ in range(SetUpCode.TRIES):
        assert not SetUpCode.used_up()
        assert not SetUpCode.accepts("0000-0000-0000")
    assert SetUpCode.used_up()
    assert not SetUpCode.accepts(code)
    assert SetUpCode.accepts(SetUpCode.renew())


def test_the_first_code_stops_with_the_second(db: None) -> None:
    first = SetUpCode.renew()
    SetUpCode.renew()
    assert not SetUpCode.accepts(first)


def test_the_database_is_tuned_to_lose_nothing(db: None) -> None:
    with connection.cursor() as cursor:
        found = {}
        for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout"):
            cursor.execute(f"PRAGMA {name}")
            found[name] = cursor.fetchone()[0]
    # synchronous 2 is FULL (SQLite's documentation of the pragma)
    assert found == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 20_000}
