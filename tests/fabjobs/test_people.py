"""People, for owners: roles, who comes in no more, sign-ins that end; and one's own page."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fabjobs.models import Invitation, Job, Person, Role, ShopSettings, Step, Tick, TimeEntry
from fabjobs.models.shop import LONGEST_RUN
from fabjobs.services import LastOwner, person_close, person_invite, role_set, sessions_end, time_enter, timer_start
from tests.conftest import PASSWORD
from tests.fabjobs.ticking import tick

PAGE, ME = "/people/", "/me/"
NEW = "galvanised bucket 9"


@pytest.fixture
def jon(owner: Person) -> Person:
    return Person.objects.create_user("jon", password=PASSWORD)


def signed_in_as(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def is_in(client: Client) -> bool:
    return client.get("/").status_code == 200


def act(person: Person, what: str) -> str:
    return f"{PAGE}{person.pk}/{what}"


def test_someone_new_is_a_hand_and_the_first_is_an_owner(owner: Person, jon: Person) -> None:
    assert (owner.role, jon.role) == (Role.OWNER, Role.HAND)


def test_the_database_knows_two_roles(jon: Person) -> None:
    with pytest.raises(IntegrityError, match="role_known"), transaction.atomic():
        Person.objects.filter(pk=jon.pk).update(role="guest")


def test_the_page_lists_everyone(signed_in: Client, jon: Person) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert "<b>edda</b> (you), owner" in page
    assert "<b>jon</b>, hand" in page
    assert "never signed in" in page


def test_the_page_is_reached_from_the_settings_and_ones_own_from_ones_name(signed_in: Client) -> None:
    assert f'href="{PAGE}"' in signed_in.get("/settings/").content.decode()
    assert f'href="{ME}">edda</a>' in signed_in.get("/").content.decode()


def test_a_hand_has_three_places_in_the_bar(jon: Person) -> None:
    bar = signed_in_as(jon).get("/").content.decode().partition("</header>")[0]
    assert [f'href="{path}"' in bar for path in ("/", "/jobs/", "/rack/")] == [True, True, True]
    assert [f'href="{path}"' in bar for path in ("/review/", "/settings/")] == [False, False]


# Roles


def test_another_role_holds_from_the_next_page_on(signed_in: Client, jon: Person) -> None:
    theirs = signed_in_as(jon)
    assert theirs.get("/review/").status_code == 403
    assert signed_in.post(act(jon, "role"), {"role": "owner"})["Location"] == PAGE
    assert theirs.get("/review/").status_code == 200
    signed_in.post(act(jon, "role"), {"role": "hand"})
    assert theirs.get("/review/").status_code == 403


def test_a_role_that_is_none_is_refused(signed_in: Client, jon: Person) -> None:
    assert signed_in.post(act(jon, "role"), {"role": "boss"}).status_code == 422
    assert Person.objects.get(pk=jon.pk).role == Role.HAND


@pytest.mark.parametrize(("what", "data"), [("role", {"role": "hand"}), ("close", {})])
def test_the_last_owner_stays_and_is_told_why(
    signed_in: Client, owner: Person, jon: Person, what: str, data: dict[str, str]
) -> None:
    answer = signed_in.post(act(owner, what), data)
    assert answer.status_code == 409
    assert "edda is the only owner who can sign in. Make someone else an owner first" in answer.content.decode()
    kept = Person.objects.get(pk=owner.pk)
    assert (kept.role, kept.is_active) == (Role.OWNER, True)


def test_an_owner_who_comes_in_no_more_counts_for_none(owner: Person, jon: Person) -> None:
    role_set(person=jon, role=Role.OWNER)
    person_close(person=jon)
    with pytest.raises(LastOwner):
        person_close(person=owner)


def test_two_owners_cannot_close_each_other(owner: Person, jon: Person) -> None:
    """Each read while both were owners; the second is asked of the rows as they are by then."""
    role_set(person=jon, role=Role.OWNER)
    seen_before = Person.objects.get(pk=owner.pk)
    person_close(person=jon)
    with pytest.raises(LastOwner):
        role_set(person=seen_before, role=Role.HAND)


def test_with_another_owner_one_may_leave(signed_in: Client, owner: Person, jon: Person) -> None:
    role_set(person=jon, role=Role.OWNER)
    assert signed_in.post(act(owner, "close"), follow=True).redirect_chain[-1][0].startswith("/sign-in")
    assert not is_in(signed_in)


# Coming in no more


def test_who_is_closed_is_out_at_once_and_cannot_sign_in(signed_in: Client, jon: Person) -> None:
    theirs = signed_in_as(jon)
    assert is_in(theirs)
    signed_in.post(act(jon, "close"))
    assert not is_in(theirs)
    assert Client().post("/sign-in", {"username": "jon", "password": PASSWORD}).status_code == 422


def test_opened_again_the_old_sign_in_stays_ended(signed_in: Client, jon: Person) -> None:
    theirs = signed_in_as(jon)
    signed_in.post(act(jon, "close"))
    signed_in.post(act(jon, "open"))
    assert not is_in(theirs)
    assert Client().post("/sign-in", {"username": "jon", "password": PASSWORD}).status_code == 302


def test_what_they_logged_stays_under_their_name(signed_in: Client, job: Job, jon: Person) -> None:
    step = Step.objects.filter(fabrication__job=job)[0]
    tick(step, jon)
    time_enter(step=step, day=timezone.localdate(), minutes=20, by=jon, form_key=uuid4())
    signed_in.post(act(jon, "close"))
    page = signed_in.get(f"/jobs/1/steps/{step.pk}/").content.decode()
    assert "ticked by jon" in page
    assert "<b>20 min</b> jon" in page
    assert "comes in no more" in signed_in.get(PAGE).content.decode()
    assert (Tick.objects.get().by, TimeEntry.objects.get().person) == (jon, jon)


@pytest.mark.parametrize(("ran", "is_asked"), [(600, False), (LONGEST_RUN * 3600 + 600, True)])
def test_their_timer_is_stopped_at_what_it_counted_and_a_forgotten_one_is_asked_about(
    signed_in: Client, job: Job, jon: Person, ran: int, is_asked: bool
) -> None:
    now = timezone.now()
    before_it = timezone.localtime(now - timedelta(seconds=ran + 60)).time()
    ShopSettings.objects.update(day_end=before_it)
    entry = timer_start(step=Step.objects.filter(fabrication__job=job)[0], by=jon, form_key=uuid4())
    TimeEntry.objects.filter(pk=entry.pk).update(started_at=now - timedelta(seconds=ran))
    answer = signed_in.post(act(jon, "close"))
    seconds = TimeEntry.objects.get(pk=entry.pk).seconds
    assert seconds is not None
    assert ran <= seconds < ran + 60
    assert answer.status_code == (200 if is_asked else 302)
    if is_asked:
        page = answer.content.decode()
        assert "The timer of jon on" in page
        assert f'href="/jobs/1/steps/{entry.step_id}/#entry-{entry.pk}"' in page


@pytest.mark.parametrize(("what", "sent"), [("close", {}), ("role", {"role": "hand"})])
def test_links_of_who_is_an_owner_no_more_open_nothing(
    signed_in: Client, owner: Person, jon: Person, what: str, sent: dict[str, str]
) -> None:
    """Else who was let go would come back as an owner, by a link made before."""
    Person.objects.filter(pk=jon.pk).update(role=Role.OWNER)
    links = [
        reverse("join", args=[person_invite(name="Ines", role=Role.OWNER, by=by, form_key=uuid4())[1]])
        for by in (jon, owner)
    ]
    assert signed_in.post(act(jon, what), sent).status_code == 302
    assert [Client().get(link).status_code for link in links] == [404, 200]
    assert Invitation.open_now().get().by == owner


@pytest.mark.parametrize("what", ["role", "close", "open", "sign-out"])
def test_nobody_of_that_number(signed_in: Client, what: str) -> None:
    assert signed_in.post(f"{PAGE}999/{what}", {"role": "hand"}).status_code == 404


# Signed out everywhere


def test_signed_out_everywhere_by_an_owner(signed_in: Client, jon: Person) -> None:
    phone, tablet = signed_in_as(jon), signed_in_as(jon)
    signed_in.post(act(jon, "sign-out"))
    assert (is_in(phone), is_in(tablet), is_in(signed_in)) == (False, False, True)
    assert Client().post("/sign-in", {"username": "jon", "password": PASSWORD}).status_code == 302


def test_signed_out_everywhere_else_by_oneself(jon: Person) -> None:
    here, elsewhere = signed_in_as(jon), signed_in_as(jon)
    answer = here.post(f"{ME}sign-out-others", follow=True)
    assert "You are signed in here only." in answer.content.decode()
    assert (is_in(here), is_in(elsewhere)) == (True, False)


def test_a_copied_cookie_opens_nothing_once_all_is_ended(jon: Person) -> None:
    here, thief = signed_in_as(jon), Client()
    thief.cookies = here.cookies.copy()  # type: ignore[assignment]
    assert is_in(thief)
    sessions_end(person=jon)
    assert not is_in(thief)


# One's own password


def sent(**change: str) -> dict[str, str]:
    return {"old": PASSWORD, "password": NEW, "again": NEW, **change}


def test_another_password_holds_at_once_and_ends_other_sign_ins(jon: Person) -> None:
    here, elsewhere = signed_in_as(jon), signed_in_as(jon)
    page = here.post(f"{ME}password", sent(), follow=True).content.decode()
    assert "The new password holds from now on." in page
    assert (is_in(here), is_in(elsewhere)) == (True, False)
    assert [
        Client().post("/sign-in", {"username": "jon", "password": each}).status_code for each in (PASSWORD, NEW)
    ] == [422, 302]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"old": "something else"}, "not the password you sign in with now"),
        ({"again": "another one 77"}, "The two passwords differ."),
        ({"password": "short", "again": "short"}, "too short"),
        ({"password": "password12", "again": "password12"}, "too common"),
        ({"password": "", "again": ""}, "This field is required."),
    ],
)
def test_a_password_that_will_not_do_is_told_beside_its_field(jon: Person, change: dict[str, str], says: str) -> None:
    here = signed_in_as(jon)
    answer = here.post(f"{ME}password", sent(**change))
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert Person.objects.get(pk=jon.pk).check_password(PASSWORD)


def test_guessing_the_old_password_is_slowed_like_a_sign_in(jon: Person, settings: Any) -> None:
    here = signed_in_as(jon)
    codes = [here.post(f"{ME}password", sent(old=f"guess {turn}")).status_code for turn in range(8)]
    assert codes == [422] * 7 + [429]
    assert here.post(f"{ME}password", sent()).status_code == 429
    assert Person.objects.get(pk=jon.pk).check_password(PASSWORD)


# Guessing at the sign-in


def guess(name: str = "jon", password: str = "a wrong guess", address: str = "10.0.0.7") -> Any:  # noqa: S107
    return Client(REMOTE_ADDR=address).post("/sign-in", {"username": name, "password": password})


def test_after_eight_wrong_tries_even_the_right_password_is_refused(jon: Person) -> None:
    assert [guess().status_code for _ in range(8)] == [422] * 7 + [429]
    answer = guess(password=PASSWORD)
    assert answer.status_code == 429
    assert "Try again in 15 minutes" in answer.content.decode()
    assert 14 * 60 < int(answer["Retry-After"]) <= 15 * 60


def test_only_that_name_from_there_has_to_wait(owner: Person, jon: Person) -> None:
    for _ in range(8):
        guess()
    assert guess(password=PASSWORD, address="10.0.0.8").status_code == 302
    assert guess(name="edda", password=PASSWORD).status_code == 302


def test_trying_on_does_not_make_the_wait_longer(jon: Person) -> None:
    from axes.models import AccessAttempt

    for _ in range(8):
        guess()
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=14, seconds=30))
    assert "Try again in 1 minute;" in guess().content.decode()
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=15, seconds=1))
    assert guess(password=PASSWORD).status_code == 302


def test_a_right_one_in_between_begins_the_count_anew(jon: Person) -> None:
    for _ in range(7):
        guess()
    assert guess(password=PASSWORD).status_code == 302
    assert [guess().status_code for _ in range(7)] == [422] * 7


def test_no_password_is_kept_of_wrong_tries(jon: Person) -> None:
    from axes.models import AccessAttempt

    guess(password="nearly the right one")  # noqa: S106
    row = AccessAttempt.objects.get()
    assert "nearly" not in f"{row.post_data} {row.get_data} {row.path_info}"


def test_an_htmx_request_of_one_signed_out_meanwhile_goes_to_the_sign_in(
    jon: Person, htmx: Callable[..., dict[str, str]]
) -> None:
    here = signed_in_as(jon)
    sessions_end(person=jon)
    assert here.get("/rack/", headers=htmx())["HX-Redirect"].startswith("/sign-in")
