"""Times as people write them down. The minutes are worked out by hand beside each."""

import pytest
from django import forms

from fabjobs.forms.durations import MinutesField, parse_minutes


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("80", 80),
        ("80 min", 80),
        ("80m", 80),
        ("1 minute", 1),
        ("1:20", 60 + 20),
        ("0:05", 5),
        ("12:00", 12 * 60),
        ("1 h 20", 60 + 20),
        ("1h20", 60 + 20),
        (" 1  H 20 Min ", 60 + 20),
        ("1 h 05 min", 60 + 5),
        ("2 h", 120),
        ("2 hours", 120),
        ("1 hr 1 min", 61),
        ("1.5 h", 90),
        ("1,5 h", 90),
        ("0.25h", 15),
        ("24 h", 24 * 60),
        ("1440", 24 * 60),
        ("0", 0),
    ],
)
def test_a_time_is_read_as_it_is_written(text: str, minutes: int) -> None:
    assert parse_minutes(text) == minutes


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is no time"),
        ("h", "is no time"),
        ("soon", "is no time: write it like 80, 1:20, 1 h 20 or 1.5 h (got 'soon')"),
        ("-5", "is no time"),
        ("1:2", "is no time"),
        ("1:20:30", "is no time"),
        ("1:75", "from 0 to 59"),
        ("1 h 75", "from 0 to 59"),
        ("1.5 h 10", "from 0 to 59"),
        ("1.5", "may be hours or minutes: write 1.5 h"),
        ("1,5", "may be hours or minutes"),
        ("25 h", "at most 24 hours"),
        ("1441", "at most 24 hours"),
        ("24 h 1", "at most 24 hours"),
        ("999 h", "at most 24 hours"),
        ("９", "is no time"),
        ("1e3", "is no time"),
        ("nan", "is no time"),
    ],
)
def test_what_is_no_time_is_refused_in_words(text: str, words: str) -> None:
    with pytest.raises(ValueError) as refused:  # noqa: PT011 - the words are what is asked for
        parse_minutes(text)
    assert words in str(refused.value)
    assert repr(text) in str(refused.value)


def test_a_field_takes_no_time_at_all_only_where_that_means_something() -> None:
    assert MinutesField(nothing=True).clean("0") == 0
    with pytest.raises(forms.ValidationError, match="more than nothing"):
        MinutesField().clean("0 min")
    with pytest.raises(forms.ValidationError, match="at most 20 characters"):
        MinutesField().clean("1" * 21)
