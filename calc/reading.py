"""Reading what a person typed into a sheet: every fault is kept, in words, with the path of the field it is in.

A `Field` is one value of the sheet and the path that leads to it. Its methods return the value that is asked for, or note a
fault and return None; reading goes on, so that one look at a sheet finds all that is wrong with it.
"""

import json
import math
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, TypeVar

from calc.records import DIGITS, Point
from calc.units import LengthError, parse_length

LONGEST_TEXT = 200
LONGEST_AMOUNT = 20
MONEY_PLACES = 2
# Control signs, marks that turn text about or hide in it, line and paragraph separators, halves of signs.
NOT_PLAIN = {"Cc", "Cf", "Cs", "Zl", "Zp"}
Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one field: its path (`sheet.shape.depth`) and a sentence."""

    path: str
    text: str

    def __str__(self) -> str:
        return f"{self.path}: {self.text}"


class SheetFaults(ValueError):
    """A sheet that can't be planned; `faults` holds each reason, in the order of the sheet."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = tuple(faults)


def as_typed(value: object) -> str:
    """A value as it stands in the sheet, cut short and on one line, for an error to quote.

    >>> as_typed({"a": [1, 2]})
    '{"a": [1, 2]}'
    """
    try:
        text = one_line(json.dumps(value, ensure_ascii=False))
    except (TypeError, ValueError, RecursionError):
        text = f"a {type(value).__name__}"
    return text if len(text) <= 60 else text[:57] + "..."


def one_line(text: str) -> str:
    r"""Text that any terminal can print on one line: what can't be printed is written as an escape.

    >>> one_line("depth\n\ud800 ½")
    'depth\\n\\ud800 ½'
    """
    return "".join(
        character if character.isprintable() else character.encode("unicode_escape").decode("ascii")
        for character in text
    )


def number_as_typed(value: float) -> str:
    """A number without needless zeros: 5.0 reads 5."""
    return f"{value:.10g}"


def amount_must_be(typed: str, most: str, places: int) -> str:
    """What an amount of money must be that this text is not, in the words of a fault; empty where nothing is wrong.

    >>> amount_must_be("118.00", "999999.99", 2), amount_must_be("1000000", "99999.99", 2)
    ('', 'at most 99999.99')
    """
    sample = "118.00" if places == MONEY_PLACES else "0.0200"
    plain = typed.isascii() and typed.replace(".", "", 1).isdecimal() and len(typed) <= LONGEST_AMOUNT
    if not plain:
        return f'an amount such as "{sample}", digits and a point only'
    if len(typed.partition(".")[2]) > places:
        return f'an amount such as "{sample}", to {places} decimals at most'
    return f"at most {most}" if Decimal(typed) > Decimal(most) else ""


@dataclass(frozen=True, slots=True)
class Field:
    """One value in the sheet, where it is, and the faults found so far."""

    value: Any
    path: str = "sheet"
    faults: list[Fault] = field(default_factory=list)

    def fault(self, text: str) -> None:
        """Note that this field is at fault."""
        self.faults.append(Fault(self.path, one_line(text)))

    def wrong(self, must: str) -> None:
        """Note a fault in the usual words: what the field must be and what it is."""
        self.fault(f"must be {must} (got {as_typed(self.value)})")

    def at(self, key: str | int, default: object = None) -> "Field":
        """The field at a key of this mapping, or at an index of this list; the default where the key is not there."""
        if isinstance(key, int):
            return Field(self.value[key], f"{self.path}[{key}]", self.faults)
        return Field(self.value.get(key, default), f"{self.path}.{one_line(key)}", self.faults)

    def items(self) -> Iterator["Field"]:
        """The fields of this list, in order."""
        for index in range(len(self.value)):
            yield self.at(index)

    def has_keys(self) -> bool:
        """Whether this is an object with keys; where not, a fault is noted."""
        if isinstance(self.value, Mapping):
            return True
        self.wrong("an object with keys and values")
        return False

    def mapping(self, keys: Sequence[str], required: Sequence[str] = ()) -> bool:
        """Whether this is a mapping; keys that nobody knows and keys that are missing are faults."""
        if not self.has_keys():
            return False
        for key in self.value:
            if key not in keys:
                self.at(str(key)[:60]).fault(f"unknown key; known here are {', '.join(keys)}")
        for key in required:
            if key not in self.value:
                self.at(key).fault("missing; it has no default")
        return all(key in self.value for key in required)

    def sequence(self, least: int, most: int, what: str) -> bool:
        """Whether this is a list of so many things."""
        if not isinstance(self.value, list | tuple):
            self.wrong(f"a list of {what}")
            return False
        if not least <= len(self.value) <= most:
            count = str(least) if least == most else f"{least} to {most}"
            self.fault(f"must hold {count} {what} (got {len(self.value)})")
            return False
        return True

    def list_of(
        self, read: Callable[["Field"], Item | None], least: int, most: int, what: str
    ) -> tuple[Item, ...] | None:
        """Each item of this list as `read` reads it; None where the list or any item of it is at fault."""
        if not self.sequence(least, most, what):
            return None
        found = [read(item) for item in self.items()]
        kept = tuple(item for item in found if item is not None)
        return kept if len(kept) == len(found) else None

    def number(self, least: float = -math.inf, most: float = math.inf, unit: str = "") -> float | None:
        """A finite number within bounds (both allowed), rounded as it is stored, so that a stored sheet plans the same."""
        value = self.value
        try:
            if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
                self.wrong("a number" if not unit else f"a number in {unit}")
                return None
        except OverflowError:
            self.wrong("a number of a sensible size")
            return None
        return self.within(round(float(value), DIGITS), least, most, unit)

    def whole(self, least: int, most: int) -> int | None:
        """A whole number within bounds (both allowed)."""
        if isinstance(self.value, bool) or not isinstance(self.value, int):
            self.wrong(f"a whole number from {least} to {most}")
            return None
        if not least <= self.value <= most:
            self.wrong(f"from {least} to {most}")
            return None
        return self.value

    def within(self, value: float, least: float, most: float, unit: str) -> float | None:
        """The value if it is within bounds, which the fault names otherwise."""
        unit_after = f" {unit}" if unit else ""
        if value < least:
            bound = "more than 0" if 0 < least <= 0.01 and value <= 0 else f"at least {number_as_typed(least)}"
        elif value > most:
            bound = f"at most {number_as_typed(most)}"
        else:
            return value
        typed = as_typed(self.value) if isinstance(self.value, str) else number_as_typed(value)
        self.fault(f"must be {bound}{unit_after} (got {typed})")
        return None

    def length(self, least: float, most: float) -> float | None:
        """A length [mm]: a number in mm, or text with its unit."""
        if not isinstance(self.value, str):
            return self.number(least, most, "mm")
        try:
            millimetres = round(float(parse_length(self.value)), DIGITS)
        except (LengthError, OverflowError) as error:
            self.fault(str(error))
            return None
        return self.within(millimetres, least, most, "mm")

    def point(self, most: float) -> Point | None:
        """A point [x, y] on the rim plane, each within +-most [mm]."""
        if not self.sequence(2, 2, "coordinates, [x, y]"):
            return None
        x, y = (item.length(-most, most) for item in self.items())
        return None if x is None or y is None else (x, y)

    def text(self, longest: int = LONGEST_TEXT) -> str | None:
        """One line of text, trimmed."""
        if not isinstance(self.value, str):
            self.wrong("text in quotes")
            return None
        trimmed = self.value.strip()
        if len(trimmed) > longest:
            self.fault(f"must be at most {longest} characters long (got {len(trimmed)})")
            return None
        if any(unicodedata.category(character) in NOT_PLAIN for character in trimmed):
            self.fault("must be one line of plain text, without control characters")
            return None
        return trimmed

    def choice(self, choices: Sequence[str]) -> str | None:
        """One of these words."""
        if self.value in choices and isinstance(self.value, str):
            return self.value
        self.wrong(f"one of {', '.join(choices)}" if len(choices) > 1 else choices[0])
        return None

    def flag(self) -> bool | None:
        """true or false."""
        if isinstance(self.value, bool):
            return self.value
        self.wrong("true or false")
        return None

    def money(self, most: str, places: int = 2) -> str | None:
        """An amount of money as a decimal text ("118.00"): 0 to `most`, to so many decimals at most."""
        if not isinstance(self.value, str):
            self.wrong('an amount in quotes, such as "118.00"')
            return None
        typed = self.value.strip()
        if must := amount_must_be(typed, most, places):
            self.wrong(must)
            return None
        return typed
