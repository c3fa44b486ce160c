"""Lettering: what text may stand in a drawing, and how much room it takes in a font that isn't known beforehand."""

import unicodedata
from functools import lru_cache

# Advance widths [em] of DejaVu Sans 2.37 and Verdana, the widest of the common system faces, rounded up: a drawing that
# holds together with these holds together with narrower ones. Characters not listed take CAPITAL, SMALL or WIDEST.
_WIDTHS: dict[str, float] = {
    **dict.fromkeys("0123456789", 0.645),
    **dict.fromkeys(".,:;' ijl|!", 0.38),
    **dict.fromkeys('-()[]{}/\\frt"', 0.47),
    **dict.fromkeys("°–", 0.56),
    **dict.fromkeys("mMWw%@", 1.0),
    **dict.fromkeys("×±+=<>~#", 0.85),
}
CAPITAL, SMALL, WIDEST = 0.8, 0.645, 1.05
BOLD = 1.13  # how much wider the bold face is
ASCENT, DESCENT = 0.79, 0.25  # [em] room above and below the base line
LEADING = 1.22  # [em] from one base line to the next

_CONTROLS = dict.fromkeys((*range(0x20), *range(0x7F, 0xA0), 0x2028, 0x2029, 0xFFFE, 0xFFFF), " ")


def clean(text: object) -> str:
    """Text on one line without the characters that XML forbids, line ends and other controls as spaces.

    >>> clean("a\\x00b\\ud800")
    'a b'
    """
    line = str(text).translate(_CONTROLS)
    return "".join(sign for sign in line if not 0xD800 <= ord(sign) <= 0xDFFF and (ord(sign) & 0xFFFE) != 0xFFFE)


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """A generous estimate of how wide text runs at this size, in the unit of the size.

    >>> text_width("927.5", 10.0)
    29.6
    """
    total = sum(_advance(sign) for sign in text)
    return round(total * size * (BOLD if bold else 1.0), 6)


def _advance(sign: str) -> float:
    known = _WIDTHS.get(sign)
    if known is not None:
        return known
    if unicodedata.combining(sign):
        return 0.0
    if ord(sign) < 0x250:
        return CAPITAL if sign.isupper() else SMALL
    return WIDEST


def wrapped(text: str, size: float, room: float) -> list[str]:
    """The text in lines that fit the room, broken at spaces; a single word that is too long is elided.

    >>> wrapped("2 off; wet face up", 10.0, 70.0)
    ['2 off; wet', 'face up']
    """
    lines: list[str] = []
    for word in text.split(" "):
        if lines and text_width(f"{lines[-1]} {word}", size) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(elide(word, size, room))
    return lines


def elide(text: str, size: float, room: float, bold: bool = False) -> str:
    """The text, or as much of its beginning as fits the room with an ellipsis after it.

    >>> elide("A long name", 10.0, 40.0)
    'A lon…'
    """
    if text_width(text, size, bold) <= room:
        return text
    kept = text
    while kept and text_width(kept + "…", size, bold) > room:
        kept = kept[:-1]
    return kept.rstrip() + "…"
