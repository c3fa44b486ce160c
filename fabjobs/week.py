"""The shop's week: who works in it, and a stamp by which a change is noticed."""

import hashlib
from collections.abc import Iterable, Mapping
from datetime import time

from fabjobs.models import Person, ShopSettings


def people_at_work() -> list[Person]:
    """Everyone who may sign in."""
    return list(Person.objects.filter(is_active=True).order_by("username"))


def stamp_of_week(shop: ShopSettings, people: Iterable[Person]) -> str:
    """Some signs that differ when a day of work, its end or somebody's hours do."""
    return stamp_of_figures(shop.work_days, shop.day_end, {person.pk: person.week_hours for person in people})


def stamp_of_figures(work_days: int, day_end: time, hours: Mapping[int, float]) -> str:
    """The same of a week that is not kept yet; hours a week [h] by the person's key."""
    return hashlib.sha256(repr((work_days, day_end, sorted(hours.items()))).encode()).hexdigest()[:16]
