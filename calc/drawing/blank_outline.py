"""The outline of a blank and its holes, as they are cut and drilled."""

from collections.abc import Sequence

from calc.blank import Blank
from calc.cut_list import letter_of
from calc.drawing.labels import Labels
from calc.drawing.rim import draw_outlet
from calc.drawing.svg import PAPER
from calc.records import Point
from calc.units import Display

BY_HAND = "9 3"  # dashes of an edge that is cut by hand
CROSS = 4.0  # how far a relief's centre lines reach past it


def draw_outline(labels: Labels, corners: Sequence[Point], blank: Blank, straight_cuts: bool) -> None:
    """The outline as cut: what straight cuts can't reach is broken, and the key says what that means."""
    count = len(corners)
    by_hand = {start for start, _ in blank.edges_by_hand} if straight_cuts else set[int]()
    labels.avoid(corners, "outline", closed=True)
    if not by_hand:
        labels.drawing.outline(corners, "outline", {"data-blank": blank.name})
        return
    parts = [(corners[index], corners[(index + 1) % count]) for index in range(count)]
    straight = [part for index, part in enumerate(parts) if index not in by_hand]
    labels.drawing.lines(straight, "outline", {"data-blank": blank.name, "stroke-linecap": "round"})
    dashed = [part for index, part in enumerate(parts) if index in by_hand]
    labels.drawing.lines(dashed, "outline by-hand", {"stroke-dasharray": BY_HAND})
    labels.keyed.append(("Broken outline: cut by hand", None))


def draw_hole(labels: Labels, centre: Point, diameter: float, purpose: str) -> None:
    """A hole with its centre lines; a relief's are short. `diameter` in drawing units."""
    if purpose == "outlet":
        draw_outlet(labels, centre, diameter)
        return
    radius = max(diameter / 2, 1.5)
    labels.drawing.circle(centre, radius, "thin relief paper", {"fill": PAPER})
    x, y = centre
    reach = radius + CROSS
    cross = [((x - reach, y), (x + reach, y)), ((x, y - reach), (x, y + reach))]
    labels.drawing.lines(cross, "centre", {"stroke-width": 0.4, "stroke-dasharray": "none"})
    square = [(x - radius, y - radius), (x + radius, y - radius), (x + radius, y + radius), (x - radius, y + radius)]
    labels.avoid(square, "thin", closed=True)


def hole_letters(blank: Blank) -> tuple[str, ...]:
    """A small letter for each hole of a blank, in their order; empty for one alone."""
    if len(blank.holes) < 2:
        return ("",) * len(blank.holes)
    return tuple(letter_of(place) for place in range(len(blank.holes)))


def hole_names(blank: Blank, display: Display) -> tuple[str, ...]:
    """Each hole by its size and its letter in the drawing: "ø6 a"."""
    letters = hole_letters(blank)
    sizes = (display.fine(hole.diameter).removesuffix(" mm") for hole in blank.holes)
    return tuple(f"ø{size} {letter}".rstrip() for size, letter in zip(sizes, letters, strict=True))
