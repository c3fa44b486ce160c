"""A moment in words, no more of the date than is needed."""

from datetime import UTC, date, datetime

import pytest
from django.utils import timezone

from fabjobs import moments


@pytest.mark.parametrize(
    ("at", "words"),
    [
        (datetime(2031, 5, 9, 8, 42, tzinfo=UTC), "at 10:42"),
        (datetime(2031, 5, 8, 22, 1, tzinfo=UTC), "at 00:01"),  # the day is the shop's, not that of Greenwich
        (datetime(2031, 5, 8, 21, 59, tzinfo=UTC), "on 8 May at 23:59"),
        (datetime(2031, 1, 1, 11, 5, tzinfo=UTC), "on 1 Jan at 12:05"),
        (datetime(2030, 12, 31, 22, 30, tzinfo=UTC), "on 31 Dec 2030 at 23:30"),
    ],
)
def test_a_moment_is_told_by_the_shops_clock(at: datetime, words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "localdate", lambda: date(2031, 5, 9))
    with timezone.override("Europe/Oslo"):  # an hour ahead of Greenwich, two in summer
        assert moments.moment(at) == words
