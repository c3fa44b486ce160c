"""The one row of settings, and the code that lets its first owner in."""

from datetime import time
from fractions import Fraction
from typing import Any, Self

from django.contrib.auth.hashers import check_password, make_password
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Length
from django.db.models.lookups import Exact
from django.utils.crypto import get_random_string

from calc.making import (
    BLADES,
    LEAST_K,
    LEAST_SPEED,
    MOST_ERROR,
    MOST_K,
    MOST_OFFSET,
    MOST_SPEED,
    MOST_TEETH,
    PROCESSES,
    Making,
    Saw,
)
from calc.records import as_json
from calc.stock import LARGEST_SHEET
from calc.tables.bending import METHODS, BendMethod
from calc.units import Display
from fabjobs.codes import CROCKFORD, as_read

LENGTH = 12  # 60 bits
OWN_K: BendMethod = "k-factor"
# [h] a hand that works longer than this has a break in it (directive 2003/88/EC, article 4), in which no timer runs
LONGEST_RUN = 6
MOST_HOURS = 24
CURRENCY_CODE = RegexValidator(r"^[A-Z]{3}\Z", "A currency is three capital letters, such as EUR.")
WEEK, WORK_DAYS = 7, 0b0011111  # Monday to Friday, Monday the lowest


class Unit(models.TextChoices):
    MM = "mm", "millimetres"
    INCH = "in", "inches"


RULES = {Unit.MM: ("1", "0.5"), Unit.INCH: ("1/16", "1/32")}


class ShopSettings(models.Model):
    """What is set once for the whole shop; always row 1."""

    name = models.CharField(max_length=80, default="The shop")
    unit = models.CharField(max_length=2, choices=Unit.choices, default=Unit.MM)
    rule = models.CharField("rule step, in the shop's unit", max_length=5, default="0.5")
    currency = models.CharField(max_length=3, default="EUR", validators=[CURRENCY_CODE])
    kerf = models.FloatField("saw kerf, mm", default=Making().kerf)
    edge_trim = models.FloatField("edge trim, mm", default=Making().edge_trim)
    seam_gap = models.FloatField("seam gap, mm", default=Making().seam_gap)
    bend_method = models.CharField(
        "how bends are worked out", max_length=20, choices=list(METHODS.items()), default=Making().bend_method
    )
    k_factor = models.FloatField("the shop's own K, a share of the thickness", null=True, blank=True)
    longest_fold = models.FloatField("longest fold, mm", default=Making().longest_fold)
    largest_blank = models.FloatField("largest blank for folding, mm", default=Making().largest_blank)
    guide_offset = models.FloatField("guide offset of the saw, mm", default=Making().guide_offset)
    least_clamp = models.FloatField("least clamping width, mm", default=Making().least_clamp)
    blade_diameter = models.FloatField("diameter of the blade, mm", null=True, blank=True, default=Saw().diameter)
    blade_teeth = models.PositiveSmallIntegerField("teeth of the blade", null=True, blank=True, default=Saw().teeth)
    saw_speed = models.FloatField("no-load speed of the saw, rev/min", null=True, blank=True, default=Saw().speed)
    blade_speed = models.FloatField("speed marked on the blade, rev/min", null=True, blank=True)
    process = models.CharField(
        "how seams are welded", max_length=3, choices=[(name, name) for name in PROCESSES], default=Making().process
    )
    marking_error = models.FloatField("marking error, mm either way", default=Making().marking_error)
    cutting_error = models.FloatField("cutting error, mm either way", default=Making().cutting_error)
    timer_hours = models.PositiveSmallIntegerField(
        "hours after which a timer is asked about", null=True, blank=True, default=LONGEST_RUN
    )
    work_days = models.PositiveSmallIntegerField("days of work, a bit each, Monday the lowest", default=WORK_DAYS)
    day_end = models.TimeField("when a day's work ends", default=time(17))
    paper_address = models.URLField("address that papers carry", max_length=200, blank=True, default="")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(pk=1), name="one_shop", violation_error_message="There is one shop, row 1."
            ),
            models.CheckConstraint(
                condition=Q(unit=Unit.MM, rule__in=RULES[Unit.MM]) | Q(unit=Unit.INCH, rule__in=RULES[Unit.INCH]),
                name="rule_fits_unit",
                violation_error_message="A rule in mm reads to 1 or 0.5, one in inches to 1/16 or 1/32.",
            ),
            models.CheckConstraint(
                condition=Q(kerf__range=(0, 10), edge_trim__range=(0, 200), seam_gap__range=(0, 5)),
                name="saw_within_bounds",
                violation_error_message="Kerf is 0 to 10 mm, edge trim 0 to 200 mm, seam gap 0 to 5 mm.",
            ),
            models.CheckConstraint(
                condition=Q(longest_fold__range=(1, LARGEST_SHEET), largest_blank__range=(1, LARGEST_SHEET)),
                name="folder_within_bounds",
                violation_error_message=f"The longest fold and the largest blank are 1 to {LARGEST_SHEET:g} mm.",
            ),
            models.CheckConstraint(
                condition=Q(guide_offset__range=(0, MOST_OFFSET), least_clamp__range=(0, MOST_OFFSET)),
                name="guide_within_bounds",
                violation_error_message=f"Guide offset and least clamping width are 0 to {MOST_OFFSET:g} mm.",
            ),
            models.CheckConstraint(
                condition=Q(blade_diameter=None, blade_teeth=None, saw_speed=None, blade_speed=None)
                | Q(blade_diameter__isnull=False, blade_teeth__isnull=False, saw_speed__isnull=False)
                & Q(
                    blade_diameter__range=BLADES,
                    blade_teeth__range=(2, MOST_TEETH),
                    saw_speed__range=(LEAST_SPEED, MOST_SPEED),
                ),
                name="saw_known_whole_or_not",
                violation_error_message="Blade, teeth and speed of the saw are given together, or none of them.",
            ),
            models.CheckConstraint(
                condition=Q(blade_speed=None) | Q(blade_speed__range=(LEAST_SPEED, MOST_SPEED)),
                name="blade_speed_within_bounds",
                violation_error_message=f"A blade is marked for {LEAST_SPEED:g} to {MOST_SPEED:g} rev/min.",
            ),
            models.CheckConstraint(
                condition=Q(bend_method__in=tuple(METHODS)),
                name="bend_method_known",
                violation_error_message=f"Bends are worked out by one of {', '.join(METHODS.values())}.",
            ),
            models.CheckConstraint(
                condition=Q(k_factor__isnull=False, k_factor__range=(LEAST_K, MOST_K))
                | Q(k_factor=None) & ~Q(bend_method=OWN_K),
                name="own_k_is_there_where_it_is_used",
                violation_error_message=f"The shop's own K is {LEAST_K:g} to {MOST_K:g}, and given where bends go by it.",
            ),
            models.CheckConstraint(
                condition=Q(process__in=PROCESSES),
                name="process_known",
                violation_error_message=f"Seams are welded by {' or '.join(PROCESSES)}.",
            ),
            models.CheckConstraint(
                condition=Q(marking_error__range=(0, MOST_ERROR), cutting_error__range=(0, MOST_ERROR)),
                name="errors_within_bounds",
                violation_error_message=f"Marking and cutting errors are 0 to {MOST_ERROR:g} mm.",
            ),
            models.CheckConstraint(
                condition=Q(timer_hours=None) | Q(timer_hours__range=(1, MOST_HOURS)),
                name="timer_hours_within_a_day",
                violation_error_message=f"A timer is asked about after 1 to {MOST_HOURS} hours.",
            ),
            models.CheckConstraint(
                condition=Q(work_days__range=(1, 2**WEEK - 1)),
                name="some_day_is_of_work",
                violation_error_message="Work is done on one day of the week at least.",
            ),
            models.CheckConstraint(
                condition=Exact(Length("currency"), 3),
                name="currency_code",
                violation_error_message=CURRENCY_CODE.message,
            ),
            models.CheckConstraint(
                condition=~Q(name=""), name="shop_has_a_name", violation_error_message="The shop needs a name."
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> Self:
        """The shop's settings; before anyone claimed it, the defaults, not stored."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)

    @property
    def display(self) -> Display:
        """How lengths are shown, on screen and paper."""
        return Display("in" if self.unit == Unit.INCH else "mm", Fraction(self.rule))

    @property
    def weekdays(self) -> frozenset[int]:
        """The days of work as Python counts them: 0 for Monday to 6 for Sunday."""
        return frozenset(day for day in range(WEEK) if self.work_days >> day & 1)

    @property
    def saw(self) -> Saw | None:
        """The saw, where the shop said what it is."""
        if self.blade_diameter is None or self.blade_teeth is None or self.saw_speed is None:
            return None
        return Saw(self.blade_diameter, self.blade_teeth, self.saw_speed, self.blade_speed)

    @property
    def reading(self) -> dict[str, Any]:
        """What a job sheet's making takes from here: how its papers write lengths, how bends are worked out, what the
        folder takes, how the saw is guided, how it is welded and how true it is marked and cut; so that the stored sheet
        alone gives its plan again."""
        folding = {name: getattr(self, name) for name in ("bend_method", "longest_fold", "largest_blank")}
        own = {"k_factor": self.k_factor} if self.bend_method == OWN_K else {}
        sawing = {"guide_offset": self.guide_offset, "least_clamp": self.least_clamp, "saw": as_json(self.saw)}
        ways = {name: getattr(self, name) for name in ("process", "marking_error", "cutting_error")}
        return {"units": self.unit, "rule": f"{self.rule} {self.unit}", **folding, **own, **sawing, **ways}


class SetUpCode(models.Model):
    """The code printed at the first start: who types it becomes the owner. Hashed, and good for a few tries."""

    TRIES = 10

    hashed = models.CharField(max_length=128)
    tries_left = models.PositiveSmallIntegerField(default=TRIES)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(pk=1), name="one_set_up_code", violation_error_message="There is one set-up code."
            ),
        ]

    def __str__(self) -> str:
        return f"set-up code, {self.tries_left} tries left"

    @classmethod
    def renew(cls) -> str:
        """A new code, the only one that opens the shop from now on; returned to be shown once, kept hashed."""
        code = get_random_string(LENGTH, CROCKFORD)
        cls.objects.update_or_create(pk=1, defaults={"hashed": make_password(code), "tries_left": cls.TRIES})
        return "-".join(code[start : start + 4] for start in range(0, LENGTH, 4))

    @classmethod
    def accepts(cls, typed: str) -> bool:
        """Whether `typed` is the code. Each question costs a try, counted before the answer is known."""
        if not cls.objects.filter(pk=1, tries_left__gt=0).update(tries_left=F("tries_left") - 1):
            return False
        return check_password(as_read(typed), cls.objects.get(pk=1).hashed)

    @classmethod
    def used_up(cls) -> bool:
        return not cls.objects.filter(pk=1, tries_left__gt=0).exists()
