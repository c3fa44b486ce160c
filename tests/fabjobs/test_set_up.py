"""The first page of a new shop."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from fabjobs.models import Person, SetUpCode, ShopSettings

PAGE = "/set-up"


@pytest.fixture
def claim(db: None) -> dict[str, str]:
    return {
        "code": SetUpCode.renew(),
        "name": "Hill Street Fabrication",
        "reads": "in 1/16",
        "currency": "usd",
        "username": "edda",
        "password": "brass shim stock 7",
        "again": "brass shim stock 7",
    }


def test_a_new_shop_leads_to_its_set_up(client: Client, db: None) -> None:
    assert client.get("/", follow=True).redirect_chain == [("/sign-in?next=/", 302), (PAGE, 302)]


def test_the_code_makes_the_owner_and_signs_in(client: Client, claim: dict[str, str]) -> None:
    answer = client.post(PAGE, claim)
    assert (answer.status_code, answer["Location"]) == (302, "/")
    shop = ShopSettings.objects.get()
    assert (shop.name, shop.unit, shop.rule, shop.currency) == ("Hill Street Fabrication", "in", "1/16", "USD")
    assert client.get("/").status_code == 200
    assert Person.objects.get().is_superuser


def test_set_up_keeps_the_address_that_start_was_given(client: Client, claim: dict[str, str]) -> None:
    ShopSettings(pk=1, paper_address="http://10.0.0.7:8000").save()
    client.post(PAGE, claim)
    assert ShopSettings.objects.get().paper_address == "http://10.0.0.7:8000"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"code": "0000-0000-0000"}, "That is not the code in the terminal."),
        ({"code": ""}, "This field is required."),
        ({"again": "another one 77"}, "The two passwords differ."),
        ({"password": "short", "again": "short"}, "too short"),
        ({"password": "edda.edda1", "username": "edda.edda1", "again": "edda.edda1"}, "too similar"),
        ({"username": "no spaces"}, "valid username"),
        ({"currency": "EU"}, "three capital letters"),
        ({"reads": "cubits 1"}, "not one of the available choices"),
        ({"name": "x" * 81}, "at most 80 characters"),
    ],
)
def test_what_does_not_fit_is_said_and_nothing_is_made(
    client: Client, claim: dict[str, str], change: dict[str, str], words: str
) -> None:
    answer = client.post(PAGE, {**claim, **change})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Person.objects.exists()


def test_only_a_form_that_is_right_in_all_else_costs_a_try(client: Client, claim: dict[str, str]) -> None:
    client.post(PAGE, {**claim, "code": "0000-0000-0000", "again": "other words 7"})
    assert SetUpCode.objects.get().tries_left == SetUpCode.TRIES
    client.post(PAGE, {**claim, "code": "0000-0000-0000"})
    assert SetUpCode.objects.get().tries_left == SetUpCode.TRIES - 1


def test_after_so_many_tries_even_the_code_is_refused(client: Client, claim: dict[str, str]) -> None:
    for _ in range(SetUpCode.TRIES):
        client.post(PAGE, {**claim, "code": "0000-0000-0000"})
    answer = client.post(PAGE, claim)
    assert "start it again for a new code" in answer.content.decode()
    assert not Person.objects.exists()


@pytest.mark.parametrize("method", ["get", "post"])
def test_a_claimed_shop_has_no_set_up(client: Client, owner: Person, claim: dict[str, str], method: str) -> None:
    answer = getattr(client, method)(PAGE, {**claim, "username": "mallory"})
    assert (answer.status_code, answer["Location"]) == (302, reverse("sign_in"))
    assert not Person.objects.filter(username="mallory").exists()


def test_wrong_method(client: Client, db: None) -> None:
    assert client.put(PAGE).status_code == 405


def test_no_claim_without_the_forms_own_token(claim: dict[str, str]) -> None:
    answer = Client(enforce_csrf_checks=True).post(PAGE, claim)
    assert answer.status_code == 403
    assert "reload the page" in answer.content.decode()
    assert not Person.objects.exists()


def test_words_typed_are_shown_as_words(client: Client, claim: dict[str, Any]) -> None:
    page = client.post(PAGE, {**claim, "name": "<script>alert(1)</script>", "again": "x"}).content.decode()
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page
