"""A piece of advice: a record only."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Advice:
    """A warning: its code and its text."""

    code: str
    text: str
