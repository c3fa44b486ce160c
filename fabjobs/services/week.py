"""The shop's week, its days of work and everybody's hours, changed at one go."""

from collections.abc import Mapping
from datetime import time

from django.db import transaction

from fabjobs.models import Person, ShopSettings
from fabjobs.services.settings import SettingsAreStale
from fabjobs.week import people_at_work, stamp_of_figures, stamp_of_week


@transaction.atomic
def week_set(*, work_days: int, day_end: time, hours: Mapping[int, float], seen: str) -> None:
    """Keep the days of work, when a day ends, and the hours a week [h] of each person (by key).

    seen: the stamp of what was changed; raises `SettingsAreStale` if it is other now. The same change sent twice is made once.
    """
    now = stamp_of_week(ShopSettings.current(), people_at_work())
    if now == stamp_of_figures(work_days, day_end, hours):
        return
    if now != seen:
        raise SettingsAreStale
    ShopSettings.objects.filter(pk=1).update(work_days=work_days, day_end=day_end)
    for person, given in hours.items():
        Person.objects.filter(pk=person).update(week_hours=given)
