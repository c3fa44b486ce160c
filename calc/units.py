"""Lengths as people type and read them, to and from exact millimetres.

Inside, every length is mm. A typed length becomes a `Fraction`, so `36 1/2 in` is exactly 927.1 mm and
nothing is lost before the geometry begins. What could be read two ways is refused: metal cut to the wrong
reading is scrap.
"""

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NoReturn

Unit = Literal["mm", "in"]

INCH = Fraction(254, 10)  # mm, exact by definition since 1959
FOOT = 12 * INCH
LONGEST_TEXT = 60
COMPUTED_PLACES = 7  # decimals of a mm that a computed length is good for

_UNITS: dict[str, Fraction] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), Fraction(1)),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), Fraction(10)),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1000)),
    **dict.fromkeys(("in", "inch", "inches", '"'), INCH),
    **dict.fromkeys(("ft", "foot", "feet", "'"), FOOT),
}
_KNOWN = "mm, cm, m, in or ft"
_SIGNS = str.maketrans(
    {
        **dict.fromkeys("′’‘ʹ´`", "'"),
        **dict.fromkeys("″”“ʺ", '"'),
        **dict.fromkeys("−‐‑‒–—", "-"),
        **dict.fromkeys("⁄∕", "/"),
    }
)
_PIECE = re.compile(r"([^A-Za-z'\"]*)([A-Za-z]+\.?|['\"]|$)")
_DECIMAL = re.compile(r"[0-9]+|[0-9]*[.,][0-9]+")
_RULE_FRACTION = re.compile("/(2|4|8|16|32|64)$")
_FRACTION = re.compile(r"(?:([0-9]+)(?: |-))?([0-9]+) ?/ ?([0-9]+)")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


class LengthError(ValueError):
    """A typed length that can't be used; its text is one sentence for the person who typed it."""


def parse_length(text: str, *, bare_unit: Unit | None = None) -> Fraction:
    """Read a length as it is typed.

    text: a number, a fraction or a mixed number with a unit (mm, cm, m, in, ft, ' or "), or feet and inches.
    bare_unit: the unit of a number typed without one; None refuses such a number.
    Returns the length [mm], exact; it may be negative (a coordinate), its range is for the caller to check.
    Raises LengthError, in a sentence, for what isn't a length or can be read in more ways than one.

    >>> parse_length('36 1/2 in')
    Fraction(9271, 10)
    >>> parse_length('3\\'-0 1/2"') == parse_length("92,71 cm") == parse_length("36½", bare_unit="in")
    True
    >>> parse_length("1,500 mm")
    Traceback (most recent call last):
    calc.units.LengthError: the comma may mark thousands or decimals: write 1500 or 1.500 (got 1,500 mm)
    """
    typed = _shown(text)
    if len(text.strip()) > LONGEST_TEXT:
        _refuse(typed, f"too long for a length (over {LONGEST_TEXT} characters)", "write one number and its unit")
    body = _plain(text)
    if not body:
        _refuse("nothing", "no length was given", "write a number and its unit, such as 927 mm or 36 1/2 in")
    _refuse_foreign(body, typed)
    signed = re.match(r"[+-] ?", body)
    size = _size(body[signed.end() :] if signed else body, typed, bare_unit)
    return -size if body[0] == "-" else size


def _shown(text: str) -> str:
    """What was typed, on one line and never long."""
    line = "".join(c if c.isprintable() else " " if c.isspace() else "\N{REPLACEMENT CHARACTER}" for c in text)
    line = line.strip()
    return line if len(line) <= LONGEST_TEXT else line[:LONGEST_TEXT] + " ..."


def _refuse(typed: str, wrong: str, remedy: str) -> NoReturn:
    raise LengthError(f"{wrong}: {remedy} (got {typed})")


def _plain(text: str) -> str:
    """The same text in plain signs: fractions spelt out, primes and dashes as typed, single spaces."""
    out = ""
    for sign in text:
        kind, _, codes = unicodedata.decomposition(sign).partition(" ")
        if kind == "<fraction>":
            # a space on each side keeps 36½ from becoming 361/2, and ½4 from becoming 1/24
            out += (" " if out[-1:].isdigit() else "") + "".join(chr(int(c, 16)) for c in codes.split()) + " "
        else:
            out += sign
    return " ".join(out.translate(_SIGNS).replace("''", '"').split())


def _refuse_foreign(body: str, typed: str) -> None:
    for sign in body:
        if sign.isnumeric() and not sign.isascii():
            _refuse(typed, f"{sign} is not one of the digits 0 to 9", "write the number with those")
        if not sign.isascii() or not sign.isprintable():
            _refuse(typed, f"{_shown(sign)} has no meaning in a length", "write it as 927 mm or 36 1/2 in")
    if re.search(r"[0-9][eE][+-]?[0-9]", body):
        _refuse(typed, "a power of ten is not a shop figure", "write the number out, such as 1200 mm")
    if re.search(r"\b0[xX]|[0-9]_", body):
        _refuse(typed, "only the digits 0 to 9 make a number", "write it as 927 mm or 36 1/2 in")


def _size(body: str, typed: str, bare_unit: Unit | None) -> Fraction:
    pieces = [(figure.strip(), unit) for figure, unit in _PIECE.findall(body) if figure.strip() or unit]
    if not any(c.isdigit() for c in body):
        _refuse(typed, "there is no number in it", "write a number and its unit, such as 927 mm")
    if len(pieces) > 2:
        _refuse(typed, "there is more than one length in it", "write one, such as 927 mm or 3 ft 0 1/2 in")
    if bare_unit == "mm" and len(pieces) == 1 and not pieces[0][1] and _RULE_FRACTION.search(body):
        _refuse(typed, "a fraction without a unit reads like an inch tape", f"write {body} in, or decimals of a mm")
    scales = [_scale(figure, unit or bare_unit or "", typed) for figure, unit in pieces]
    if len(pieces) == 1:
        return _number(pieces[0][0], typed) * scales[0]
    if scales != [FOOT, INCH]:
        _refuse(typed, "these units don't go together", "use one unit, or feet and then inches")
    feet, inches = pieces[0][0], _number(pieces[1][0].removeprefix("-").lstrip(), typed)
    if not re.fullmatch("[0-9]+", feet):
        _refuse(typed, f"the feet before inches must be a whole number, not {feet}", "put the rest in inches")
    if inches >= 12:
        _refuse(typed, "12 inches or more after the feet", "carry them into the feet, or write inches only")
    return int(feet) * FOOT + inches * INCH


def _scale(figure: str, unit: str, typed: str) -> Fraction:
    if not any(c.isdigit() for c in figure):
        _refuse(typed, f"there is no number before {unit}", "write the number and then its unit, such as 927 mm")
    if not unit:
        _refuse(typed, f"there is no unit after {figure}", f"add {_KNOWN}")
    scale = _UNITS.get(unit.lower().removesuffix("."))
    if scale is None:
        _refuse(typed, f"{unit} is not a unit of length known here", f"use {_KNOWN}")
    return scale


def _number(figure: str, typed: str) -> Fraction:
    if _THOUSANDS.fullmatch(figure):
        either = f"write {figure.replace(',', '')} or {figure.replace(',', '.')}"
        _refuse(typed, "the comma may mark thousands or decimals", either)
    if _DECIMAL.fullmatch(figure):
        return Fraction("0" + figure.replace(",", "."))
    parts = _FRACTION.fullmatch(figure)
    if parts is None:
        _refuse_figure(figure, typed)
    whole, top, bottom = parts.groups()
    if int(bottom) == 0:
        _refuse(typed, "a fraction can't have 0 under the line", "write it as 36 1/2")
    value = Fraction(int(top), int(bottom))
    if whole is not None and value >= 1:
        _refuse(typed, f"{top}/{bottom} after {whole} is not less than one", "write it as 36 1/2")
    if whole is None:
        _refuse_lost_space(top, int(bottom), typed)
    return int(whole or 0) + value


def _refuse_lost_space(top: str, bottom: int, typed: str) -> None:
    """361/2 is 180 1/2, or 36 1/2 with its space lost: nobody can tell, so it is asked for again."""
    if int(top) < bottom:
        return
    for cut in range(1, len(top)):
        if 0 < int(top[cut:]) < bottom and top[cut] != "0":
            lost, meant = f"{top[:cut]} {top[cut:]}/{bottom}", _mixed(Fraction(int(top), bottom))
            _refuse(
                typed,
                f"{top}/{bottom} may be {meant}, or {lost} with its space lost",
                f"write {meant} or {lost}",
            )


def _refuse_figure(figure: str, typed: str) -> NoReturn:
    if len(re.findall("[.,]", figure)) > 1 and "/" not in figure:
        _refuse(typed, f"more than one point or comma in {figure}", "write it without thousands marks, as 1500.5")
    if re.search("[0-9] ?- ?[0-9]", figure):
        _refuse(typed, f"{figure} may be a sum or a mixed number", "write one number, such as 36-1/2 or 36 1/2")
    if re.search("[0-9] [0-9]", figure) and "/" not in figure:
        _refuse(typed, f"{figure} may be one number or two", f"write {figure.replace(' ', '')}, or one of them")
    if "/" in figure:
        _refuse(typed, f"{figure} is not a whole number over a whole number", "write a fraction as 36 1/2")
    _refuse(typed, f"{figure} is not a number", "write it as 927, 92.7 or 36 1/2")


def _mixed(value: Fraction) -> str:
    """A number of 0 or more as a whole and a reduced fraction: 36 1/2."""
    whole, rest = divmod(value, 1)
    return f"{whole} {rest}" if whole and rest else f"{rest or whole}"


def _places(value: Fraction) -> int | None:
    """How many decimals write the value exactly; None where no number of them does."""
    rest, twos, fives = value.denominator, 0, 0
    while rest % 2 == 0:
        rest, twos = rest // 2, twos + 1
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    return max(twos, fives) if rest == 1 else None


def _decimal(value: Fraction, places: int) -> str:
    whole, part = divmod(round_half_away(value * 10**places), 10**places)
    return f"{whole}.{part:0{places}}".rstrip("0").rstrip(".") if places else str(whole)


def _exact(mm: float | Fraction) -> Fraction:
    # a computed 926.7499999999999 is the shop's 926.75: without this, halves would fall either way
    return Fraction(mm) if isinstance(mm, Fraction | int) else Fraction(repr(round(float(mm), COMPUTED_PLACES)))


def round_half_away(value: Fraction) -> int:
    """Round to a whole number, halves away from zero as on the shop floor.

    >>> [round_half_away(Fraction(n, 2)) for n in (-3, -1, 1, 3, 4)]
    [-2, -1, 1, 2, 2]
    """
    size = int(abs(value) + Fraction(1, 2))
    return -size if value < 0 else size


@dataclass(frozen=True, slots=True)
class Display:
    """How a shop reads lengths: its unit, and the step of its rule in that unit.

    unit: "mm" or "in". rule: the step of its rule [unit]: 1/2, 1 or 1/10 mm; 1/16, 1/32 or 1/64 in; inches
    read in decimals have one such as 1/1000. Left at 0 it becomes 1/2 mm or 1/16 in.
    Raises ValueError for another unit, a step that isn't above 0, or one that can't be written.

    >>> Display().length(927.3), Display("in", Fraction(1, 16)).length(927.3)
    ('927.5 mm', '36 1/2 in')
    """

    unit: Unit = "mm"
    rule: Fraction = Fraction(0)

    @property
    def called(self) -> str:
        """Its unit in running words, where "in" would be read as the other word."""
        return "mm" if self.unit == "mm" else "inches"

    def __post_init__(self) -> None:
        if self.unit not in ("mm", "in"):
            raise ValueError(f"the unit of a display is mm or in (got {self.unit})")
        if self.rule == 0:
            # half a unit would be a fine default for mm and a ruinous one for inches
            object.__setattr__(self, "rule", Fraction(1, 2) if self.unit == "mm" else Fraction(1, 16))
        if self.rule <= 0 or _places(self.rule) is None:
            raise ValueError(f"the step of a rule must be above 0 and end in decimals, as 1/2 (got {self.rule})")

    @property
    def step(self) -> Fraction:
        """The step of the rule [mm]."""
        return self.rule * self._scale

    def rounded(self, mm: float | Fraction) -> Fraction:
        """The length [mm] rounded to the rule, halves away from zero, exact.

        >>> Display("in", Fraction(1, 16)).rounded(927.3)
        Fraction(9271, 10)
        """
        return round_half_away(_exact(mm) / self.step) * self.step

    def figure(self, mm: float | Fraction) -> str:
        """A length [mm] at the rule, in the display's unit, without naming it.

        >>> Display().figure(-0.2), Display("in", Fraction(1, 32)).figure(-19.05)
        ('0', '-3/4')
        """
        return self._written(self.rounded(mm) / self._scale)

    def length(self, mm: float | Fraction) -> str:
        """A length [mm] at the rule, with its unit."""
        return f"{self.figure(mm)} {self.unit}"

    def at_least(self, mm: float | Fraction) -> str:
        """A length [mm] rounded up to the rule, with its unit: for what must not come out less.

        >>> Display().at_least(71.185), Display("in").at_least(25.4)
        ('71.5 mm', '1 in')
        """
        return self.length(-(-_exact(mm) // self.step) * self.step)

    def at_most(self, mm: float | Fraction) -> str:
        """A length [mm] rounded down to the rule, with its unit: for what must not come out more.

        >>> Display().at_most(9.83), Display("in").at_most(25.4)
        ('9.5 mm', '1 in')
        """
        return self.length(_exact(mm) // self.step * self.step)

    def fine(self, mm: float | Fraction) -> str:
        """A size that the rule would spoil (gap, kerf, trim, bore): a fraction where it is one, else decimals.

        >>> Display().fine(0.5), Display("in").fine(0.5), Display("in").fine(31.75)
        ('0.5 mm', '0.02 in', '1 1/4 in')
        """
        value = _exact(mm) / self._scale
        if self.unit == "in" and value.denominator in (2, 4, 8, 16, 32, 64):
            return f"{_mixed(value)} in"
        return f"{_decimal(value, 2 if self.unit == 'mm' else 3)} {self.unit}"

    def wire_feed(self, metres: float) -> str:
        """A wire feed [m/min], by what is on the knob of the machine: to a tenth of a metre, or by the inch.

        >>> Display().wire_feed(4.625), Display("in").wire_feed(4.625)
        ('4.6 m/min', '182 in/min')
        """
        return f"{metres:.1f} m/min" if self.unit == "mm" else f"{metres / 0.0254:.0f} in/min"

    def run(self, mm: float) -> str:
        """A length of weld, cut or edge [mm], which is bought and timed by the metre or the foot.

        >>> Display().run(12345.0), Display("in").run(3048.0)
        ('12.3 m', '10.0 ft')
        """
        return f"{mm / 304.8:.1f} ft" if self.unit == "in" else f"{mm / 1000:.1f} m"

    def exact(self, mm: float | Fraction) -> str:
        """A length [mm] as a figure to type back in a field: the same length again, off the rule too.

        Exact for decimals of a mm and for fractions of an inch; else within 1e-7 mm.

        >>> Display().exact(0.396875), Display("in").exact(0.396875), Display("in").exact(927)
        ('0.396875', '1/64', '36.496062992')
        """
        return self._written(_exact(mm) / self._scale)

    def area(self, mm2: float) -> str:
        """An area [mm2] in m² to three decimals or ft² to two; a smaller one says that it is under the last.

        >>> Display().area(728 * 380), Display("in").area(92903.04), Display().area(4)
        ('0.277 m²', '1.00 ft²', 'under 0.001 m²')
        """
        unit, places, scale = ("m²", 3, 10**6) if self.unit == "mm" else ("ft²", 2, FOOT**2)
        count = round_half_away(_exact(mm2) / scale * 10**places)
        if count == 0 and mm2 > 0:
            return f"under {1 / 10**places:.{places}f} {unit}"
        return f"{count / 10**places:.{places}f} {unit}"

    @property
    def _scale(self) -> Fraction:
        return INCH if self.unit == "in" else Fraction(1)

    def _written(self, value: Fraction) -> str:
        size, places = abs(value), _places(value)
        by_halves = {1, 2, 4, 8, 16, 32, 64}
        in_fractions = self.unit == "in" and self.rule.denominator in by_halves
        if size.denominator in by_halves if in_fractions else places is None and size.denominator <= 64:
            shown = _mixed(size)
        else:
            shown = _decimal(size, 9 if places is None else min(places, 9))
        return f"-{shown}" if value < 0 and shown != "0" else shown
