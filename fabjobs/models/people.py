"""Who signs in, what they may see, and the link by which someone new is let in."""

from datetime import datetime, timedelta
from hashlib import sha256
from secrets import token_urlsafe
from typing import Any, ClassVar

from django.conf import settings
from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models
from django.db.models import Q
from django.utils import timezone

from fabjobs.models.logged import LoggedLine

LINK_IS_GOOD_FOR = timedelta(days=7)
WEEK_HOURS, MOST_WEEK_HOURS = 40.0, 100.0
TOKEN_BYTES = 32  # 256 bits: nothing to guess, so a plain hash keeps it


class Role(models.TextChoices):
    """An owner sees and changes all; a hand sees the work and their own time, and no money."""

    OWNER = "owner", "owner"
    HAND = "hand", "hand"


class People(UserManager["Person"]):
    """Who claims a shop owns it."""

    use_in_migrations = False

    def create_superuser(
        self, username: str, email: str | None = None, password: str | None = None, **more: Any
    ) -> "Person":
        return super().create_superuser(username, email, password, **{"role": Role.OWNER, **more})


class Person(AbstractUser):
    """Someone who signs in. A model of our own from the first migration, so that it can grow without moving rows.

    Never deleted: what they logged stays under their name. Who is closed (`is_active` false) signs in no more.
    """

    role = models.CharField(max_length=5, choices=Role.choices, default=Role.HAND)
    session_epoch = models.PositiveIntegerField("how often all sign-ins were ended", default=0)

    week_hours = models.FloatField("hours a week at the bench", default=WEEK_HOURS, db_default=WEEK_HOURS)

    objects: ClassVar[People] = People()

    class Meta(AbstractUser.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(role__in=Role.values),
                name="role_known",
                violation_error_message="A person is an owner or a hand.",
            ),
            models.CheckConstraint(
                condition=Q(week_hours__range=(0, MOST_WEEK_HOURS)),
                name="week_hours_within_bounds",
                violation_error_message=f"Hours a week are 0 to {MOST_WEEK_HOURS:g}.",
            ),
        ]

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER

    def get_session_auth_hash(self) -> str:
        """What a session must carry to go on: it ends with a new password, and when all are ended."""
        return f"{super().get_session_auth_hash()}-{self.session_epoch}"


class Invitation(LoggedLine):
    """A link that lets one person in, once: its token is kept hashed, and shown only when it is made.

    It ends by being used, withdrawn or left alone past `until`.
    """

    name = models.CharField(max_length=150)
    role = models.CharField(max_length=5, choices=Role.choices, default=Role.HAND)
    hashed = models.CharField(max_length=64, unique=True)
    until = models.DateTimeField()
    used_by = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="invitation", null=True, blank=True
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(role__in=Role.values),
                name="invited_role_known",
                violation_error_message="A person is invited as an owner or as a hand.",
            ),
            models.CheckConstraint(
                condition=Q(used_by=None) | Q(withdrawn_at=None),
                name="invitation_ends_once",
                violation_error_message="An invitation that was used can't be withdrawn.",
            ),
            models.CheckConstraint(
                condition=~Q(name=""), name="invited_by_name", violation_error_message="Say who is invited."
            ),
        ]

    def __str__(self) -> str:
        return f"an invitation for {self.name}"

    @staticmethod
    def new_token() -> str:
        return token_urlsafe(TOKEN_BYTES)

    @staticmethod
    def hash_of(token: str) -> str:
        return sha256(token.encode()).hexdigest()

    @classmethod
    def open_now(cls, now: datetime | None = None) -> "models.QuerySet[Invitation]":
        """Those whose link still opens."""
        return cls.objects.filter(used_by=None, withdrawn_at=None, until__gt=now or timezone.now())

    @classmethod
    def opened_by(cls, token: str) -> "Invitation | None":
        """The invitation whose link this is, while it opens."""
        return cls.open_now().filter(hashed=cls.hash_of(token)).first()
