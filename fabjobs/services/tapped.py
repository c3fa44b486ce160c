"""When something was tapped, where the tap comes later than that: a device may keep it until there is a network again.

The device says how many seconds ago it was by its own clock, so a clock that is set wrong does no harm; one that was set
anew meanwhile does, so that what it says is held within bounds.
"""

from datetime import datetime, timedelta

from django.utils import timezone

LATEST_TAP = 12 * 3600  # [s] a timer's tap that was kept longer is not taken: what it would count is not to be trusted
OLDEST_TICK = 7 * 24 * 3600  # [s] a tick is always taken, but dated no longer ago than this
SLACK = 10  # [s] how far taps in a row may come out of turn: each is a while on its way, and not all equally long


class TapOutOfTime(Exception):
    """A kept tap of a timer that can't be fitted to what was timed since; the text says why and what to do."""


def tapped_at(ago: float, *, now: datetime | None = None, most: float = OLDEST_TICK) -> datetime:
    """The moment so many seconds ago: never one that lies ahead, nor one longer ago than `most` [s].

    >>> noon = datetime(2031, 5, 9, 12)
    >>> print(tapped_at(90, now=noon), tapped_at(-5, now=noon), tapped_at(7200, now=noon, most=3600), sep=", ")
    2031-05-09 11:58:30, 2031-05-09 12:00:00, 2031-05-09 11:00:00
    """
    return (now or timezone.now()) - timedelta(seconds=min(max(ago, 0), most))
