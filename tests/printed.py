"""Printed pages read back. PDFium reads letters ten times as fast as pdfplumber does, which lays words and lines out of them.

A letter is a dictionary as pdfplumber has them, so that either reads on from what the other has read.
"""

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pypdfium2
from pdfplumber import utils
from pypdfium2 import raw

Box = tuple[float, float, float, float]  # [pt] left, top, right, bottom

Matrix = tuple[float, ...]
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True)
class PrintedPage:
    """Letters in the order they were set, and the boxes of everything that is drawn, of one page."""

    width: float  # [pt]
    height: float  # [pt]
    chars: list[dict[str, Any]]
    drawn: list[Box]

    def extract_text(self) -> str:
        return str(utils.chars_to_textmap(self.chars).as_string)

    def extract_words(self) -> list[dict[str, Any]]:
        return list(utils.extract_words(self.chars))

    def crop(self, box: Box) -> "PrintedPage":
        return PrintedPage(self.width, self.height, utils.crop_to_bbox(self.chars, box), [])


def printed(pdf: bytes) -> list[PrintedPage]:
    """The pages of a PDF.

    Raises
    ------
    ValueError
        Where lettering stands on the same lettering or all but: PDFium reads one of the two.
    """
    book = pypdfium2.PdfDocument(pdf)
    try:
        return [_page(page) for page in book]
    finally:
        book.close()


def _page(page: Any) -> PrintedPage:
    width, height = page.get_size()
    text = page.get_textpage()
    set_by: dict[int, list[dict[str, Any]]] = {}
    for place, letter in _letters(text, height):
        set_by.setdefault(place, []).append(letter)
    chars: list[dict[str, Any]] = []
    drawn: list[Box] = []
    for kind, place, box in _objects(page):
        left, bottom, right, top = box
        if kind == raw.FPDF_PAGEOBJ_PATH:
            drawn.append((left, height - top, right, height - bottom))
        elif kind == raw.FPDF_PAGEOBJ_TEXT:
            if place not in set_by:
                raise ValueError(
                    f"lettering {left:.1f} pt from the left and {bottom:.1f} up stands on the same lettering"
                )
            chars += set_by[place]
    text.close()
    return PrintedPage(width, height, chars, drawn)


def _objects(page: Any) -> Iterator[tuple[int, int, Box]]:
    """Of everything on a page, in the order it was drawn: what it is, where PDFium keeps it, its box from the lower edge up."""
    still = [(raw.FPDFPage_GetObject(page, place), IDENTITY) for place in range(raw.FPDFPage_CountObjects(page))][::-1]
    sides = [ctypes.c_float() for _ in range(4)]
    while still:
        each, outer = still.pop()
        kind = raw.FPDFPageObj_GetType(each)
        if kind == raw.FPDF_PAGEOBJ_FORM:
            inner = raw.FS_MATRIX()
            raw.FPDFPageObj_GetMatrix(each, inner)
            matrix = _within(tuple(getattr(inner, name) for name in "abcdef"), outer)
            count = raw.FPDFFormObj_CountObjects(each)
            still += [(raw.FPDFFormObj_GetObject(each, place), matrix) for place in range(count)][::-1]
        else:
            raw.FPDFPageObj_GetBounds(each, *sides)
            left, bottom, right, top = (side.value for side in sides)
            yield kind, _address(each), _box(outer, (left, right), (bottom, top))


def _within(inner: Matrix, outer: Matrix) -> Matrix:
    """What turns places of the inner of two drawings into those of the page (ISO 32000: rows, so inner first)."""
    a, b, c, d, e, f = inner
    p, q, r, s, t, u = outer
    return a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u


def _box(matrix: Matrix, along: tuple[float, float], up: tuple[float, float]) -> Box:
    a, b, c, d, e, f = matrix
    corners = [(a * x + c * y + e, b * x + d * y + f) for x in along for y in up]
    xs, ys = zip(*corners, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _address(of: Any) -> int:
    return ctypes.cast(of, ctypes.c_void_p).value or 0


def _letters(text: Any, height: float) -> Iterator[tuple[int, dict[str, Any]]]:
    """Each letter with the address of the text object that sets it. Letters of one ligature are one, as wide as they are."""
    last: dict[str, Any] = {}
    matrix, x, y, advance, descent = (
        raw.FS_MATRIX(),
        *(ctypes.c_double() for _ in "xy"),
        *(ctypes.c_float() for _ in "ad"),
    )
    for index in range(text.count_chars()):
        if raw.FPDFText_IsGenerated(text, index) == 1:
            continue
        code, size = raw.FPDFText_GetUnicode(text, index), raw.FPDFText_GetFontSize(text, index)
        raw.FPDFText_GetCharOrigin(text, index, x, y)
        raw.FPDFText_GetMatrix(text, index, matrix)
        set_by = raw.FPDFText_GetTextObject(text, index)
        font = raw.FPDFTextObj_GetFont(set_by)
        raw.FPDFFont_GetGlyphWidth(font, code, size, advance)
        raw.FPDFFont_GetDescent(font, size, descent)
        turned = (matrix.a, matrix.b, matrix.c, matrix.d, x.value, y.value)
        if last and last["matrix"] == turned:
            _stretch(last, chr(code), advance.value, height)
            continue
        last = {"text": chr(code), "matrix": turned, "adv": advance.value, "low": descent.value, "em": size}
        _place(last, height)
        yield _address(set_by), last


def _stretch(letter: dict[str, Any], text: str, advance: float, height: float) -> None:
    letter["text"] += text
    letter["adv"] += advance
    _place(letter, height)


def _place(letter: dict[str, Any], height: float) -> None:
    """Its box: from its origin to its advance, an em high from the face's descent on, turned as it is."""
    a, b, c, d = letter["matrix"][:4]
    left, low, right, high = _box(letter["matrix"], (0.0, letter["adv"]), (letter["low"], letter["low"] + letter["em"]))
    letter |= {"x0": left, "x1": right, "top": height - high, "bottom": height - low, "doctop": height - high}
    letter |= {"width": right - left, "height": high - low, "size": high - low, "upright": a * d > 0 and b * c <= 0}
