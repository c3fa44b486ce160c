"""The order of tacks and runs as tables. Places are measured along a weld from its start, in the display's unit."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from calc import Plan
from calc.drawing.parts import vertex_names
from calc.records import Point3
from calc.steps.weld_words import MOST_PLACES, apart_words, run_number, start_words
from calc.units import Display
from calc.welding.records import Kind, Weld, WeldPlan

GOES: dict[Kind, int] = {"seam": 0, "reliefs": 0, "outlet": 1, "rim": 2}  # what is welded, and numbered, in one go
SAME = 1e-6  # [mm]


@dataclass(frozen=True, slots=True)
class TackLine:
    """The tacks of a weld: how many, where places are measured from, the places in the order in which they are made."""

    name: str
    count: str
    start: str
    places: str


@dataclass(frozen=True, slots=True)
class RunLine:
    """A run: its number, what it is on, where places are measured from, where it begins and ends; no places of a relief."""

    number: str
    name: str
    start: str
    ends: tuple[str, ...]

    @property
    def places(self) -> str:
        """From where to where it is welded; empty of a relief."""
        return " → ".join(self.ends)


def tack_lines(plan: Plan, welding: WeldPlan, display: Display) -> list[TackLine]:
    """The tacks of every weld that is tacked; of very many only how far they are apart."""
    return [_tacks(plan, weld, display) for weld in welding.welds if weld.tacks]


def _tacks(plan: Plan, weld: Weld, display: Display) -> TackLine:
    if len(weld.tacks) <= MOST_PLACES:
        places = ", ".join(display.figure(tack.at) for tack in weld.tacks)
    else:
        stretch = "each side from its middle" if weld.kind == "rim" else "from the middle"
        opposite = ", opposite sides in turn" if weld.kind == "rim" else ""
        places = f"{apart_words(weld, display)}, {stretch} outward{opposite}"
    return TackLine(weld.name, str(len(weld.tacks)), start_words(weld, plan.sheet.shape.corners), places)


def run_lines(plan: Plan, welding: WeldPlan, display: Display) -> list[RunLine]:
    """Every run in the order made: seams and then reliefs, the outlet's fitting, the rim."""
    found = [line for weld in welding.welds for line in _runs(plan, weld, display)]
    return [line for _, _, line in sorted(found, key=lambda line: line[:2])]


def runs_of(plan: Plan, weld: Weld, display: Display) -> list[RunLine]:
    """The runs of one weld in the order made."""
    return [line for *_, line in sorted(_runs(plan, weld, display), key=lambda line: line[:2])]


def _runs(plan: Plan, weld: Weld, display: Display) -> Iterator[tuple[int, int, RunLine]]:
    """The runs of a weld, each with what orders it among all: what is welded in one go, and its turn in that."""
    names, vertices = vertex_names(plan), plan.shell.vertices
    for run in weld.runs:
        name, start, offset = weld.name.removesuffix(" fitting"), start_words(weld, plan.sheet.shape.corners), 0.0
        if weld.kind == "reliefs":
            name = f"Relief at {names[_nearest(run.line[0], vertices)]}"
        elif weld.kind == "rim":
            side, offset = _side_of(weld, min(run.begins, run.ends))
            name, start = f"Rim {side + 1}–{(side + 1) % len(weld.line) + 1}", f"corner {side + 1}"
        told = () if weld.kind == "reliefs" else (run.begins, run.ends)
        ends = tuple(display.figure(at - offset) for at in told)
        line = RunLine(run_number(weld, run.turn), name, start, ends)
        yield GOES[weld.kind], run.turn, line


def in_columns(lines: Sequence[RunLine], columns: int) -> list[list[RunLine | None]]:
    """Lines as the rows of a table in which they run down one column after another; None where the last one is short."""
    height = math.ceil(len(lines) / columns)
    padded = [*lines, *[None] * (height * columns - len(lines))]
    return [padded[row::height] for row in range(height)]


def _nearest(point: Point3, vertices: Sequence[Point3]) -> int:
    return min(range(len(vertices)), key=lambda index: math.dist(vertices[index], point))


def _side_of(weld: Weld, along: float) -> tuple[int, float]:
    """The side of a rim, from 0, on which a place lies, and how far from the start that side begins [mm]."""
    corners = (*weld.line, weld.line[0])
    begins = (0.0, *accumulate(math.dist(start, end) for start, end in pairwise(corners)))
    side = max(index for index in range(len(weld.line)) if begins[index] <= along + SAME)
    return side, begins[side]
