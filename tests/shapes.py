"""A catalogue of trays to test with, and strategies that draw random ones."""

import math
from typing import Any

import shapely
from hypothesis import strategies as st

METAL = {"alloy": "5052-H32", "thickness": 1.5}


def sheet_of(shape: dict[str, Any], **keys: Any) -> dict[str, Any]:
    """A job sheet of this shape, planned as quickly as can be."""
    making = {"effort": "quick", **keys.pop("making", {})}
    return {"title": "Test tray", "shape": shape, "material": METAL, "making": making, **keys}


def fall_tray(rim: Any, low_point: Any, depth: Any, **keys: Any) -> dict[str, Any]:
    return {"family": "fall-tray", "rim": rim, "low_point": low_point, "depth": depth, **keys}


SKEW = fall_tray([[0, 0], [742, 9], [731, 398], [-12, 371]], [512, 148], 46, outlet={"bore": 40})
FIVE = fall_tray([[0, 0], [520, 0], [690, 180], [610, 455], [0, 430]], [430, 210], 52, outlet={"bore": 32})
REFLEX = fall_tray([[0, 0], [900, 0], [900, 300], [520, 320], [500, 610], [0, 600]], [430, 270], 60)
TRIANGLE = fall_tray([[0, 0], [480, 15], [170, 390]], [220, 120], 35)
MIRROR = fall_tray([[0, 0], [600, 0], [600, 400], [0, 400]], [210, 200], 40)
NAMED = {"skew": SKEW, "five": FIVE, "reflex": REFLEX, "triangle": TRIANGLE, "mirror": MIRROR}


def ring(count: int, reach: float = 300.0, dent: float = 0.0) -> dict[str, Any]:
    """A rim of so many corners round a low point off its middle, every second corner drawn in by `dent` (a share)."""
    corners = []
    for i in range(count):
        radius = reach * (1 + 0.07 * math.sin(2.3 * i)) * (1 - dent * (i % 2))
        angle = 2 * math.pi * i / count
        corners.append([round(1.6 * radius * math.cos(angle), 1), round(radius * math.sin(angle), 1)])
    return fall_tray(corners, [24.0, -15.0], 48, outlet={"bore": 32})


@st.composite
def fall_trays(draw: st.DrawFn, least: int = 3, most: int = 9) -> dict[str, Any]:
    """Any tray whose low point sees every side: corners at rising bearings from it, less than half a turn apart.

    Figures have seven decimals, as many as a sheet keeps. Rims come out convex and reflex, and run in either direction.
    """
    count = draw(st.integers(least, most))
    shares = [draw(st.floats(0.55, 1.0)) for _ in range(count)]
    turns = [share / sum(shares) * 2 * math.pi for share in shares]
    radii = [draw(st.floats(80.0, 600.0)) for _ in range(count)]
    low = (round(draw(st.floats(-500.0, 500.0)), 7), round(draw(st.floats(-500.0, 500.0)), 7))
    corners, bearing = [], draw(st.floats(0.0, 6.28))
    for turn, radius in zip(turns, radii, strict=True):
        corners.append([round(low[0] + radius * math.cos(bearing), 7), round(low[1] + radius * math.sin(bearing), 7)])
        bearing += turn
    if draw(st.booleans()):
        corners.reverse()
    return fall_tray(corners, list(low), round(draw(st.floats(5.0, 250.0)), 7))


def pan(length: float, width: float, height: float, **keys: Any) -> dict[str, Any]:
    return {"family": "pan", "length": length, "width": width, "height": height, **keys}


# How a sheet may have its bends worked out: every published method, and a K of the shop's own.
MAKING_OF = {
    "din-6935": {"bend_method": "din-6935"},
    "machinery": {"bend_method": "machinery"},
    "faa": {"bend_method": "faa"},
    "k-factor": {"bend_method": "k-factor", "k_factor": 0.42},
}
methods = st.sampled_from(list(MAKING_OF.values()))


@st.composite
def finished_trays(draw: st.DrawFn, least: int = 3, most: int = 9) -> dict[str, Any]:
    """Any tray of `fall_trays` with laps or upstands on its rim; a lap may be wider than there is room for."""
    kind, reach = draw(st.sampled_from((("lap", "width"), ("upstand", "height"))))
    size, radius = round(draw(st.floats(8.0, 35.0)), 3), round(draw(st.floats(0.0, 4.0)), 3)
    return {**draw(fall_trays(least, most)), "rim_finish": {"kind": kind, reach: size, "inside_radius": radius}}


@st.composite
def pans(draw: st.DrawFn) -> dict[str, Any]:
    """Any pan, its floor level or falling, with returns or without."""
    sizes = [round(draw(st.floats(60.0, 900.0)), 3) for _ in range(2)]
    keys = {"inside_radius": round(draw(st.floats(0.0, 5.0)), 3), "fall": draw(st.sampled_from((0.0, 3.5, 17.25)))}
    if draw(st.booleans()):
        keys["return_width"] = round(draw(st.floats(12.0, 40.0)), 3)
    return pan(*sizes, round(draw(st.floats(20.0, 150.0)), 3), **keys)


def valley_tray(rim: Any, valley: Any, **keys: Any) -> dict[str, Any]:
    return {"family": "valley-tray", "rim": rim, "valley": valley, **keys}


SKEW_RIM = [[0, 0], [884, -6], [871, 433], [-5, 420]]
TWISTED = valley_tray(SKEW_RIM, [[150, 210, 40], [650, 215, 57]], outlet={"bore": 32})
DEEP_FIRST = valley_tray(SKEW_RIM, [[190, 180, 63], [700, 260, 45]])
LEVEL_VALLEY = valley_tray([[0, 0], [900, 0], [900, 400], [0, 400]], [[200, 200, 50], [700, 200, 50]])
VALLEYS = {"twisted": TWISTED, "deep first": DEEP_FIRST, "level": LEVEL_VALLEY}

SUMP = {"length": 90, "width": 60}
SUMPS = {
    "rectangle": fall_tray([[0, 0], [600, 0], [600, 400], [0, 400]], [240, 180], 40, sump=SUMP, outlet={"bore": 32}),
    "skew": {**SKEW, "sump": SUMP},
    "five": {**FIVE, "sump": SUMP},
    "triangle": {**TRIANGLE, "sump": SUMP},
}


@st.composite
def valley_trays(draw: st.DrawFn) -> dict[str, Any]:
    """Any valley tray whose facets are seen from above however they are split: the deep end sees every side, the shallow one
    lies in the triangle of its side and the deep end. Either end is the deep one, rims run in either direction."""
    tray = draw(fall_trays(4, 4))
    rim, (x, y) = tray["rim"], tray["low_point"]
    by_first = rim[3], rim[0]
    share, along = draw(st.floats(0.15, 0.85)), draw(st.floats(0.15, 0.85))
    on_side = [by_first[0][axis] + along * (by_first[1][axis] - by_first[0][axis]) for axis in (0, 1)]
    depth = tray["depth"]
    deep = [x, y, depth]
    shallow = [
        *(round(start + share * (end - start), 7) for start, end in zip((x, y), on_side, strict=True)),
        round(depth * draw(st.floats(0.05, 1.0)), 7),
    ]
    if shallow[2] < depth and draw(st.booleans()):  # of two equals the second is the deep end
        return valley_tray([*rim[2:], *rim[:2]], [deep, shallow])
    return valley_tray(rim, [shallow, deep])


@st.composite
def sump_trays(draw: st.DrawFn, least: int = 3, most: int = 8) -> dict[str, Any]:
    """Any fall tray of a convex rim with a sump in it: corners on a circle, which is drawn out, turned and moved."""
    count = draw(st.integers(least, most))
    shares = [draw(st.floats(0.55, 1.0)) for _ in range(count)]
    first = draw(st.floats(0.0, 6.28))
    bearings = [first + 2 * math.pi * sum(shares[:i]) / sum(shares) for i in range(count)]
    reach, drawn_out, turn = draw(st.floats(150.0, 700.0)), draw(st.floats(0.6, 1.7)), draw(st.floats(0.0, 3.14))
    low = [round(draw(st.floats(-500.0, 500.0)), 7) for _ in (0, 1)]
    rim = []
    for bearing in bearings:
        x, y = drawn_out * reach * math.cos(bearing), reach * math.sin(bearing)
        rim.append(
            [
                round(low[0] + x * math.cos(turn) - y * math.sin(turn), 7),
                round(low[1] + x * math.sin(turn) + y * math.cos(turn), 7),
            ]
        )
    if draw(st.booleans()):
        rim.reverse()
    room = shapely.Polygon(rim).exterior.distance(shapely.Point(low)) - 2.0
    sump = {key: round(math.sqrt(2) * room * draw(st.floats(0.05, 0.95)), 7) for key in ("length", "width")}
    return fall_tray(rim, low, round(draw(st.floats(5.0, 250.0)), 7), sump=sump)


def part(name: str, outline: Any, count: int = 1) -> dict[str, Any]:
    return {"name": name, "outline": outline, "count": count}


def flat_parts(*parts: dict[str, Any]) -> dict[str, Any]:
    return {"family": "flat-parts", "parts": list(parts)}


GUSSET = [[0, 0], [140, 0], [140, 20], [20, 140], [0, 140]]
COVER = [[0, 0], [360, 0], [360, 240], [210, 240], [210, 180], [120, 180], [120, 240], [0, 240]]  # a slot in its top
STIFFENER = {"sides": [420, 60, 300], "angles": [90, 90]}
PLATES = flat_parts(part("gusset", GUSSET, 4), part("stiffener", STIFFENER, 2), part("cover", COVER))
FLAT = {
    "plates": PLATES,
    "one": flat_parts(part("plate", [[0, 0], [0, 90], [200, 90], [200, 0]])),
    "alike": flat_parts(part("left", GUSSET), part("right", [[-x, y] for x, y in GUSSET], 3), part("lug", COVER)),
    "many": flat_parts(*(part(f"p{i}", [[0, 0], [30 + 9 * i, 0], [25, 40 + 5 * i]], 1 + i % 3) for i in range(24))),
}


@st.composite
def flat_part_sets(draw: st.DrawFn) -> dict[str, Any]:
    """Any set of flat parts, some by corners, which come convex and not, and some by sides and angles."""
    parts = []
    for place in range(draw(st.integers(1, 4))):
        outline: Any = draw(fall_trays(3, 8))["rim"]
        if draw(st.booleans()):
            sides = [round(draw(st.floats(60.0, 400.0)), 3) for _ in range(3)]
            outline = {"sides": sides, "angles": [round(draw(st.floats(80.0, 130.0)), 2) for _ in range(2)]}
        parts.append(part(f"part-{place + 1}", outline, draw(st.integers(1, 3))))
    return flat_parts(*parts)
