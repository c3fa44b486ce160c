"""Timers that were most likely forgotten: those that ran longer than a shop lets them, or past the end of its day."""

from datetime import datetime, time, timedelta

from django.utils import timezone

from fabjobs.models import ShopSettings


def why_asked(started_at: datetime, at: datetime, shop: ShopSettings | None = None) -> str:
    """Why a timer that ran from then until now is asked about; nothing where its count may be kept as it is.

    shop: its settings, where they are read already.
    """
    shop = shop or ShopSettings.current()
    if shop.timer_hours is not None and at - started_at > timedelta(hours=shop.timer_hours):
        return f"More than {shop.timer_hours} hour{'' if shop.timer_hours == 1 else 's'}."
    if day_end_after(started_at, shop.day_end) <= at:
        return f"It ran past {shop.day_end:%H:%M}, when the day ends."
    return ""


def day_end_after(moment: datetime, ends: time) -> datetime:
    """The first end of the day after a moment, by the shop's clock: of who works on past one, the next.

    >>> from datetime import timezone as zone
    >>> with timezone.override(zone.utc):
    ...     [str(day_end_after(datetime(2031, 5, 9, hour, tzinfo=zone.utc), time(18))) for hour in (17, 18)]
    ['2031-05-09 18:00:00+00:00', '2031-05-10 18:00:00+00:00']
    """
    today = timezone.localtime(moment).date()
    end = timezone.make_aware(datetime.combine(today, ends))
    return end if end > moment else timezone.make_aware(datetime.combine(today + timedelta(days=1), ends))
