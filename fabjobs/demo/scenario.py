"""The demo shop: a workshop of our own invention, its prices, and its jobs at different stages. No one in it is real."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

SHOP = "Wendle Lane Sheet Metal"
OWNER, MATE = "mara", "jonas"
CURRENCY = "EUR"
RATES: dict[str, Any] = {
    "labour": "44.00",
    "labour_by_kind": {"weld": "54.00", "install": "58.00"},
    "filler": "26.50",
    "gas": "0.0180",
    "outlet_fitting": "13.80",
}
SHEETS = (
    {
        "alloy": "5052-H32",
        "thickness": 1.5,
        "label": "2500 x 1250",
        "length": 2500.0,
        "width": 1250.0,
        "price": "104.00",
    },
    {
        "alloy": "5052-H32",
        "thickness": 1.5,
        "label": "2000 x 1000",
        "length": 2000.0,
        "width": 1000.0,
        "price": "69.50",
    },
    {
        "alloy": "5052-H32",
        "thickness": 2.0,
        "label": "2500 x 1250",
        "length": 2500.0,
        "width": 1250.0,
        "price": "139.00",
    },
)


@dataclass(frozen=True)
class Change:
    """What the customer wanted otherwise once the blanks were marked out."""

    low_point: tuple[float, float]
    reason: str


@dataclass(frozen=True)
class Bought:
    what: str
    count: int
    price: str


@dataclass(frozen=True)
class Welded:
    """How a tray came out of welding [mm]: how far each corner was drawn in, and how much deeper it came out.

    misread: a size that was read wrong the first time, and by how much.
    """

    drawn_in: tuple[float, ...]
    deeper: float = 0.0
    misread: tuple[str, float] | None = None


@dataclass(frozen=True)
class Opening:
    """Where an opening comes in the bench [mm]: corner 1 from its end and edge, corner 2 from its edge; how thick it is."""

    from_end: float
    from_edge: float
    from_edge_next: float
    bench: float


@dataclass(frozen=True)
class DemoJob:
    """A thing to make, how far it is, and what happened on the way. Lengths in mm, days counted from today.

    shape: as a job sheet has it; joins: how its facets are joined. up_to: the kind of work it has come to; share: how much
    of that kind is done; all before it is. pump: what it delivers [l/min], where the customer knows.
    notes: on the first step of a kind. spoiled: a blank and why. kept: the size of the offcut that came back.
    welded: how each tray came out, once it is measured; opening: where the first is let in.
    """

    title: str
    customer: str
    machine: str
    shape: Mapping[str, Any]
    begun: int
    due: int
    up_to: str
    share: float = 0.0
    thickness: float = 1.5
    quantity: int = 1
    pump: float | None = None
    joins: str = "weld-all"
    change: Change | None = None
    notes: Mapping[str, str] = field(default_factory=dict)
    spoiled: tuple[str, str] | None = None
    kept: tuple[float, float] | None = None
    bought: tuple[Bought, ...] = ()
    welded: tuple[Welded, ...] = ()
    opening: Opening | None = None


def _tray(
    rim: Sequence[tuple[float, float]], low_point: tuple[float, float], depth: float, bore: float, **more: Any
) -> dict[str, Any]:
    outlet = {"bore": bore}
    corners = [list(corner) for corner in rim]
    return {
        "family": "fall-tray",
        "rim": corners,
        "low_point": list(low_point),
        "depth": depth,
        "outlet": outlet,
    } | more


JOBS = (
    DemoJob(
        title="Tray under the turning bench",
        customer="Aldermoor Gearcutting",
        machine="Bench lathe by the door",
        shape=_tray(((0, 0), (655, 0), (905, 210), (880, 540), (0, 515)), (610, 214), 55, 40),
        pump=12,
        begun=-19,
        due=-9,
        up_to="all",
        notes={
            "mark": "Corner 3 clears the leg by 14 mm, measured with the chip drawer in.",
            "test": "Wept at one tack by the outlet; gone over once, dry for an hour since.",
        },
        spoiled=("C", "The guide slipped on the last cut; marked out again on what was left of the sheet."),
        kept=(1130.0, 1000.0),
        bought=(Bought("Hose tail, 40 mm", 1, "9.60"), Bought("Sealant, a cartridge", 2, "7.25")),
        welded=(Welded((0.9, 0.7, 1.1, 0.6, 0.8), deeper=0.5),),
        opening=Opening(from_end=212, from_edge=84, from_edge_next=84, bench=3),
    ),
    DemoJob(
        title="Chip tray, cold saw",
        customer="Penhale Pump Repairs",
        machine="Cold saw on the welded stand",
        shape=_tray(((0, 0), (932, 4), (921, 446), (-6, 452)), (640, 170), 52, 32),
        pump=9,
        begun=-9,
        due=2,
        up_to="aperture",
        change=Change((705, 121), "A brace of the stand is where the drain was"),
        notes={"check": "Diagonals 2 mm apart after tacking; pulled square before the long runs."},
        bought=(Bought("Spigot, 32 mm", 1, "11.20"),),
        welded=(Welded((0.8, 1.0, 0.7, 0.9), deeper=-0.5, misread=("diagonal-1-3", -10)),),
        opening=Opening(from_end=146, from_edge=71, from_edge_next=75, bench=4),
    ),
    DemoJob(
        title="Long tray, way grinder",
        customer="Sorrel & Wicks Toolroom",
        machine="Way grinder, north bay",
        shape=_tray(((0, 0), (2140, -8), (2131, 372), (5, 361)), (1480, 141), 74, 50),
        pump=30,
        begun=-6,
        due=5,
        up_to="weld",
        share=0.5,
        thickness=2.0,
        notes={"measure": "The bed is 9 mm longer at the back. Two people to carry it in."},
    ),
    DemoJob(
        title="Drip trays, drill stands",
        customer="Tarn End Joinery Fittings",
        machine="Two drill stands",
        shape=_tray(((0, 0), (548, 14), (571, 402), (-9, 377)), (342, 118), 42, 32),
        begun=-3,
        due=8,
        up_to="cut",
        share=0.5,
        quantity=2,
    ),
    DemoJob(
        title="Tray round the column",
        customer="Dunmarrow Castings",
        machine="Radial drill",
        shape=_tray(((0, 0), (980, 0), (985, 330), (560, 345), (540, 660), (0, 650)), (441, 288), 64, 40),
        pump=30,
        begun=-1,
        due=16,
        up_to="mark",
    ),
    DemoJob(
        title="Tray with an upstand, deburring bench",
        customer="Quenby Valve Works",
        machine="Deburring bench by the wash",
        shape=_tray(
            ((0, 0), (812, -5), (838, 386), (-12, 402)),
            (765, 120),
            58,
            32,
            rim_finish={"kind": "upstand", "height": 25},
        ),
        begun=-2,
        due=11,
        up_to="fold",
        share=0.5,
        joins="fewest-welds",
        notes={"mark": "All four facets in one piece: one seam is left to weld."},
    ),
    DemoJob(
        title="Swarf pan, tool grinder",
        customer="Hob Lane Cutters",
        machine="Tool grinder on its plinth",
        shape={"family": "pan", "length": 420, "width": 265, "height": 55, "fall": 9, "return_width": 18},
        begun=-5,
        due=4,
        up_to="weld",
        share=0.5,
        thickness=2.0,
        notes={"fold": "Returns first, then the long walls; the short ones close last."},
    ),
    DemoJob(
        title="Valley tray, twin-spindle drill",
        customer="Marlpit Hydraulics",
        machine="Twin-spindle drill, south wall",
        shape={
            "family": "valley-tray",
            "rim": [[0, 0], [1240, -11], [1226, 438], [-8, 424]],
            "valley": [[215, 232, 38], [930, 188, 61]],
            "outlet": {"bore": 40},
            "keep_clear": [
                {"at": [1010, 60], "length": 60, "width": 320, "name": "leg frame"},
                {"at": [420, 40], "length": 180, "width": 90, "name": "pump"},
            ],
        },
        begun=-1,
        due=19,
        up_to="mark",
    ),
    DemoJob(
        title="Plates for a belt guard",
        customer="Fennick Box Makers",
        machine="Belt drive of the carton folder",
        shape={
            "family": "flat-parts",
            "parts": [
                {"name": "gusset", "outline": [[0, 0], [115, 0], [115, 18], [18, 115], [0, 115]], "count": 4},
                {"name": "stiffener", "outline": {"sides": [640, 48, 520], "angles": [90, 90]}, "count": 2},
                {
                    "name": "cover",
                    "outline": [[0, 0], [560, 0], [560, 265], [345, 265], [345, 190], [215, 190], [215, 265], [0, 265]],
                },
            ],
        },
        begun=-2,
        due=6,
        up_to="cut",
        share=0.5,
        thickness=2.0,
        notes={"measure": "The slot in the cover clears the shaft by 22 mm on either side."},
    ),
    DemoJob(
        title="Drip trays, honing row",
        customer="Lanyard Bore Works",
        machine="Five honing machines along the wall",
        shape=_tray(((0, 0), (602, -7), (618, 414), (-11, 398)), (411, 127), 46, 32),
        begun=-27,
        due=-13,
        up_to="all",
        quantity=5,
        notes={"check": "All five come out about a millimetre small."},
        welded=(
            Welded((0.7, 0.9, 0.8, 0.6), deeper=0.5),
            Welded((0.8, 0.8, 1.0, 0.7)),
            Welded((0.5, 0.7, 0.6, 0.6), deeper=0.5),
            Welded((0.9, 1.1, 0.9, 0.8), deeper=-0.5),
            Welded((0.6, 0.8, 0.7, 0.9)),
        ),
        opening=Opening(from_end=96, from_edge=60, from_edge_next=53, bench=3),
    ),
)
