"""One more sign-in from the command line, and a new password."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from fabjobs.models import Person


def run(*words: str) -> str:
    out = StringIO()
    call_command("person", *words, stdout=out)
    return out.getvalue().split()[-1]


def signs_in(name: str, password: str) -> bool:
    return Client().post("/sign-in", {"username": name, "password": password}).status_code == 302


def test_one_more_person_signs_in(owner: Person) -> None:
    password = run("jon")
    assert signs_in("jon", password)
    assert not Person.objects.get(username="jon").is_superuser


def test_a_new_password_ends_the_old_one_and_its_sessions(owner: Person) -> None:
    old = run("jon")
    client = Client()
    client.post("/sign-in", {"username": "jon", "password": old})
    assert client.get("/").status_code == 200
    new = run("jon", "--new-password")
    assert signs_in("jon", new)
    assert not signs_in("jon", old)
    assert client.get("/").status_code == 302


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["mona", "--new-password"], "nobody signs in as mona"),
        (["two words"], "valid username"),
        (["x" * 151], "at most 150"),
    ],
)
def test_refusals(owner: Person, words: list[str], says: str) -> None:
    with pytest.raises(CommandError, match=says):
        run(*words)


def test_a_name_that_is_taken(owner: Person) -> None:
    with pytest.raises(CommandError, match="has a sign-in already"):
        run(owner.username)


@pytest.mark.parametrize("words", [(), ("--new-password",), ("--role", "owner")])
def test_a_name_that_differs_in_capitals_alone_is_taken(owner: Person, words: tuple[str, ...]) -> None:
    """As by an invitation: two people who sign in as edda and Edda would be taken for one."""
    with pytest.raises(CommandError, match="edda has a sign-in: write the name as it is there"):
        run("Edda", *words)
    assert Person.objects.count() == 1


@pytest.mark.django_db
def test_not_before_the_shop_is_claimed() -> None:
    with pytest.raises(CommandError, match="nobody has claimed"):
        run("jon")


def test_someone_new_is_a_hand_unless_said_otherwise(owner: Person) -> None:
    run("jon")
    run("mona", "--role", "owner")
    assert [Person.objects.get(username=name).role for name in ("jon", "mona")] == ["hand", "owner"]


def test_another_role_for_someone_who_has_a_sign_in(owner: Person) -> None:
    old = run("jon")
    assert run("jon", "--role", "owner") == "owner"
    assert Person.objects.get(username="jon").is_owner
    assert signs_in("jon", old)


def test_the_last_owner_is_not_made_a_hand(owner: Person) -> None:
    with pytest.raises(CommandError, match="the only owner who can sign in"):
        run(owner.username, "--role", "hand")
    assert Person.objects.get().is_owner


def test_a_new_password_ends_the_wait_and_opens_a_closed_sign_in(owner: Person) -> None:
    for _ in range(8):
        assert not signs_in(owner.username, "a wrong guess")
    Person.objects.update(is_active=False)
    assert signs_in(owner.username, run(owner.username, "--new-password"))
