"""The steps as a traveller prints them: numbered through, in groups by kind, no length broken at the end of a line."""

import re
from dataclasses import dataclass
from itertools import groupby

from calc import Plan

NO_BREAK = "\N{NO-BREAK SPACE}"
# Spaces that tie a fraction to its whole number, a unit to its figure, a number to what it numbers, a place together
_INSIDE = re.compile(
    r"(?<=\d) (?=\d+/\d)|(?<=\d) (?=(?:mm|in|m|ft|kg|degrees|min)\b)|(?<=;) (?=-?[\d/ ]+[\d.]*\))"
    r"|(?<=\bcorner) (?=\d)|(?<=\bcut) (?=\d)|(?<=\bpiece) (?=\d)|(?<=\b[Ss]heet) (?=\d)"
)


@dataclass(frozen=True, slots=True)
class StepGroup:
    """Steps of one kind that follow each other; each its number in the job, its text and its minutes."""

    kind: str
    rows: tuple[tuple[str, str, str], ...]


def step_groups(plan: Plan) -> list[StepGroup]:
    """The steps in order, numbered through, in groups by kind."""
    numbered = enumerate(plan.steps, 1)
    return [
        StepGroup(
            kind[:1].upper() + kind[1:],
            tuple((str(number), unbroken(step.text), f"{step.minutes:.0f}") for number, step in group),
        )
        for kind, group in groupby(numbered, key=lambda pair: pair[1].kind)
    ]


def unbroken(text: str) -> str:
    """The text with no-break spaces inside lengths, places and numbered names, so that no line ends in one.

    >>> unbroken("Weld A-B, 25 9/16 in, at (4; 12.5)").split(" ")
    ['Weld', 'A-B,', '25\\xa09/16\\xa0in,', 'at', '(4;\\xa012.5)']
    """
    return _INSIDE.sub(NO_BREAK, text)
