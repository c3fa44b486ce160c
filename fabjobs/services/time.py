"""Time on steps: by a timer, one running a person, or by hand; corrected with a reason, never written over unseen."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from fabjobs.forgotten import why_asked
from fabjobs.models import Person, Step, TimeCorrection, TimeEntry
from fabjobs.moments import moment
from fabjobs.services.once import SentBefore, line_of_form
from fabjobs.services.steps import step_there
from fabjobs.services.tapped import LATEST_TAP, SLACK, TapOutOfTime, tapped_at

RAN_ON = "The timer ran on"
STOPPED_SINCE = (
    "The timer that this tap started was stopped since. Nothing was started; tap Start again if work goes on."
)
TOO_LONG_AGO = "This was tapped more than 12 hours before it could be sent, so no timer counts by it. {}"
STOPPED_BEFORE_IT_BEGAN = (
    "By the clock of the device this was tapped before the timer began. Nothing was stopped; tap Stop again."
)

SENT_BY_ANOTHER = "This form was sent already by someone else. If this is time of yours, send it once more."


class TimerRanLong(Exception):
    """The timer was most likely forgotten (`fabjobs.forgotten`); how long it really was is for the person to say."""

    def __init__(self, entry: TimeEntry) -> None:
        self.entry = entry
        super().__init__(f"Your timer has run since {_plain(entry.started_at)}. Say how long the work really took.")


class TimeChanged(Exception):
    """Someone corrected the time first; the text says who, when and to what."""


@transaction.atomic
def timer_start(*, step: Step, by: Person, form_key: UUID, ago: float = 0.0) -> TimeEntry:
    """Start this person's timer on a step; one that runs on another step is stopped and its time kept.

    ago: how long ago it was tapped [s], where a device kept the tap: the timer counts from then, and the other one until
    then. The same form again changes nothing while its timer runs, and raises `SentBefore` once that was stopped;
    starting the timer where it runs changes nothing either. Raises `TimerRanLong` where the one that runs has to be asked
    about first, `StepChanged` where the step is no longer made, `TapOutOfTime` where the tap is older than `LATEST_TAP`
    or a timer of theirs was started or stopped since; nothing is started.
    """
    _own_form(form_key, by)
    before = line_of_form(TimeEntry, form_key, step_id=step.pk, person_id=by.pk)
    if before is not None:
        if before.seconds is not None:
            raise SentBefore(before, STOPPED_SINCE)
        return before
    step_there(step, in_force=True)
    begun = _begun(by, ago)
    running = TimeEntry.objects.filter(person=by, seconds=None).first()
    if running is not None:
        if running.step_id == step.pk:
            return running
        timer_stop(by=by, entry=running, ago=ago)
    return TimeEntry.objects.create(
        step=step, person=by, by=by, form_key=form_key, started_at=begun, rate=_rate_now(step)
    )


@transaction.atomic
def timer_stop(
    *, by: Person, entry: TimeEntry, form_key: UUID | None = None, really: int | None = None, ago: float = 0.0
) -> TimeEntry:
    """Stop a timer and keep its time. One that was stopped already stays as it is.

    ago: how long ago it was tapped [s], where a device kept the tap: the timer counts until then. really: how long [s]
    the person says it was; what the timer counted is kept as the first line of its corrections, under form_key. Raises
    `TimerRanLong` where it was most likely forgotten and `really` is not given; `TapOutOfTime` where the tap is older than
    `LATEST_TAP`, from before the timer began, or from another moment than the one at which it was stopped already, and where
    it was stopped already with another time than `really`; `SentBefore` where the form answered for another timer.
    """
    entry.refresh_from_db()
    at = _tapped(ago)
    if entry.seconds is not None:
        if ago:
            _stopped_then(entry, at)
        sent_before = form_key is not None and entry.corrections.filter(form_key=form_key).exists()
        if really not in {None, entry.seconds} and not sent_before:
            raise _stopped_already(entry)
        return entry
    if ago and entry.started_at - at > timedelta(seconds=SLACK):
        raise TapOutOfTime(STOPPED_BEFORE_IT_BEGAN)
    ran = elapsed(entry, at)
    if really is None and why_asked(entry.started_at, at):
        raise TimerRanLong(entry)
    if form_key is not None:
        line_of_form(TimeCorrection, form_key, entry_id=entry.pk)
    kept = ran if really is None else really
    TimeEntry.objects.filter(pk=entry.pk, seconds=None).update(seconds=kept)
    if really is not None and really != ran:
        key = {"form_key": form_key} if form_key else {}
        TimeCorrection.objects.create(entry=entry, was=ran, now=really, reason=RAN_ON, by=by, **key)
    entry.seconds = kept
    return entry


@transaction.atomic
def time_enter(
    *, step: Step, day: date, minutes: float, by: Person, form_key: UUID, person: Person | None = None
) -> TimeEntry:
    """Time that was spent on a step on a day, entered by hand: by `by` for themselves, unless `person` is given.

    The same form again makes no second entry; raises `SentBefore` if it said something else, `StepChanged` where a new
    revision took the step away meanwhile.
    """
    spent = {"step_id": step.pk, "person_id": (person or by).pk, "started_at": _noon(day), "by_hand": True}
    seconds = round(minutes * 60)
    _own_form(form_key, by)
    before = line_of_form(TimeEntry, form_key, **spent)
    if before is None:
        step_there(step)
        return TimeEntry.objects.create(by=by, form_key=form_key, seconds=seconds, rate=_rate_now(step), **spent)
    first = before.corrections.first()
    if seconds != (before.seconds if first is None else first.was):
        raise SentBefore(before)
    return before


@transaction.atomic
def time_correct(
    *, entry: TimeEntry, was: int, seconds: int, reason: str, by: Person, form_key: UUID
) -> TimeCorrection:
    """Correct an entry's time: `was` [s] as the person saw it, `seconds` as it should be, and why. The old value is kept.

    The same form again changes nothing. Raises `TimeChanged`, and nothing is written, where the time is no longer `was`.
    """
    before = line_of_form(TimeCorrection, form_key, entry_id=entry.pk, now=seconds)
    if before is not None:
        return before
    if not TimeEntry.objects.filter(pk=entry.pk, seconds=was).update(seconds=seconds):
        raise TimeChanged(_corrected(entry))
    return TimeCorrection.objects.create(entry=entry, was=was, now=seconds, reason=reason, by=by, form_key=form_key)


def elapsed(entry: TimeEntry, now: datetime) -> int:
    """How long a timer has run [s]; a clock that was set back makes it no time, not less than none."""
    return max(0, round((now - entry.started_at).total_seconds()))


def _plain(at: datetime) -> str:
    """A moment after "since" or "until": without its "at" or "on"."""
    return moment(at).removeprefix("on ").removeprefix("at ")


def _own_form(form_key: UUID, by: Person) -> None:
    """On one tablet the next person may come back to a form of the last: they are not told whose time it made."""
    line = TimeEntry.objects.filter(form_key=form_key).exclude(by=by).first()
    if line is not None:
        raise SentBefore(line, SENT_BY_ANOTHER)


def _tapped(ago: float, then: str = "Say how long the work took.") -> datetime:
    """When a timer was tapped; then: what to do where that is too long ago to count by."""
    if ago > LATEST_TAP:
        raise TapOutOfTime(TOO_LONG_AGO.format(then))
    return tapped_at(ago)


def _begun(by: Person, ago: float) -> datetime:
    """When a timer begins. What another of theirs counted since (on another device) is not counted twice."""
    begun = _tapped(ago, "Nothing was started; log the time by hand.")
    if not ago:
        return begun
    timers = TimeEntry.objects.filter(person=by, by_hand=False).order_by("started_at")
    since = timers.filter(started_at__gt=begun).last()
    if since is not None:
        if since.started_at - begun > timedelta(seconds=SLACK):
            raise TapOutOfTime(
                f"You started another timer {moment(since.started_at)}, after this tap. "
                "Nothing was started; log the time before that by hand."
            )
        return since.started_at
    before = timers.filter(seconds__isnull=False).last()
    if before is None:
        return begun
    until = before.started_at + timedelta(seconds=min(before.seconds or 0, _counted(before)))
    if until - begun > timedelta(seconds=SLACK):
        raise TapOutOfTime(
            f"Another timer of yours ran until {_plain(until)}, past this tap. "
            "Nothing was started; log the time since then by hand."
        )
    return max(begun, until)


def _stopped_then(entry: TimeEntry, at: datetime) -> None:
    """Refuse a kept tap for a timer that was stopped at another moment; at the same one, it is that tap sent again."""
    stopped = entry.started_at + timedelta(seconds=_counted(entry))
    if abs(stopped - at) > timedelta(seconds=SLACK):
        raise _stopped_already(entry)


def _stopped_already(entry: TimeEntry) -> TapOutOfTime:
    stopped = entry.started_at + timedelta(seconds=_counted(entry))
    return TapOutOfTime(f"This timer was stopped already, {moment(stopped)}. Its time stays as it is.")


def _counted(entry: TimeEntry) -> int:
    """What a timer had counted when it was stopped [s], whatever its time was corrected to."""
    first = entry.corrections.first()
    return (entry.seconds if first is None else first.was) or 0


def _rate_now(step: Step) -> Decimal:
    """What an hour of a step costs as it is stored: the row at hand may have been read before a change."""
    return Step.objects.values_list("rate", flat=True).get(pk=step.pk)


def _noon(day: date) -> datetime:
    """A day by hand has no hour: its middle stays on that day whatever the summer time."""
    return timezone.make_aware(datetime.combine(day, time(12)))


def _corrected(entry: TimeEntry) -> str:
    last = entry.corrections.select_related("by").last()
    if last is None:
        return "This timer still runs. Stop it first."
    was, now = round(last.was / 60), round(last.now / 60)
    return f"{last.by} corrected this {moment(last.at)}, from {was} min to {now} min: {last.reason}"
