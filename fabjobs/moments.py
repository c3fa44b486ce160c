"""A moment in words: the clock for today, the day with it before that."""

from datetime import datetime

from django.utils import timezone
from django.utils.formats import date_format


def moment(at: datetime) -> str:
    """ "at 10:42", "on 3 May at 10:42", "on 3 May 2029 at 10:42": no more of the date than is needed."""
    here, today = timezone.localtime(at), timezone.localdate()
    if here.date() == today:
        return date_format(here, "\\a\\t H:i")
    day = "j M" if here.year == today.year else "j M Y"
    return date_format(here, f"\\o\\n {day} \\a\\t H:i")
