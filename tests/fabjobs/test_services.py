"""Writes of several rows: all of them or none."""

from collections.abc import Callable
from datetime import date
from multiprocessing import get_context
from typing import Any

import pytest
from django.db import connection

import calc
from fabjobs import planning
from fabjobs.models import Fabrication, Job, Person, Revision, SetUpCode, ShopSettings
from fabjobs.services import ShopIsTaken, job_create, shop_claim
from tests.conftest import PASSWORD, SHEET


def test_the_first_to_claim_owns_the_shop_and_the_code_is_spent(db: None) -> None:
    SetUpCode.renew()
    owner = shop_claim(shop=ShopSettings(name="Yard", currency="NOK"), username="edda", password=PASSWORD)
    assert owner.is_superuser
    assert owner.check_password(PASSWORD)
    assert ShopSettings.objects.get().name == "Yard"
    assert not SetUpCode.objects.exists()


def test_nobody_claims_a_shop_twice(owner: Person) -> None:
    with pytest.raises(ShopIsTaken):
        shop_claim(shop=ShopSettings(name="Mine now"), username="mallory", password=PASSWORD)
    assert ShopSettings.objects.get().name == "Hill Street Fabrication"
    assert list(Person.objects.values_list("username", flat=True)) == ["edda"]


def test_a_claim_that_fails_leaves_nothing(db: None) -> None:
    with pytest.raises(Exception, match="rule_fits_unit"):
        shop_claim(shop=ShopSettings(unit="mm", rule="1/16"), username="edda", password=PASSWORD)
    assert not Person.objects.exists()


def test_jobs_count_up_and_carry_the_sheets_heading(plan: calc.Plan, owner: Person) -> None:
    first, second = (job_create(plan=plan, due_day=date(2031, 5, 9), by=owner) for _ in range(2))
    assert (first.number, second.number) == (1, 2)
    assert (first.title, first.customer, first.machine) == ("Coolant tray", "Hill Street Turning", "Bench lathe 3")
    assert Revision.objects.filter(fabrication__job=first).get().number == 1


def test_a_job_that_cannot_be_stored_whole_is_not_stored(
    plan: calc.Plan, owner: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(**_: Any) -> None:
        raise RuntimeError("no room on the disk")

    monkeypatch.setattr(planning, "store", fail)
    with pytest.raises(RuntimeError):
        job_create(plan=plan, due_day=None, by=owner)
    assert not Job.objects.exists()
    assert not Fabrication.objects.exists()


def _make_jobs(database: str, count: int, started: Callable[[], Any]) -> None:
    """In a process of its own: store jobs into the database file, as a second worker would."""
    connection.close()
    connection.settings_dict["NAME"] = database
    plan, by = calc.plan(SHEET), Person.objects.get()
    started()
    for _ in range(count):
        job_create(plan=plan, due_day=None, by=by)


@pytest.mark.django_db(transaction=True)
def test_two_people_saving_at_once_get_numbers_of_their_own() -> None:
    Person.objects.create_user("edda")
    ShopSettings(pk=1).save()
    database = str(connection.settings_dict["NAME"])
    connection.close()
    context = get_context("fork")
    together = context.Barrier(4)
    workers = [context.Process(target=_make_jobs, args=(database, 5, together.wait)) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    assert [worker.exitcode for worker in workers] == [0, 0, 0, 0]
    assert sorted(Job.objects.values_list("number", flat=True)) == list(range(1, 21))
