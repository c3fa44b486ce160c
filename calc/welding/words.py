"""What the weld plan says in words: what the edges are like, where a weld is made from and why."""

from calc.seams import SQUARE_BUTT
from calc.sheet import JobSheet
from calc.welding.records import Kind, Side

FILLET, HOLE, RIDGE, BUTT, OPEN = (
    "fillet",
    "drilled hole, welded shut",
    "ridge, bevelled",
    "square butt",
    "opens on the dry side: allow for filler",
)


def form_of(kind: Kind, groove: float | None) -> str:
    """What the edges are like where they are welded, by how far they open [degrees]."""
    if kind in ("rim", "outlet"):
        return FILLET
    if kind == "reliefs":
        return HOLE
    opening = groove or 0.0
    if opening < 0:
        return RIDGE
    return BUTT if opening <= SQUARE_BUTT else OPEN


def side_of(sheet: JobSheet, kind: Kind) -> tuple[Side, str]:
    """Which side a weld is made from, and why."""
    if kind == "outlet":
        return "dry", "below the floor, so that nothing stands behind the fitting"
    if kind == "reliefs":
        return "dry", "flush on the wet side, so that nothing stands there"
    wet = sheet.making.weld_side == "wet"
    if kind == "rim":
        if wet:
            return "wet", "from above, as chosen: dress it flush, or it holds up what runs off the bench"
        return (
            "dry",
            "from underneath wherever it can be reached, so that nothing stands up round the rim; else from above",
        )
    if wet:
        return "wet", "as chosen: dress the bead flush, or it stands where liquid runs"
    return "dry", "the wet side is kept free of beads, so that nothing stands behind them"
