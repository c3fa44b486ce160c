"""The bends of a blank as a traveller's table prints them, and how their allowances were worked out."""

from dataclasses import dataclass

from calc import Plan
from calc.blank import Blank
from calc.folding import Folding, fold_order
from calc.tables.bending import METHODS
from calc.units import Display


def bend_method(plan: Plan) -> str:
    """How the bend allowances were worked out."""
    making = plan.sheet.making
    k = f", {making.k_factor:g}" if making.bend_method == "k-factor" and making.k_factor is not None else ""
    return METHODS[making.bend_method] + k


@dataclass(frozen=True, slots=True)
class BendLine:
    """A row of the table of bends, in the order they are made; `place` says where the bend line lies on the blank."""

    turn: str
    name: str
    way: str
    angle: str
    radius: str
    place: str
    length: str
    allowance: str


def bend_lines(blank: Blank, display: Display) -> list[BendLine]:
    """The bends of a blank in the order they are made."""
    return [
        BendLine(
            str(turn),
            bend.name,
            bend.way,
            f"{abs(bend.fold.angle):.1f}°",
            display.fine(bend.fold.inside_radius),
            _bend_place(bend, display),
            display.length(bend.length),
            display.fine(round(bend.fold.allowance, 2)),
        )
        for turn, bend in enumerate(fold_order(blank), 1)
    ]


def _bend_place(bend: Folding, display: Display) -> str:
    if bend.edge is not None and bend.distance is not None:
        return f"{display.length(bend.distance)} from edge {bend.edge[0] + 1}–{bend.edge[1] + 1}"
    one, other = (f"{display.figure(end[0])}; {display.figure(end[1])}" for end in bend.fold.line)
    return f"from {one} to {other}"
