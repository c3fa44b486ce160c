"""A link that lets someone in, once: made, handed over, used, withdrawn, lapsed."""

import re
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fabjobs.models import Invitation, Person, Role, ShopSettings
from fabjobs.services import LinkIsSpent, invitation_use, person_invite
from fabjobs.views import invited
from tests.conftest import PASSWORD

PAGE = "/people/"
NEW = "galvanised bucket 9"
JOINED = {"username": "ines", "password": NEW, "again": NEW}


@pytest.fixture(autouse=True)
def nothing_counted() -> None:
    cache.clear()


@pytest.fixture
def made(owner: Person) -> tuple[Invitation, str]:
    return person_invite(name="Ines Moll", role=Role.HAND, by=owner, form_key=uuid4())


@pytest.fixture
def invitation(made: tuple[Invitation, str]) -> Invitation:
    return made[0]


@pytest.fixture
def link(made: tuple[Invitation, str]) -> str:
    return reverse("join", args=[made[1]])


def form(**change: str) -> dict[str, str]:
    return {"form_key": str(uuid4()), "name": "Ines Moll", "role": "hand", **change}


def link_on(page: str) -> str:
    return re.search(r'id="link-text" readonly value="([^"]*)"', page)[1]  # type: ignore[index]


def test_made_shown_once_followed_and_signed_in(signed_in: Client) -> None:
    page = signed_in.post(f"{PAGE}invite", form()).content.decode()
    link = link_on(page)
    assert link.startswith("http://testserver/join/")
    assert "<svg" in page
    assert link not in signed_in.get(PAGE).content.decode()
    new = Client()
    assert "Come in, Ines Moll" in new.get(link).content.decode()
    assert new.post(link, JOINED)["Location"] == "/"
    ines = Person.objects.get(username="ines")
    assert ines.role == Role.HAND
    assert ines.check_password(NEW)
    assert "Ines" not in signed_in.get(PAGE).content.decode()
    assert new.get("/").status_code == 200
    assert new.get("/settings/").status_code == 403


def test_an_owner_may_be_invited(signed_in: Client) -> None:
    link = link_on(signed_in.post(f"{PAGE}invite", form(role="owner")).content.decode())
    Client().post(link, JOINED)
    assert Person.objects.get(username="ines").is_owner


def test_the_token_is_not_kept(made: tuple[Invitation, str]) -> None:
    invitation, token = made
    row = Invitation.objects.filter(pk=invitation.pk).values().get()
    assert token not in " ".join(map(str, row.values()))
    assert len(token) == 43  # 32 bytes in base 64, unpadded: RFC 4648


def test_the_page_says_till_when(signed_in: Client, invitation: Invitation) -> None:
    assert invitation.until - invitation.at == pytest.approx(timedelta(days=7), abs=timedelta(seconds=5))
    till = timezone.localtime(invitation.until)
    told = f"the link opens till {till.day} {till:%b %Y, %H:%M}"
    assert told in signed_in.get(PAGE).content.decode()


def test_the_link_goes_by_the_address_that_papers_carry(signed_in: Client) -> None:
    ShopSettings.objects.update(paper_address="http://shop.local:8000")
    page = signed_in.post(f"{PAGE}invite", form()).content.decode()
    assert link_on(page).startswith("http://shop.local:8000/join/")
    assert "This computer only" not in page


def test_a_link_that_only_this_computer_reaches_is_told(signed_in: Client) -> None:
    page = signed_in.post(f"{PAGE}invite", form(), headers={"host": "localhost"}).content.decode()
    assert "This computer only" in page


@pytest.mark.parametrize("change", [{"name": ""}, {"name": "a\nb"}, {"role": "boss"}, {"form_key": ""}])
def test_what_is_not_whole_invites_nobody(signed_in: Client, change: dict[str, str]) -> None:
    answer = signed_in.post(f"{PAGE}invite", form(**change))
    assert answer.status_code == 422
    assert 'class="fault' in answer.content.decode()
    assert not Invitation.objects.exists()


def test_sent_twice_it_makes_one_and_says_so(signed_in: Client) -> None:
    given = form()
    signed_in.post(f"{PAGE}invite", given)
    answer = signed_in.post(f"{PAGE}invite", given)
    assert answer.status_code == 409
    assert "made an invitation for Ines Moll already" in answer.content.decode()
    assert Invitation.objects.count() == 1


# Links that open nothing: all answered alike


def answers_to(path: str) -> list[tuple[int, str]]:
    client = Client()
    both = [client.get(path), client.post(path, JOINED)]
    return [(answer.status_code, answer.content.decode()) for answer in both]


def test_used_withdrawn_lapsed_and_unknown_links_have_one_answer(
    signed_in: Client, owner: Person, made: tuple[Invitation, str]
) -> None:
    links = {}
    for fate in ("used", "withdrawn", "lapsed"):
        invitation, token = person_invite(name="Bo", role=Role.HAND, by=owner, form_key=uuid4())
        links[fate] = reverse("join", args=[token])
        if fate == "used":
            invitation_use(token=token, username="bo", password=NEW)
        elif fate == "withdrawn":
            assert signed_in.post(f"{PAGE}invitations/{invitation.pk}/withdraw")["Location"] == PAGE
        else:
            Invitation.objects.filter(pk=invitation.pk).update(until=timezone.now() - timedelta(seconds=1))
    links["unknown"] = reverse("join", args=["x" * 43])
    links["cut short"] = reverse("join", args=[made[1][:-1]])
    found = {answer for path in links.values() for answer in answers_to(path)}
    assert len(found) == 1
    status, page = found.pop()
    assert status == 404
    assert "Ask an owner of the shop for a new one." in page
    assert not Person.objects.filter(username="ines").exists()


def test_of_two_at_once_one_comes_in(made: tuple[Invitation, str]) -> None:
    invitation_use(token=made[1], username="ines", password=NEW)
    with pytest.raises(LinkIsSpent):
        invitation_use(token=made[1], username="other", password=NEW)
    assert not Person.objects.filter(username="other").exists()


def test_one_that_is_used_is_not_withdrawn(signed_in: Client, made: tuple[Invitation, str]) -> None:
    invitation_use(token=made[1], username="ines", password=NEW)
    answer = signed_in.post(f"{PAGE}invitations/{made[0].pk}/withdraw")
    assert answer.status_code == 409
    assert "it was used, withdrawn or too old" in answer.content.decode()


def test_no_invitation_of_that_number(signed_in: Client) -> None:
    assert signed_in.post(f"{PAGE}invitations/999/withdraw").status_code == 404


# What is typed


def test_a_name_to_begin_with(link: str) -> None:
    assert 'value="ines"' in Client().get(link).content.decode()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"username": "edda"}, "Someone signs in by that name already."),
        ({"username": "Edda"}, "Someone signs in by that name already."),
        ({"username": "no spaces"}, "valid username"),
        ({"username": ""}, "This field is required."),
        ({"again": "another one 77"}, "The two passwords differ."),
        ({"password": "short", "again": "short"}, "too short"),
        ({"username": "ines.moll.1", "password": "ines.moll.1", "again": "ines.moll.1"}, "too similar"),
    ],
)
def test_what_will_not_do_is_told_and_the_link_still_opens(link: str, change: dict[str, str], says: str) -> None:
    client = Client()
    answer = client.post(link, JOINED | change)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert client.post(link, JOINED).status_code == 302


def test_who_is_signed_in_already_is_told_and_then_signed_out(signed_in: Client, link: str) -> None:
    assert "This browser is signed in as edda" in signed_in.get(link).content.decode()
    signed_in.post(link, JOINED)
    assert 'href="/me/">ines</a>' in signed_in.get("/").content.decode()


def test_nothing_of_it_is_kept_by_the_browser_or_sent_to_another_site(signed_in: Client, link: str) -> None:
    answers: list[Any] = [Client().get(link), signed_in.post(f"{PAGE}invite", form())]
    for answer in answers:
        assert "no-store" in answer["Cache-Control"]
        assert answer["Referrer-Policy"] == "same-origin"


def test_no_coming_in_without_the_forms_own_token(link: str) -> None:
    assert Client(enforce_csrf_checks=True).post(link, JOINED).status_code == 403
    assert not Person.objects.filter(username="ines").exists()


def test_guessing_links_is_slowed_by_address(link: str, owner: Person) -> None:
    guesser, other = Client(REMOTE_ADDR="10.0.0.7"), Client(REMOTE_ADDR="10.0.0.8")
    wrong = reverse("join", args=["y" * 43])
    assert [guesser.get(wrong).status_code for _ in range(invited.MOST_WRONG)] == [404] * invited.MOST_WRONG
    assert guesser.get(wrong).status_code == 429
    assert guesser.get(link).status_code == 429
    assert other.get(link).status_code == 200
    assert other.post("/sign-in", {"username": "edda", "password": PASSWORD}).status_code == 302
