"""Text that a person typed, printed exactly so: broken between words only, unless a word alone is too long for its line."""

from dataclasses import dataclass

from calc.drawing.lettering import clean, elide, text_width


@dataclass(frozen=True, slots=True)
class Word:
    """A word, and whether it must be broken because no line is long enough for it."""

    text: str
    is_long: bool


@dataclass(frozen=True, slots=True)
class Typed:
    """A typed text: its words, and the class of lettering that it gets."""

    words: tuple[Word, ...]
    style: str

    @property
    def text(self) -> str:
        """The text as one string."""
        return " ".join(word.text for word in self.words)


def typed(text: str, size: float, room: float, *, lines: int = 0) -> Typed:
    """A text as it is printed in lettering of this size [pt] on lines of this length [pt].

    lines: how many lines there is room for; what doesn't fit is left off, with an ellipsis (0: all of it is printed).
    """
    line = clean(text)
    if lines:
        line = elide(line, size, room * (lines - 0.35) if lines > 1 else room, True)
    if text_width(line, size, True) <= room:
        return Typed((Word(line, False),), "short")
    words = tuple(Word(word, text_width(word, size, True) > room) for word in line.split(" "))
    style = "long" if len(line) > 90 else "medium"
    return Typed(words, style)
