from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import Q

WEEK_HOURS, MOST_WEEK_HOURS = 40.0, 100.0


class Person(AbstractUser):
    """Someone who signs in. A model of our own from the first migration, so that it can grow without moving rows."""

    week_hours = models.FloatField("hours a week at the bench", default=WEEK_HOURS, db_default=WEEK_HOURS)

    class Meta(AbstractUser.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(week_hours__range=(0, MOST_WEEK_HOURS)),
                name="week_hours_within_bounds",
                violation_error_message=f"Hours a week are 0 to {MOST_WEEK_HOURS:g}.",
            ),
        ]
