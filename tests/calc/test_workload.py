"""When work in hand is likely done: every day worked out by hand."""

import math
from collections.abc import Collection
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.workload import FURTHEST, Timed, finish_days

MONDAY, FRIDAY, SUNDAY = date(2031, 5, 5), date(2031, 5, 9), date(2031, 5, 11)  # as any calendar has them
MONDAY_TO_FRIDAY = range(5)


def days_of(
    hours: list[float],
    today: date = MONDAY,
    left_today: float = 16,
    day_hours: float = 16,
    work_days: Collection[int] = MONDAY_TO_FRIDAY,
) -> list[str]:
    """As they are told: "Fri 9"."""
    days = finish_days(hours, today=today, left_today=left_today, day_hours=day_hours, work_days=work_days)
    return [f"{day:%a} {day.day}" if day else "none" for day in days]


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        ([], []),
        ([0], ["Mon 5"]),
        ([16], ["Mon 5"]),  # two people of 8 h: all of Monday
        ([16.5], ["Tue 6"]),
        ([10, 10, 10], ["Mon 5", "Tue 6", "Tue 6"]),  # 10, 20 and 30 h of 16 a day
        ([80], ["Fri 9"]),  # the whole week
        ([80, 0.25], ["Fri 9", "Mon 12"]),  # and a quarter of an hour of the next
        ([80, 0, 80], ["Fri 9", "Fri 9", "Fri 16"]),
        ([0.1] * 160, ["Mon 5"] * 160),  # sixteen hours in tenths, which do not add up to sixteen in binary
    ],
)
def test_jobs_one_after_the_other(hours: list[float], expected: list[str]) -> None:
    assert days_of(hours) == expected


def test_what_is_left_of_today_counts_first() -> None:
    # 4 h on Friday; 19 h are 15 more on Monday, 21 h one more than Monday has
    assert days_of([3, 16, 2], today=FRIDAY, left_today=4) == ["Fri 9", "Mon 12", "Tue 13"]
    assert days_of([1], today=FRIDAY, left_today=0) == ["Mon 12"]


def test_a_day_off_works_nothing() -> None:
    assert days_of([1, 16], today=SUNDAY, left_today=0) == ["Mon 12", "Tue 13"]


def test_other_days_of_work() -> None:
    # Tuesday, Thursday and Saturday, 5 h each: 12 h from Monday on end on the third of them
    week = {"left_today": 0.0, "day_hours": 5.0, "work_days": {1, 3, 5}}
    days = finish_days([5, 5, 2, 5], today=MONDAY, **week)  # type: ignore[arg-type]
    assert days == [date(2031, 5, day) for day in (6, 8, 10, 13)]


def test_nobody_at_work() -> None:
    assert days_of([0, 1], left_today=0, day_hours=0) == ["Mon 5", "none"]
    assert days_of([2, 2], left_today=3, day_hours=0) == ["Mon 5", "none"]


def test_beyond_ten_years_no_day_is_told() -> None:
    assert days_of([16 * 5 * 520], left_today=0) == ["Mon 22"]  # 520 weeks, 13 days short of ten years: 22 April 2041
    assert days_of([16 * 5 * 530], left_today=0) == ["none"]
    assert days_of([1e300], day_hours=1e-300) == ["none"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"hours": [-1.0]},
        {"hours": [math.nan]},
        {"hours": [math.inf]},
        {"left_today": -1.0},
        {"day_hours": math.inf},
        {"work_days": set()},
        {"work_days": {7}},
    ],
)
def test_what_makes_no_sense_is_refused(wrong: dict[str, object]) -> None:
    given = {"hours": [1.0], "today": MONDAY, "left_today": 8.0, "day_hours": 8.0, "work_days": MONDAY_TO_FRIDAY}
    with pytest.raises(ValueError, match=r"must be 0 or more|days of work"):
        finish_days(**{**given, **wrong})  # type: ignore[arg-type]


@given(
    hours=st.lists(st.floats(0, 300).map(lambda figure: round(figure, 2)), max_size=12),  # none that counts as nothing
    today=st.dates(MONDAY, date(2032, 5, 5)),
    work_days=st.sets(st.integers(0, 6), min_size=1),
    day_hours=st.floats(1, 40),
)
def test_as_working_day_by_day_would_have_it(
    hours: list[float], today: date, work_days: set[int], day_hours: float
) -> None:
    """Against the plainest reckoning: each day's hours are worked off one day after the other."""
    left_today = day_hours / 2 if today.weekday() in work_days else 0.0
    days = finish_days(hours, today=today, left_today=left_today, day_hours=day_hours, work_days=work_days)
    done, day, expected = left_today, today, []
    for place in range(len(hours)):
        while sum(hours[: place + 1]) > done + 1e-6:
            day += timedelta(1)
            done += day_hours if day.weekday() in work_days else 0.0
        expected.append(day if (day - today).days <= FURTHEST else None)
    assert days == expected


def test_a_pace_needs_jobs_enough_and_a_standard() -> None:
    assert Timed(60, 90, 5).pace == 1.5
    assert Timed(60, 90, 4).pace is None
    assert Timed(0, 90, 5).pace is None
