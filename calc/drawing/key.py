"""What stands below a drawing: a table of corners, and a key of what had no room in it."""

from collections.abc import Sequence

from calc.drawing.lettering import elide, text_width, wrapped
from calc.drawing.svg import Drawing

KEY_SIZE, KEY_PITCH, KEY_GAP = 10.5, 15.0, 18.0
TABLE_SIZE, TABLE_PITCH, COLUMN_GAP, LEAST_GAP, BLOCK_GAP, LEAST_MARGIN = 10.0, 13.5, 9.0, 4.5, 22.0, 4.0
LEAST_ROWS = 6  # a table with fewer rows to a block isn't split further

Keyed = tuple[str, str | None]  # a text, and the form field it belongs to
Table = Sequence[Sequence[str]]  # rows of as many texts, the first row the headings


def write_key(drawing: Drawing, keyed: Sequence[Keyed], width: float, top: float) -> float:
    """The key, from `top` down: short texts side by side in columns, longer ones on lines of their own, wrapped.

    Returns where it ends.
    """
    room = width - 2 * KEY_GAP
    widths = [text_width(text, KEY_SIZE) for text, _ in keyed]
    column = max((width for width in widths if width <= (room - KEY_GAP) / 2), default=room) + KEY_GAP
    columns = max(1, int((room + KEY_GAP) // column))
    row, place = 0, columns
    for (text, field), wide in zip(keyed, widths, strict=True):
        is_short = wide < column
        lines = [elide(text, KEY_SIZE, room)] if field else wrapped(text, KEY_SIZE, room)
        for line in lines:
            row, place = (row, place) if is_short and place < columns else (row + 1, 0)
            at = (KEY_GAP + place * column, top + KEY_PITCH * row)
            drawing.write(line, at, KEY_SIZE, field=field)
            place = place + 1 if is_short else columns
    return top + KEY_PITCH * (row + 0.5)


def write_table(drawing: Drawing, table: Table, width: float, top: float) -> float:
    """A table, from `top` down, in as many blocks side by side as there is room for. Words are in its last column.

    Returns where it ends.
    """
    heading, *rows = table
    columns = [max(text_width(text, TABLE_SIZE, bold=True) for text in column) for column in zip(*table, strict=True)]
    room = width - 2 * LEAST_MARGIN
    share = min(
        1.0, (room - LEAST_GAP * (len(columns) - 1)) / sum(columns)
    )  # smaller where it is too wide for the drawing
    size, columns = TABLE_SIZE * share, [column * share for column in columns]
    gap = min(COLUMN_GAP, (room - sum(columns)) / (len(columns) - 1))
    block = sum(columns) + gap * (len(columns) - 1)
    margin = min(KEY_GAP, (width - block) / 2)
    fitting = int((width - 2 * margin + BLOCK_GAP) // (block + BLOCK_GAP))
    blocks = max(1, min(fitting, -(-len(rows) // LEAST_ROWS)))
    count = -(-len(rows) // blocks)
    for index in range(blocks):
        left = margin + index * (block + BLOCK_GAP)
        ends = [left + sum(columns[: place + 1]) + gap * place for place in range(len(columns))]
        _write_row(drawing, heading, ends, columns[-1], top + TABLE_PITCH, size, bold=True)
        rule = top + TABLE_PITCH * 1.35
        drawing.line((left, rule), (left + block, rule), "thin")
        for place, row in enumerate(rows[index * count : (index + 1) * count]):
            _write_row(drawing, row, ends, columns[-1], top + TABLE_PITCH * (place + 2.35), size)
    return top + TABLE_PITCH * (count + 2.0)


def _write_row(
    drawing: Drawing,
    row: Sequence[str],
    ends: Sequence[float],
    words: float,
    base: float,
    size: float,
    *,
    bold: bool = False,
) -> None:
    """A row of a table: figures at the right of their columns, which end there; at the left of the last, so wide, words."""
    for text, end in zip(row[:-1], ends[:-1], strict=True):
        drawing.write(text, (end, base), size, bold=bold, at_end=True)
    drawing.write(row[-1], (ends[-1] - words, base), size, bold=bold)
