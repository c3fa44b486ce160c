"""The opening in the bench on paper: a sheet with its drawing and figures to set it out by, and its template at true size."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calc import Plan
from calc.aperture import Aperture, SetOut
from calc.aperture.corners import angle_at
from calc.blank import Blank, Hole
from calc.drawing import aperture_view
from calc.drawing.parts import thing
from calc.families.rims import signed_area
from calc.papers import cautions
from calc.papers.pattern import Pattern
from calc.papers.templates import templates_pdf
from calc.papers.tiling import PAPERS, Paper
from calc.papers.traveller import LINE, Heading, cells_of, foot_of, material, title_of
from calc.papers.typed import typed
from calc.papers.typeset import Render, typeset
from calc.records import Outline, Point
from calc.units import Display

TEMPLATE = "papers/aperture.html"
DRAWN = 620.0  # drawing units across the page
MOST_BESIDE = 8  # corners of an opening that has its proof beside them


@dataclass(frozen=True, slots=True)
class CornerLine:
    """A corner of the opening: from the bench's end and edge, and what is done there, as text."""

    number: str
    along: str
    square: str
    hole: str
    words: str


@dataclass(frozen=True, slots=True)
class ProofLine:
    """A length that proves the opening: a side or a diagonal; of a side how far outside the measured rim it is cut."""

    what: str
    length: str
    out: str


class NotToBeCutError(ValueError):
    """An opening that must not be cut is on no paper; the text says why."""


def opening_html(
    plan: Plan,
    aperture: Aperture,
    points: Sequence[SetOut],
    heading: Heading,
    display: Display,
    render: Render,
    *,
    which: str = "",
) -> str:
    """The sheet for the bench as one HTML page with its stylesheet in it.

    points: the opening's corners as set out; which: of several things made which one it is cut for ("tray 2 of 3").
    Raises NotToBeCutError where the opening must not be cut.
    """
    _refuse_faults(aperture)
    return render(TEMPLATE, _contents(plan, aperture, points, heading, display, which))


def opening_pdf(
    plan: Plan,
    aperture: Aperture,
    points: Sequence[SetOut],
    heading: Heading,
    display: Display,
    render: Render,
    *,
    which: str = "",
) -> bytes:
    """The same as a PDF, A4; the same opening and heading give the same bytes.

    Raises NotToBeCutError as `opening_html` does, and OSError where Pango, which WeasyPrint needs, is missing.
    """
    return typeset(opening_html(plan, aperture, points, heading, display, render, which=which))


def opening_template_pdf(
    plan: Plan,
    aperture: Aperture,
    heading: Heading,
    display: Display,
    render: Render,
    *,
    paper: Paper = PAPERS["A4"],
    which: str = "",
) -> bytes:
    """The opening at true size over pages of this paper, as `templates_pdf` prints blanks. which: as of `opening_html`, on
    every page. Raises as `opening_pdf`."""
    _refuse_faults(aperture)
    return templates_pdf(plan, heading, display, render, paper=paper, opening=opening_pattern(aperture, which))


def opening_pattern(aperture: Aperture, which: str = "") -> Pattern:
    """The opening as a pattern: its outline, cut inside, and the holes at its corners; which of several it is for."""
    holes = tuple(
        Hole(corner.relief.centre, corner.relief.diameter, "relief") for corner in aperture.corners if corner.relief
    )
    blank = Blank(
        name="Opening",
        faces=(),
        count=1,
        same_as=None,
        mirrored=False,
        net_outline=aperture.outline,
        cut_outline=aperture.outline,
        holes=holes,
        folds=(),
        hand_cuts=(),
        area=signed_area(aperture.outline),
        mass=0.0,  # what falls out is no part of the job
        edges=(),
    )
    return Pattern(blank, 1, which, "printed side", holes="hole")


def _refuse_faults(aperture: Aperture) -> None:
    if aperture.faults:
        raise NotToBeCutError(" ".join(aperture.faults))


def _contents(
    plan: Plan, aperture: Aperture, points: Sequence[SetOut], heading: Heading, display: Display, which: str
) -> dict[str, object]:
    """All that the sheet prints."""
    return {
        "heading": heading,
        "title": typed(title_of(plan), 15.0, LINE * 0.8),
        "words": cells_of(plan, heading),
        "foot": foot_of(plan, heading),
        "material": material(plan),
        "copy": "Opening",
        "shop": typed(heading.shop, 8.0, LINE * 0.78),
        "unit": display.called,
        "thing": thing(plan),
        "which": which,
        "always": cautions.ALWAYS,
        "cautions": (*cautions.INSTALLING, *aperture.cautions),
        "drawing": aperture_view(aperture, points, display, width=DRAWN),
        "corners": list(_corners(aperture, points, display)),
        "proofs": list(_proofs(aperture, display)),
        "has_holes": any(corner.relief for corner in aperture.corners),
        "many": len(points) > MOST_BESIDE,
        "sums": _sums(aperture, display),
    }


def _corners(aperture: Aperture, points: Sequence[SetOut], display: Display) -> Iterator[CornerLine]:
    for point, corner in zip(points, aperture.corners, strict=True):
        hole = ""
        if corner.relief:
            along, square = map(display.figure, _as_set_out(corner.relief.centre, aperture.outline, points))
            hole = f"ø{display.fine(corner.relief.diameter)} at {along}; {square}"
        yield CornerLine(
            str(point.number), display.figure(point.along), display.figure(point.square), hole, corner.words
        )


def _as_set_out(spot: Point, outline: Outline, points: Sequence[SetOut]) -> Point:
    """Where a point of the opening comes from the bench's end and edge [mm], as the squarest corner and its neighbours do."""
    index = max(range(len(outline)), key=lambda corner: abs(math.sin(math.radians(angle_at(outline, corner)))))
    corners = [(index + way) % len(outline) for way in (0, 1, -1)]
    (x, y), (x1, y1), (x2, y2) = (outline[corner] for corner in corners)
    ax, ay, bx, by = x1 - x, y1 - y, x2 - x, y2 - y
    px, py = spot[0] - x, spot[1] - y
    of_one, of_other = (px * by - py * bx) / (ax * by - ay * bx), (ax * py - ay * px) / (ax * by - ay * bx)
    own, one, other = ((point.along, point.square) for point in (points[corner] for corner in corners))
    along, square = (
        own[axis] + of_one * (one[axis] - own[axis]) + of_other * (other[axis] - own[axis]) for axis in (0, 1)
    )
    return along, square


def _proofs(aperture: Aperture, display: Display) -> Iterator[ProofLine]:
    for proof in aperture.proofs:
        what, outside = f"Diagonal {proof.start}–{proof.end}", ""
        if proof.out is not None:
            what = f"Side {proof.start}–{proof.end}"
            outside = display.fine(round(proof.out, 1)).removesuffix(f" {display.unit}")
        yield ProofLine(what, display.figure(proof.length), outside)


def _sums(aperture: Aperture, display: Display) -> str:
    """All sides together, and all diagonals, as the figures that are told add up: what proves that they were read right."""
    sides, across = (
        display.length(sum(display.rounded(length) for length in lengths))
        for lengths in (aperture.sides, aperture.diagonals)
    )
    round_it = f"All sides together: {sides}"
    return f"{round_it}; the diagonals: {across}." if aperture.diagonals else f"{round_it}."
