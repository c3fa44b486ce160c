"""Cuts a laid-out sheet up with shapely, one cut after another, and checks each as a person at the saw would.

It reads nothing but the layout's own records and shares no code with the program.
"""

import math
from collections.abc import Mapping, Sequence

import numpy as np
from shapely import affinity, intersection, symmetric_difference
from shapely.geometry import LineString, Point, Polygon, box

FAR = 1e4  # mm, beyond any sheet
NEAR = 1e-5  # mm: rounding
GRID = 1e-6  # mm: overlays are snapped to this; exact ones fail where edges touch but for rounding
SHORT = 1e-3  # mm: an edge shorter than this is two corners where one was meant
SAME = 1e-2  # mm2: two polygons that differ by less are the same


def check_layout(layout, items, stock, *, kerf, edge_trim, may_turn_over=True, grain=False, least_offcut=150.0):
    """Everything a layout promises. `items` and `stock` as given to `lay_out`."""
    outlines = {item.name: item.outline for item in items}
    check_copies(layout, {item.name: item.count for item in items})
    check_stock(layout, stock)
    blanks_area = opened = 0.0
    for sheet in layout.sheets:
        check_places(sheet, outlines, kerf, edge_trim, may_turn_over=may_turn_over, grain=grain)
        pieces = replay(sheet, outlines, kerf)
        check_offcuts(sheet, pieces, kerf, least_offcut)
        opened += sheet.length * sheet.width
        blanks_area += sum(Polygon(p.outline).area for p in sheet.placed)
    assert math.isclose(layout.share_used, blanks_area / opened if opened else 0.0, rel_tol=1e-9)


def check_copies(layout, counts: Mapping[str, int]):
    """Every copy is on one sheet or among the unplaced, once."""
    named = [name_of(p) for sheet in layout.sheets for p in sheet.placed]
    wanted = [f"{name}.{n}" for name, count in counts.items() for n in range(1, count + 1)]
    assert sorted([*named, *layout.unplaced]) == sorted(wanted)


def check_stock(layout, stock):
    """No more of a size than there are."""
    sizes = {s.label: s for s in stock}
    for sheet in layout.sheets:
        assert (sheet.length, sheet.width) == (sizes[sheet.stock].length, sizes[sheet.stock].width)
        assert sheet.placed
    for label, size in sizes.items():
        assert size.count is None or sum(s.stock == label for s in layout.sheets) <= size.count


def check_places(sheet, outlines, kerf, edge_trim, *, may_turn_over, grain):
    """Blanks true to size, inside the trimmed sheet, a kerf apart, and lying only as they may."""
    room = box(edge_trim, edge_trim, sheet.length - edge_trim, sheet.width - edge_trim)
    hulls = [Polygon(p.outline).convex_hull for p in sheet.placed]
    for placed, hull in zip(sheet.placed, hulls, strict=True):
        true = Polygon(outlines[placed.blank])
        moved = affinity.scale(true, 1, -1, origin=(0, 0)) if placed.turned_over else true
        moved = affinity.translate(affinity.rotate(moved, placed.angle, origin=(0, 0)), *placed.at)
        drawn = Polygon(placed.outline)
        assert drawn.exterior.is_ccw
        assert symmetric_difference(drawn, moved, grid_size=GRID).area < SAME
        corner = affinity.rotate(Point(_over(outlines[placed.blank][0], placed)), placed.angle, origin=(0, 0))
        assert math.dist(_sum(corner.coords[0], placed.at), placed.outline[0]) < NEAR
        assert hull.within(room.buffer(NEAR, join_style="mitre"))
        assert may_turn_over or not placed.turned_over
        assert not grain or placed.angle in (0.0, 180.0)
    for i, a in enumerate(hulls):
        for b in hulls[i + 1 :]:
            assert a.distance(b) >= kerf - NEAR
            assert intersection(a, b, grid_size=GRID).area < SAME


def replay(sheet, outlines, kerf, dressed=0.0, metal=None) -> list[Polygon]:
    """Make the cuts; every blank must come free when it is said to. Returns the pieces left at the end.

    `metal` is what the cuts are made in, where that is not the whole sheet. `dressed` is how far a piece may stand off
    its blank, where corners are too dull to be sawn.
    """
    hulls = {name_of(p): Polygon(p.outline).convex_hull for p in sheet.placed}
    metal = metal or box(0, 0, sheet.length, sheet.width)
    assert all(hull.within(metal.buffer(NEAR, join_style="mitre")) for hull in hulls.values())
    pieces = [metal]
    freed = {n for n, hull in hulls.items() if _same(hull, pieces[0], dressed)}
    finished: dict[str, int] = {}
    for cut in sheet.cuts:
        piece = _piece_of(cut, pieces)
        pieces.remove(piece)
        halves = _halves(cut, piece, kerf)
        inside = [n for n, hull in hulls.items() if hull.within(piece.buffer(NEAR))]
        for half, names in zip(halves, cut.parts, strict=True):
            here = {n for n in inside if hulls[n].within(half.buffer(NEAR))}
            assert here == set(names), (here, names)
        assert set(inside) == {*cut.parts[0], *cut.parts[1]}, "the kerf runs through a blank"
        pieces += [half for half in halves if half.area > 0]
        now = {n for n in inside if any(_same(hulls[n], half, dressed) for half in halves)}
        assert now == set(cut.frees), (now, cut.frees)
        assert not now & freed
        freed |= now
        for edge in cut.finishes:
            finished[edge] = finished.get(edge, 0) + 1
            _check_edge(edge, cut, sheet, outlines, kerf)
        served = cut.made or cut.key  # what a cut was for may be gone where new blanks were laid out beside it
        assert served or cut.finishes or all(cut.parts) or any(_is_offcut(half, sheet) for half in halves), (
            "an idle cut"
        )
        assert math.isclose(cut.length, math.dist(cut.start, cut.end), abs_tol=NEAR)
    if sheet.cuts:
        assert freed == set(hulls)
    if sheet.cuts and not dressed:
        _check_every_edge(sheet, metal, finished)
    return pieces


def check_offcuts(sheet, pieces, kerf, least_offcut, metal=None):
    """Offcuts are convex, apart, clear of the blanks, left as pieces by the cuts, and hold a square worth keeping."""
    offcuts = [Polygon(o.outline) for o in sheet.offcuts]
    whole = metal or box(0, 0, sheet.length, sheet.width)
    for i, offcut in enumerate(offcuts):
        assert offcut.exterior.is_ccw
        assert offcut.convex_hull.area - offcut.area < SAME
        assert offcut.within(whole.buffer(NEAR))
        assert _holds_square(offcut, least_offcut)
        assert all(offcut.distance(other) >= kerf - NEAR for other in offcuts[i + 1 :])
        assert all(intersection(offcut, other, grid_size=GRID).area < SAME for other in offcuts[i + 1 :])
        assert all(offcut.distance(Polygon(p.outline).convex_hull) >= kerf - NEAR for p in sheet.placed)
        assert not sheet.cuts or any(_same(offcut, piece) for piece in pieces)


def used_length(sheet) -> float:
    return max(x for placed in sheet.placed for x, _ in placed.outline)


def name_of(placed) -> str:
    return f"{placed.blank}.{placed.copy}"


def _same(a: Polygon, b: Polygon, off: float = 0.0) -> bool:
    if off and not b.is_empty:
        return b.buffer(NEAR).contains(a) and a.hausdorff_distance(b) < off
    return abs(a.area - b.area) < SAME and symmetric_difference(a, b, grid_size=GRID).area < SAME


def _piece_of(cut, pieces: Sequence[Polygon]) -> Polygon:
    """The one piece that a cut is made in: both ends on its boundary, the middle inside."""
    middle = Point((cut.start[0] + cut.end[0]) / 2, (cut.start[1] + cut.end[1]) / 2)
    found = [p for p in pieces if p.contains(middle)]
    assert len(found) == 1, "a cut that is in no piece"
    for end in (cut.start, cut.end):
        assert found[0].exterior.distance(Point(end)) < NEAR, "a cut that does not end on the piece's edge"
    line = LineString([cut.start, cut.end])
    assert line.intersection(found[0]).length > line.length - 2 * NEAR
    return found[0]


def _halves(cut, piece: Polygon, kerf: float) -> list[Polygon]:
    """What the saw leaves to the left and to the right of the cut."""
    (x0, y0), (x1, y1) = cut.start, cut.end
    length = math.dist(cut.start, cut.end)
    along = np.array([x1 - x0, y1 - y0]) / length
    left = np.array([-along[1], along[0]])
    halves = []
    for side in (left, -left):
        near = np.array([x0, y0]) + side * kerf / 2
        corners = [near - FAR * along, near + FAR * along, near + FAR * (along + side), near + FAR * (side - along)]
        half = piece.intersection(Polygon(corners))
        solid = [part for part in getattr(half, "geoms", [half]) if part.area > 0]
        assert len(solid) < 2
        halves.append(solid[0] if solid else Polygon())
    return halves


def _check_edge(edge: str, cut, sheet, outlines, kerf: float):
    """An edge that a cut is said to finish lies along its kerf."""
    a, b = _edge_on_sheet(edge, sheet)
    line = LineString([cut.start, cut.end])
    direction = np.subtract(cut.end, cut.start) / line.length
    for point in (a, b):
        x, y = np.subtract(point, cut.start)
        away = direction[0] * y - direction[1] * x
        assert abs(abs(away) - kerf / 2) < 1e-4


def _check_every_edge(sheet, metal, finished: Mapping[str, int]):
    """Each edge on a blank's hull is finished once, or lies on the sheet's own edge."""
    rim = metal.exterior
    for placed in sheet.placed:
        hull = Polygon(placed.outline).convex_hull.exterior
        for k in range(len(placed.outline)):
            edge = f"{name_of(placed)}:{k}"
            line = LineString(_edge_on_sheet(edge, sheet))
            if line.length < SHORT:
                continue
            on_hull = hull.distance(line.interpolate(0.5, normalized=True)) < NEAR
            on_rim = rim.distance(line.centroid) < NEAR
            assert finished.get(edge, 0) == (1 if on_hull and not on_rim else 0), edge


def _edge_on_sheet(edge: str, sheet):
    name, _, number = edge.rpartition(":")
    placed = next(p for p in sheet.placed if name_of(p) == name)
    corners, sign = placed.outline, -1 if placed.turned_over else 1
    return [corners[sign * k % len(corners)] for k in (int(number), int(number) + 1)]


def _holds_square(piece: Polygon, side: float) -> bool:
    """Whether a square along the axes fits in a convex piece: the piece moved by its four corners still overlaps."""
    grown = piece.buffer(1e-4, join_style="mitre")
    room = grown
    for dx, dy in ((side, 0), (0, side), (side, side)):
        room = intersection(room, affinity.translate(grown, -dx, -dy), grid_size=GRID)
        solid = [part for part in getattr(room, "geoms", [room]) if part.area > 0]
        room = solid[0] if solid else room  # a corner that touches may come with it as a line or a point
    return not room.is_empty


def _is_offcut(half: Polygon, sheet) -> bool:
    return any(_same(half, Polygon(o.outline)) for o in sheet.offcuts)


def _over(point, placed):
    return (point[0], -point[1]) if placed.turned_over else point


def _sum(a, b):
    return (a[0] + b[0], a[1] + b[1])
