"""Who may come in, as what, and until when. People are never deleted; one active owner always remains."""

from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from fabjobs.forgotten import why_asked
from fabjobs.models import Invitation, Person, Role, TimeEntry
from fabjobs.models.people import LINK_IS_GOOD_FOR
from fabjobs.services.once import line_of_form
from fabjobs.services.time import elapsed


class LastOwner(Exception):
    """The shop would be left without an owner."""

    def __init__(self, person: Person) -> None:
        super().__init__(
            f"{person} is the only owner who can sign in. Make someone else an owner first; nothing was changed."
        )


class InvitedBefore(Exception):
    """The form made this invitation already; its link was shown then and is not kept."""

    def __init__(self, made: Invitation) -> None:
        super().__init__(
            f"This form made {made} already, and its link was shown then. Withdraw it and invite anew for another link."
        )


class NameIsTaken(Exception):
    """Someone took the sign-in name first."""


class LinkIsSpent(Exception):
    """The link was used, withdrawn or lapsed meanwhile."""


@transaction.atomic
def person_invite(*, name: str, role: str, by: Person, form_key: UUID) -> tuple[Invitation, str]:
    """An invitation and the token of its link, which is not kept. Raises `InvitedBefore` where the form was sent before."""
    before = line_of_form(Invitation, form_key)
    if before is not None:
        raise InvitedBefore(before)
    token = Invitation.new_token()
    until = timezone.now() + LINK_IS_GOOD_FOR
    hashed = Invitation.hash_of(token)
    made = Invitation.objects.create(name=name, role=role, hashed=hashed, until=until, by=by, form_key=form_key)
    return made, token


@transaction.atomic
def invitation_withdraw(*, invitation: Invitation) -> bool:
    """Whether the link opened until now. One that is used or lapsed stays as it is."""
    open_still = Invitation.open_now().filter(pk=invitation.pk)
    return bool(open_still.update(withdrawn_at=timezone.now()))


@transaction.atomic
def invitation_use(*, token: str, username: str, password: str) -> Person:
    """Make the person whom a link lets in; it opens nothing more. Raises `LinkIsSpent`, `NameIsTaken`."""
    invitation = Invitation.opened_by(token)
    if invitation is None:
        raise LinkIsSpent
    if Person.objects.filter(username__iexact=username).exists():
        raise NameIsTaken
    person = Person.objects.create_user(username, password=password, role=invitation.role)
    invitation.used_by = person
    invitation.save(update_fields=["used_by"])
    return person


@transaction.atomic
def role_set(*, person: Person, role: str) -> None:
    """Make someone an owner or a hand, from their next page on. Raises `LastOwner`.

    Links that a hand made while an owner open nothing more: they could let in whoever had one as an owner again.
    """
    if role != Role.OWNER:
        _leave_an_owner_beside(person)
        _withdraw_all_of(person)
    Person.objects.filter(pk=person.pk).update(role=role)


@transaction.atomic
def person_close(*, person: Person) -> TimeEntry | None:
    """Let someone in no more: every sign-in ends at once, links that they made open nothing, a timer that runs is stopped.
    Raises `LastOwner`.

    What the timer counted is kept. Where it was most likely forgotten its entry is the answer, for whoever closes them to be
    asked about: who it was can't be.
    """
    _leave_an_owner_beside(person)
    Person.objects.filter(pk=person.pk).update(is_active=False, session_epoch=F("session_epoch") + 1)
    _withdraw_all_of(person)
    entry = TimeEntry.objects.select_related("step__fabrication__job").filter(person=person, seconds=None).first()
    if entry is None:
        return None
    now = timezone.now()
    entry.seconds = elapsed(entry, now)
    entry.save(update_fields=["seconds"])
    return entry if why_asked(entry.started_at, now) else None


def person_open(*, person: Person) -> None:
    """Let someone in again, with the password that they had."""
    Person.objects.filter(pk=person.pk).update(is_active=True)


def sessions_end(*, person: Person) -> None:
    """Sign someone out wherever they are signed in. `person` then knows it too, so that one sign-in can be kept."""
    Person.objects.filter(pk=person.pk).update(session_epoch=F("session_epoch") + 1)
    person.refresh_from_db(fields=["session_epoch"])


def _withdraw_all_of(person: Person) -> None:
    """Links that someone made and handed out open nothing more."""
    Invitation.open_now().filter(by=person).update(withdrawn_at=timezone.now())


def _leave_an_owner_beside(person: Person) -> None:
    """To be asked within the transaction that then writes, which writes alone: two owners may each close the other."""
    now = Person.objects.get(pk=person.pk)
    owners = Person.objects.filter(role=Role.OWNER, is_active=True)
    if now.is_owner and now.is_active and not owners.exclude(pk=now.pk).exists():
        raise LastOwner(now)
