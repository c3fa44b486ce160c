"""The shop's week, its days of work and everybody's hours, changed at one go."""

import hashlib
from collections.abc import Iterable, Mapping
from datetime import time

from django.db import transaction

from fabjobs.models import Person, ShopSettings
from fabjobs.services.settings import SettingsAreStale


def people_at_work() -> list[Person]:
    """Everyone who may sign in."""
    return list(Person.objects.filter(is_active=True).order_by("username"))


def stamp_of_week(shop: ShopSettings, people: Iterable[Person]) -> str:
    """Some signs that differ when a day of work or somebody's hours do."""
    return _stamp(shop.work_days, shop.day_end, {person.pk: person.week_hours for person in people})


def _stamp(work_days: int, day_end: time, hours: Mapping[int, float]) -> str:
    return hashlib.sha256(repr((work_days, day_end, sorted(hours.items()))).encode()).hexdigest()[:16]


@transaction.atomic
def week_set(*, work_days: int, day_end: time, hours: Mapping[int, float], seen: str) -> None:
    """Keep the days of work, when a day ends, and the hours a week [h] of each person (by key).

    seen: the stamp of what was changed; raises `SettingsAreStale` if it is other now. The same change sent twice is made once.
    """
    now = stamp_of_week(ShopSettings.current(), people_at_work())
    if now == _stamp(work_days, day_end, hours):
        return
    if now != seen:
        raise SettingsAreStale
    ShopSettings.objects.filter(pk=1).update(work_days=work_days, day_end=day_end)
    for person, given in hours.items():
        Person.objects.filter(pk=person).update(week_hours=given)
