"""Sheets of sticky labels as office suppliers sell them: how many, how large, and where they lie on the paper.

Source: common practice, from memory. Makers differ by a millimetre or so: print one on plain paper, hold it against the
labels to the light, and only then on the labels.
"""

from dataclasses import dataclass

INCH = 25.4


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of labels [mm]: the paper, columns and rows, the first label's left and top, a label's size, and how far on
    the next begins."""

    name: str
    paper: tuple[float, float]
    columns: int
    rows: int
    left: float
    top: float
    width: float
    height: float
    across: float
    down: float

    @property
    def count(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Left and top [mm] of the label at a place, counted along the rows from 0.

        >>> LABEL_SHEETS["A4, 2 x 7"].corner(3)
        (106.25, 53.25)
        """
        row, column = divmod(place % self.count, self.columns)
        return round(self.left + column * self.across, 4), round(self.top + row * self.down, 4)


_A4 = (210.0, 297.0)  # ISO 216
_LETTER = (8.5 * INCH, 11 * INCH)  # ANSI/ASME Y14.1

LABEL_SHEETS = {
    sheet.name: sheet
    for sheet in (
        LabelSheet("A4, 3 x 7", _A4, 3, 7, 7.25, 15.15, 63.5, 38.1, 66.0, 38.1),
        LabelSheet("A4, 3 x 8", _A4, 3, 8, 0.0, 0.5, 70.0, 37.0, 70.0, 37.0),
        LabelSheet("A4, 2 x 7", _A4, 2, 7, 4.65, 15.15, 99.1, 38.1, 101.6, 38.1),
        LabelSheet("A4, 2 x 4", _A4, 2, 4, 4.65, 13.1, 99.1, 67.7, 101.6, 67.7),
        LabelSheet("Letter, 3 x 10", _LETTER, 3, 10, 0.1875 * INCH, 0.5 * INCH, 2.625 * INCH, INCH, 2.75 * INCH, INCH),
        LabelSheet(
            "Letter, 2 x 5", _LETTER, 2, 5, 0.15625 * INCH, 0.5 * INCH, 4 * INCH, 2 * INCH, 4.1875 * INCH, 2 * INCH
        ),
        LabelSheet(
            *("Letter, 2 x 3", _LETTER, 2, 3, 0.15625 * INCH, 0.5 * INCH),
            *(4 * INCH, 10 / 3 * INCH, 4.1875 * INCH, 10 / 3 * INCH),
        ),
    )
}
