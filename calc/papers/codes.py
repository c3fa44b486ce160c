"""A QR code as inline SVG (ISO/IEC 18004, by segno)."""

from calc.drawing.svg import Drawing, path_data

QUIET = 4  # modules of quiet zone that the standard asks for


def qr_drawing(address: str, title: str = "Scan to open the job") -> str:
    """The address as a QR code, one drawing unit a module. Returns inline SVG, or nothing where no code is large enough.

    title: what a screen reader says of it.
    """
    import segno  # noqa: PLC0415 - only a traveller with an address needs it

    try:
        rows = [bytes(row) for row in segno.make(address, error="m", micro=False).matrix]
    except segno.DataOverflowError:
        return ""
    size = len(rows) + 2 * QUIET
    drawing = Drawing()
    drawing.shape("rect", "paper", x=0, y=0, width=size, height=size)
    dark = []
    for y, row in enumerate(rows, QUIET):
        start = None
        for x, module in enumerate((*row, 0), QUIET):
            if module and start is None:
                start = x
            elif not module and start is not None:
                dark.append(path_data(((start, y), (x, y), (x, y + 1), (start, y + 1)), closed=True))
                start = None
    drawing.shape("path", "tip", {"d": "".join(dark), "fill": "#000000", "shape-rendering": "crispEdges"})
    return drawing.svg(title, size, size, "qr")
