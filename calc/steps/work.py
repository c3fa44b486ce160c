"""What the steps are read from, how a step is made of it, and words that several of them share."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calc.blank import Blank, patterns
from calc.laid import Layout
from calc.sheet import JobSheet
from calc.shell import Joint, Shell
from calc.steps.again import Lost, lost_of
from calc.tables.minutes import STANDARD
from calc.takeoff import Takeoff
from calc.turns import in_turn
from calc.units import Display
from calc.welding import WeldPlan, standard_minutes
from calc.welding.records import Kind, Weld

CLEAN_BAND = 20  # [mm] common practice: bright metal this far either side of a joint


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do. key: a stable name of the thing; driver and unit: how much of it; minutes: the standard time.

    detail: how it is done, such as settings, places of tacks and numbers of runs, which may change where the thing to do stays.
    """

    key: str
    kind: str
    text: str
    driver: float
    unit: str
    minutes: float
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Work:
    """What the steps are read from, and how a step is made of it."""

    sheet: JobSheet
    shell: Shell
    blanks: Sequence[Blank]
    layout: Layout
    takeoff: Takeoff
    welding: WeldPlan | None

    @property
    def copies(self) -> int:
        return self.sheet.quantity

    @property
    def display(self) -> Display:
        return self.sheet.making.display

    @property
    def each(self) -> str:
        return f" On each of the {self.copies}." if self.copies > 1 else ""

    def length(self, millimetres: float) -> str:
        return self.display.length(millimetres)

    def step(self, key: str, kind: str, text: str, driver: float, detail: str = "") -> Step:
        made = next((weld for weld in self.welding.welds if weld.key == key), None) if self.welding else None
        minutes = standard_minutes(kind, driver, made.setting.travel) if made else standard_minutes(kind, driver)
        return Step(key, kind, text, float(driver), STANDARD[kind].unit, minutes, detail)

    def welds(self, kind: Kind) -> tuple[Weld, ...]:
        """The welds of a kind in the order in which they are made."""
        return tuple(weld for weld in self.welding.welds if weld.kind == kind) if self.welding else ()

    def seams(self) -> tuple[Joint, ...]:
        return in_turn(self.shell.welds, self.shell)

    @property
    def floor_with_outlet(self) -> Blank | None:
        """The blank that holds the floor of a sump and in it the whole outlet; None where there is none."""
        sumps = {face.name for face in self.shell.faces if face.role == "sump"}
        holding = (blank for blank in self.blanks if sumps & set(blank.faces))
        return next((blank for blank in holding if any(hole.purpose == "outlet" for hole in blank.holes)), None)

    def lost(self, alike: Sequence[Blank], work: str) -> Iterator[Lost]:
        """The spoiled copies of these blanks, the pattern first, in whose place this work is done again."""
        return lost_of(self.blanks, self.layout, alike, work)

    def patterns(self) -> Iterator[tuple[Blank, list[Blank]]]:
        """Each blank that has to be marked out, with those that are the same (itself first)."""
        for blank, same in patterns(self.blanks):
            yield blank, [blank, *same]


def depth_words(work: Work) -> str:
    """The depth as it is measured; of a valley at both ends."""
    depths = [work.length(depth) for depth in work.sheet.shape.depths or (work.shell.depth,)]
    if len(depths) > 1:
        return f"depths {' and '.join(depths)} at the ends of the valley"
    return f"{'inside depth' if work.sheet.shape.seat == 'free' else 'depth'} {depths[0]}"


def depths_measured(work: Work) -> int:
    """How many depths prove it."""
    return max(1, len(work.sheet.shape.depths))


def rim_lengths(work: Work) -> int:
    """How many lengths prove a rim, or the tops of a pan: sides, a diagonal for each corner past three, and one across."""
    corners = len(work.sheet.shape.corners)
    return corners + (corners - 2 if corners > 3 else 0)


def rim_words(work: Work) -> str:
    """What those lengths are."""
    if work.sheet.shape.seat == "free":
        return "4 sides and both diagonals over the tops, outside"
    corners = len(work.sheet.shape.corners)
    return f"{corners} sides" + (f", {corners - 2} diagonals" if corners > 3 else "")


def names_of(alike: Sequence[Blank]) -> str:
    first, *others = alike
    same = [f"{other.name} turned over" if other.mirrored else other.name for other in others]
    return first.name + (f" (and {', '.join(same)})" if same else "")
