"""Labels for the pieces of the rack, on sheets of sticky labels: the number large, metal, size, place, and a code to scan."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from calc.drawing.lettering import text_width
from calc.papers.codes import qr_drawing
from calc.papers.full_size import millimetres
from calc.papers.typed import Typed, typed
from calc.papers.typeset import Render, typeset
from calc.tables.label_sheets import LabelSheet

TEMPLATE = "papers/labels.html"
MOST = 500  # labels in one file
CLEAR = 2.5  # [mm] round a label: printers and sheets are not true to less
CODE, CODE_SHARE = 24.0, 0.33  # [mm] the largest code, and how much of a label's width it may take
POINT = 25.4 / 72  # [mm]
NUMBER, WORDS, LEAST = 44.0, 13.0, 6.2  # [pt] lettering: the number at most, the words at most and at least
NUMBER_SHARE = 0.4  # of a label's height that the number may take
APART = 2.0  # [mm] between the code and the words
LEADING = 1.25


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label. address: that of the piece's own page, None for no code."""

    number: str
    metal: str
    size: str
    place: str = ""
    origin: str = ""
    address: str | None = None


@dataclass(frozen=True, slots=True)
class _Lettering:
    """The sizes of a sheet's lettering [pt], the length of a line [pt], how many lines of words, and the code's side [mm]."""

    number: float
    words: float
    room: float
    lines: int
    code: float


def labels_html(labels: Sequence[Label], sheet: LabelSheet, render: Render, *, first: int = 1) -> str:
    """The labels as one HTML page with its stylesheet in it.

    first: the first label of the sheet that is not used yet, counted along the rows from 1. What is over `MOST` is left off.
    Raises ValueError where the sheet has no such label.
    """
    if not 1 <= first <= sheet.count:
        raise ValueError(f"a sheet {sheet.name} has labels 1 to {sheet.count}: there is no {first}")
    kept = labels[:MOST]
    size = _lettering(kept, sheet)
    pages: list[list[dict[str, object]]] = []
    for place, label in enumerate(kept, start=first - 1):
        if place % sheet.count == 0 or not pages:
            pages.append([])
        pages[-1].append(_label(label, place % sheet.count, sheet, size))
    return render(TEMPLATE, {"pages": pages, **_sizes(sheet, size)})


def labels_pdf(labels: Sequence[Label], sheet: LabelSheet, render: Render, *, first: int = 1) -> bytes:
    """The same as a PDF of the sheet's own size, to be printed at 100 %. Raises OSError where Pango is missing."""
    return typeset(labels_html(labels, sheet, render, first=first))


def _lettering(labels: Sequence[Label], sheet: LabelSheet) -> _Lettering:
    """Lettering as large as a label of this sheet has room for: one size for all of them."""
    high = sheet.height - 2 * CLEAR
    code = min(CODE, high, CODE_SHARE * sheet.width) if any(label.address for label in labels) else 0.0
    room = (sheet.width - 2 * CLEAR - (code + APART if code else 0.0)) / POINT
    number = min(NUMBER, NUMBER_SHARE * high / POINT, room / _widest(label.number for label in labels))
    left = high / POINT - LEADING * number
    lines = min(4, int(left / (LEADING * LEAST)))
    fits = room / _widest(words for label in labels for words in (label.size, label.metal))
    return _Lettering(number, min(WORDS, left / lines / LEADING, max(LEAST, fits)), room, lines, code)


def _widest(words: Iterable[str]) -> float:
    """How wide the longest of these runs in bold lettering of size 1."""
    return max((text_width(text, 1.0, True) for text in words if text), default=1.0)


def _label(label: Label, place: int, sheet: LabelSheet, size: _Lettering) -> dict[str, object]:
    row, column = divmod(place, sheet.columns)
    said = [words for words in (label.size, label.metal, label.place, label.origin) if words]
    return {
        "row": str(row),
        "column": str(column),
        "number": label.number,
        "lines": [_line(words, size) for words in said[: size.lines]],
        "code": qr_drawing(label.address, "Scan to open the piece") if label.address else "",
    }


def _line(words: str, size: _Lettering) -> Typed:
    return typed(words, size.words, size.room, lines=1)


def _sizes(sheet: LabelSheet, size: _Lettering) -> dict[str, object]:
    """Sizes as text: a renderer may write numbers with its language's comma."""
    places = [sheet.corner(place) for place in range(sheet.count)]
    lefts, tops = places[: sheet.columns], places[:: sheet.columns]
    return {
        "paper_width": millimetres(sheet.paper[0]),
        "paper_height": millimetres(sheet.paper[1]),
        "lefts": [millimetres(left) for left, _ in lefts],
        "tops": [millimetres(top) for _, top in tops],
        "width": millimetres(sheet.width),
        "height": millimetres(sheet.height),
        "clear": millimetres(CLEAR),
        "code": millimetres(size.code),
        "apart": millimetres(APART),
        "number": millimetres(size.number),
        "words": millimetres(size.words),
        "leading": millimetres(LEADING),
    }
