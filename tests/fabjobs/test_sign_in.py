"""Sign in and out, and what happens to those who are not."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import get_resolver

from fabjobs.models import Person
from tests.conftest import PASSWORD

OPEN = {"sign_in", "set_up", "sign_out", "mark", "join"}


def test_name_and_password_lead_back_to_the_page_asked_for(client: Client, owner: Person) -> None:
    answer = client.post("/sign-in?next=/jobs/", {"username": "edda", "password": PASSWORD, "next": "/jobs/"})
    assert (answer.status_code, answer["Location"]) == (302, "/jobs/")


def test_nobody_is_led_to_another_site(client: Client, owner: Person) -> None:
    given = {"username": "edda", "password": PASSWORD, "next": "https://elsewhere.example/"}
    assert client.post("/sign-in", given)["Location"] == "/"


@pytest.mark.parametrize("given", [{"password": "wrong"}, {"username": "nobody"}, {"username": ""}])
def test_a_wrong_pair_is_refused_in_words(client: Client, owner: Person, given: dict[str, str]) -> None:
    answer = client.post("/sign-in", {"username": "edda", "password": PASSWORD, **given})
    assert answer.status_code == 422
    assert 'class="fault"' in answer.content.decode()
    assert client.get("/").status_code == 302


def test_a_closed_sign_in_stays_out(client: Client, owner: Person) -> None:
    owner.is_active = False
    owner.save(update_fields=["is_active"])
    assert client.post("/sign-in", {"username": "edda", "password": PASSWORD}).status_code == 422


def test_sign_out_takes_a_post(signed_in: Client) -> None:
    assert signed_in.get("/sign-out").status_code == 405
    assert signed_in.post("/sign-out")["Location"] == "/sign-in"
    assert signed_in.get("/").status_code == 302


def test_every_other_page_asks_for_a_sign_in(client: Client, owner: Person) -> None:
    seen = 0
    for pattern in get_resolver().url_patterns:
        if pattern.name in OPEN:
            continue
        path = "/" + re.sub("<int:[a-z_]+>", "1", re.sub("<str:[a-z_]+>", "sheets", str(pattern.pattern)))
        for method in ("get", "post"):
            answer = getattr(client, method)(path)
            assert answer.status_code == 302, (method, path)
            assert answer["Location"].startswith("/sign-in?next="), (method, path)
        seen += 1
    assert seen >= 8


def test_an_htmx_request_whose_session_ended_sends_the_whole_page_to_sign_in(
    client: Client, owner: Person, htmx: Callable[..., dict[str, str]]
) -> None:
    answer = client.post("/jobs/new/preview", headers=htmx())
    assert answer.status_code == 200
    assert answer["HX-Redirect"] == "/sign-in?next=/jobs/new"
    assert answer.content == b""


def test_an_address_from_elsewhere_is_not_led_back_to(
    client: Client, owner: Person, htmx: Callable[..., dict[str, str]]
) -> None:
    answer = client.post("/jobs/new/preview", headers=htmx("https://elsewhere.example/jobs"))
    assert answer["HX-Redirect"] == "/sign-in?next=/"


def test_after_a_lost_post_the_way_back_is_a_page_that_opens(client: Client, owner: Person) -> None:
    given = {"username": "edda", "password": PASSWORD, "next": "/"}
    lost = client.post("/jobs/new/preview")
    assert lost["Location"] == "/sign-in?next=/"
    assert client.post("/sign-in", given)["Location"] == "/"
