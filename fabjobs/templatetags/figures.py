"""Figures as the shop reads them. Lengths are shown through the shop's own display; the rest in units named here."""

from datetime import date, datetime

from django import template
from django.forms import BoundField
from django.utils import timezone
from django.utils.html import format_html

from calc import Plan
from calc.blank import Blank
from calc.drainage.words import litres
from calc.papers.lines import check_lines, offset_lines
from calc.units import Display
from fabjobs.forms.lengths import exactly
from fabjobs.kinds import kind_name
from fabjobs.models import Step
from fabjobs.moments import moment
from fabjobs.wording import hours, kilograms, metal, of_metal, of_money, one_in, percent, run, seconds, spent

register = template.Library()
for words in (hours, kilograms, litres, metal, of_metal, of_money, one_in, percent, run, seconds, spent):
    register.filter(words)


@register.filter
def shown(mm: float, display: Display) -> str:
    """927.5 mm."""
    return display.length(mm)


@register.filter
def figure(mm: float, display: Display) -> str:
    """927.5, where the unit stands beside it once for all."""
    return display.figure(mm)


@register.filter
def exact(mm: float, display: Display) -> str:
    """A length as it was measured, off the rule too: in the shop's unit where that says it exactly, else in mm.

    >>> exact(927.3, Display()), exact(927.1, Display("in"))
    ('927.3', '36 1/2')
    """
    return exactly(mm, display)


@register.filter
def small_unit(figure: str) -> str:
    """A figure with its unit in small letters behind it, never on a line of its own.

    >>> small_unit("941.5 mm"), small_unit("at d")
    ('941.5<small>&nbsp;mm</small>', 'at d')
    """
    number, _, unit = figure.rpartition(" ")
    if not (number[:1].isdigit() and unit.replace("/", "").isalpha()):
        return figure
    return format_html("{}<small>&nbsp;{}</small>", number, unit)


@register.filter
def area(mm2: float, display: Display) -> str:
    """0.277 m²."""
    return display.area(mm2)


@register.filter
def offsets(blank: Blank, display: Display) -> list[tuple[str, str, str]]:
    """The corners of a blank that are marked out, as the papers list them: number, along, square."""
    return offset_lines(blank, display)


@register.filter
def proofs(blank: Blank, plan: Plan) -> list[tuple[str, str, str]]:
    """The lengths that prove a blank, as the papers list them: from and to, length, what it is."""
    return check_lines(plan, blank, plan.sheet.making.display)


@register.filter
def kind(key: str) -> str:
    """A kind of work as people call it.

    >>> kind("hand-cut")
    'cut by hand'
    """
    return kind_name(key)


@register.filter
def when(at: datetime) -> str:
    """At 10:42; on 3 May at 10:42, where that was another day."""
    return moment(at)


@register.filter
def amount(step: Step) -> str:
    """How much of a thing a step is: at most two decimals, none that say nothing.

    >>> amount(Step(driver=4.0, unit="corner")), amount(Step(driver=1.2345, unit="m"))
    ('4 corners', '1.23 m')
    """
    figure = f"{step.driver:.2f}".rstrip("0").rstrip(".")
    is_counted = len(step.unit) > 2
    return f"{figure} {step.unit}{'s' if is_counted and figure != '1' else ''}"


@register.filter
def days_left(due: date) -> str:
    """How far off a day is, in words."""
    days = (due - timezone.localdate()).days
    if days < 0:
        return f"{-days} day{'s' if days < -1 else ''} late"
    return {0: "today", 1: "tomorrow"}.get(days, f"in {days} days")


@register.filter
def is_past(due: date) -> bool:
    return due < timezone.localdate()


@register.filter
def faults(field: BoundField) -> str:
    """What to say beside a field now. While a person still types, an empty field is no fault yet."""
    if not field.form.is_bound:
        return ""
    seen = getattr(field.form, "seen", True)
    errors = field.form.errors.as_data().get(field.name, [])
    return " ".join(text for error in errors if seen or error.code != "required" for text in error.messages)
