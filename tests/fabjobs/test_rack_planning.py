"""A plan draws on the rack: pieces are reserved as it is saved, issued as they are cut, released as it changes."""

from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.test import Client

from fabjobs.models import Fabrication, Job, Person, StockItem
from fabjobs.rack import pieces_for
from fabjobs.services import piece_find
from fabjobs.services.rack import balances, reserved_for

METAL: dict[str, Any] = {"alloy": "5052-H32", "thickness": 1.5}
AREAL = 1.5e-3 * 2680  # [kg/m2] thickness x density of 5052, handbooks


def offcut(owner: Person, length: float = 1600, width: float = 1000, price: str = "20.00") -> StockItem:
    area = length * width
    given = {**METAL, "length": length, "width": width, "area": area, "mass": area * 1e-6 * AREAL, "by": owner}
    return piece_find(price=Decimal(price), count=1, reason="Stood there", form_key=uuid4(), **given)


def saved(signed_in: Client, form: dict[str, str]) -> Fabrication:
    answer = signed_in.post("/jobs/new", {**form, "form_key": str(uuid4())})
    assert answer.status_code == 302, answer.content.decode()
    return Job.objects.get(number=int(answer["Location"].strip("/").split("/")[-1])).fabrications.get()


def test_saving_a_job_reserves_the_offcut_that_it_is_laid_out_on(
    signed_in: Client, owner: Person, form: dict[str, str]
) -> None:
    piece = offcut(owner)
    made = saved(signed_in, form)
    stock = [used["stock"] for used in made.revisions.get().plan["layout"]["sheets"]]
    assert stock == [piece.name]
    assert balances(piece) == (1, 1)
    assert reserved_for(piece, made) == 1
    assert not pieces_for(**METAL).exists()
    assert pieces_for(**METAL, fabrication=made).get() == piece


def test_a_second_job_goes_by_what_is_left(signed_in: Client, owner: Person, form: dict[str, str]) -> None:
    piece = offcut(owner)
    first, second = saved(signed_in, form), saved(signed_in, form)
    stock = [used["stock"] for used in second.revisions.get().plan["layout"]["sheets"]]
    assert piece.name not in stock
    assert reserved_for(piece, first) == 1
