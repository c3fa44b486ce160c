"""The blanks that layouts are measured with: invented ones, and those of open data sets read from a folder.

The folder holds `terashima1/T??001.txt` and `OpT??001.txt` (Terashima-Marin and others, Annals of Operations Research 179
(2010), 369-392), `jotika40.json`, `jotika50.json`, `han80.json`, `han100.json` (Han, Bennell, Zhao, Song, EJOR 230 (2013))
and `fu.json`, as in the ESICUP datasets (CC0). Nothing of it is kept with the project.
"""

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from calc.layout import Item
from calc.layout.polygons import area

RIM = [(0.0, 0.0), (900.0, 0.0), (900.0, 450.0), (0.0, 450.0)]
LOW_POINT, DEPTH = (620.0, 225.0), 45.0
FIVE = [
    ((0, 0), (900, 0), (620, 229.5)),
    ((0, 0), (450, 0), (225, 621.6)),
    ((0, 0), (800, 0), (600, 300), (150, 300)),
    ((0, 0), (500, 0), (500, 400), (0, 400)),
    ((0, 0), (450, 0), (225, 283.6)),
]
ROUNDED = 0.05  # mm the rounded corners of a jigsaw may need beyond its sheet
SMALL = ("TA", "TB", "TC", "TK", "TL", "TO", "TP", "TQ", "TR")
JIGSAWS = ("TM", "TF", "TJ", "TI", "TD", "TN")
# the best number of sheets, and whether an earlier search of ours (5 s a sheet) needed one more
INSTANCES = {
    "TB": (10, 0), "TH": (12, 0), "TO": (7, 0), "TQ": (15, 0),
    "TA": (3, 1), "TC": (6, 1), "TK": (6, 1), "TM": (5, 1), "TP": (8, 1), "TR": (9, 1), "TD": (3, 1), "TF": (2, 1),
}  # fmt: skip
GLASS = {"jotika40": 90.0, "jotika50": 88.2, "han80": 90.7, "han100": 89.6}


@dataclass(frozen=True, slots=True)
class Case:
    """Blanks to lay out, what is measured of it ("length", "sheets" or "share"), and figures to hold against it."""

    name: str
    items: list[Item]
    sheet: tuple[float, float]
    kerf: float
    may_turn_over: bool
    measure: str
    known: str  # published or measured elsewhere
    aim: str
    scale: float = 1.0  # mm to the data's unit, where its sizes are none of sheet metal

    @property
    def bound(self) -> float:
        """What no layout beats: the blanks' area as a length, in sheets, or all of the metal."""
        total = sum(area(item.outline) * item.count for item in self.items)
        if self.measure == "length":
            return total / self.sheet[1] / self.scale
        return math.ceil(total / (self.sheet[0] * self.sheet[1])) if self.measure == "sheets" else 100.0


def tray_items(sets: int) -> list[Item]:
    """The facets of so many trays, each in the frame of its rim side."""
    items = []
    for name, a, b in zip("ABCD", RIM, RIM[1:] + RIM[:1], strict=True):
        side = math.dist(a, b)
        ux, uy = (b[0] - a[0]) / side, (b[1] - a[1]) / side
        x, y = LOW_POINT[0] - a[0], LOW_POINT[1] - a[1]
        apex = (x * ux + y * uy, math.hypot(y * ux - x * uy, DEPTH))
        items.append(Item(name, ((0.0, 0.0), (side, 0.0), apex), sets))
    return items


def cases(data: Path) -> Iterator[Case]:
    """Every case, in the order of the table."""
    wide = (24_000.0, 1220.0)  # a coil rather than a sheet: what counts is the length used
    yield Case("tray, 1 set", tray_items(1), wide, 2, True, "length", "free 425.7", "431.7 / 426")
    yield Case("tray, 3 sets", tray_items(3), wide, 2, True, "length", "free 1206.4", "1221.8 / 1210")
    yield Case("tray, 6 sets", tray_items(6), wide, 2, True, "length", "free 2465.7", "2533.8 / 2400")
    yield Case("6 sets, sheets", tray_items(6), (2440, 1220), 2, True, "sheets", "", "- / 1")
    yield Case("five parts", _items(FIVE), wide, 2, True, "length", "free 700", "778 / 720")
    # a strip of 38: at 30 mm to the unit it is as wide as a sheet, and 5 mm of waste as thin as it should be
    shapes = [piece["shape"] for piece in json.loads((data / "fu.json").read_text())["items"]]
    fu = _items([tuple((30 * x, 30 * y) for x, y in shape) for shape in shapes])
    yield Case("fu", fu, (24_000.0, 1140.0), 0, True, "length", "free 32.2, 30.84 unturned", "31.2 / 30.8", 30)
    for name in (*SMALL, *JIGSAWS):
        pieces = optimal_sheet(data / "terashima1" / f"Op{name}001.txt")
        side = 1000 + ROUNDED
        aim = "1000 / 1000" if name in SMALL else "1058-1219 / 1040"
        yield Case(f"{name} 001, sheet 1", _items(pieces), (20_000, side), 0, False, "length", "best 1000", aim)
    for name, (best, more) in INSTANCES.items():
        pieces = instance(data / "terashima1" / f"{name}001.txt")
        sheet = (1000 + ROUNDED, 1000 + ROUNDED)
        aim = f"{best + more} / {best}"
        yield Case(f"{name} 001, whole", _items(pieces), sheet, 0, False, "sheets", f"best {best}", aim)
    for name, share in GLASS.items():
        shapes = [piece["shape"] for piece in json.loads((data / f"{name}.json").read_text())["items"]]
        yield Case(name, _items(shapes), (3210, 2250), 0, True, "share", "free strip 86", f"{share} / 91 mean")


def _items(outlines: list[tuple[tuple[float, float], ...]]) -> list[Item]:
    return [Item(f"P{i}", tuple((float(x), float(y)) for x, y in outline)) for i, outline in enumerate(outlines)]


def optimal_sheet(path: Path) -> list[tuple[tuple[float, float], ...]]:
    """The pieces of the first sheet of an optimal solution."""
    numbers = [float(word) for word in path.read_text().split()]
    sheets = int(numbers[0])
    return list(_pieces(numbers[sheets + 3 :], int(numbers[1])))


def instance(path: Path) -> list[tuple[tuple[float, float], ...]]:
    """All the pieces of an instance."""
    numbers = [float(word) for word in path.read_text().split()]
    return list(_pieces(numbers[3:], int(numbers[0])))


def _pieces(numbers: list[float], count: int) -> Iterator[tuple[tuple[float, float], ...]]:
    at = 0
    for _ in range(count):
        corners = int(numbers[at])
        flat = numbers[at + 1 : at + 1 + 2 * corners]
        yield tuple(zip(flat[::2], flat[1::2], strict=True))
        at += 1 + 2 * corners
