"""What the weld plan says in words: what the edges are like, where a weld is made from and why."""

from calc.seams import SQUARE_BUTT
from calc.sheet import JobSheet
from calc.welding.records import Kind, Side

FILLET, HOLE, RIDGE, BUTT, OPEN, INSIDE = (
    "fillet",
    "drilled hole, welded shut",
    "ridge, bevelled",
    "square butt",
    "opens on the dry side: allow for filler",
    "inside corner, open on the dry side",
)


def form_of(kind: Kind, groove: float | None, side: Side) -> str:
    """What the edges are like on the side they are welded from, by how far they open [degrees]."""
    if kind in ("rim", "outlet"):
        return FILLET
    if kind == "reliefs":
        return HOLE
    opening = groove or 0.0
    if opening < 0:
        return RIDGE
    if opening <= SQUARE_BUTT:
        return BUTT
    return OPEN if side == "dry" else INSIDE


def side_of(sheet: JobSheet, kind: Kind, groove: float | None) -> tuple[Side, str]:
    """Which side a weld is made from, and why; groove: how far its edges open on the dry side [degrees]."""
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
        unfilled = "; the dry side stays open, so fuse it right through" if (groove or 0.0) > SQUARE_BUTT else ""
        return "wet", f"as chosen: dress the bead flush, or it stands where liquid runs{unfilled}"
    return "dry", "the wet side is kept free of beads, so that nothing stands behind them"
