"""Tables as CSV that a spreadsheet opens and cannot be tricked by: what a person typed is never taken for a formula."""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from decimal import Decimal

from django.http import HttpResponse

BYTE_ORDER_MARK = "\ufeff"  # without it a spreadsheet takes UTF-8 for the system's own code page
# Signs that begin a formula in one spreadsheet or another (OWASP, CSV Injection), the wide forms among them
FORMULA = tuple("=+-@\t\r\n＝＋－＠")
# Such a sign after what one spreadsheet or another, by its country, takes for the end of a cell or of a line
WITHIN = re.compile("""([;,\t\r\n"'])(\\s*)([-=+@＝＋－＠])""")

Cell = str | int | float | Decimal


def safe_cell(value: Cell) -> Cell:
    """A number as it is; a text that could begin a formula with an apostrophe before the sign, within the text as well.

    >>> safe_cell("=1+1"), safe_cell("Tray"), safe_cell(-2.5), safe_cell("-2.5")
    ("'=1+1", 'Tray', -2.5, "'-2.5")
    >>> safe_cell("x;=1+1"), safe_cell("Tray 4-5, left")
    ("x;'=1+1", 'Tray 4-5, left')
    """
    if not isinstance(value, str):
        return value
    guarded = WITHIN.sub(r"\1\2'\3", value)
    return f"'{guarded}" if value.startswith(FORMULA) or value.lstrip().startswith(FORMULA) else guarded


def csv_text(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """The table as text, its head first."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    for row in (head, *rows):
        writer.writerow([safe_cell(cell) for cell in row])
    return buffer.getvalue()


def csv_response(name: str, head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> HttpResponse:
    """The table as a file to keep."""
    response = HttpResponse(
        (BYTE_ORDER_MARK + csv_text(head, rows)).encode("utf-8"), content_type="text/csv; charset=utf-8"
    )
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
