"""What seams shrink, put on the blanks: cut larger by just that, and nothing else of the plan touched."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from calc import SheetFaults, plan, read_sheet
from calc.joins import join
from calc.making import OwnShrinkage
from calc.outlines import take_off
from calc.records import as_json
from calc.seams import seam_section
from calc.shrinkage import across, along, published_across, published_along, shrinkage_of
from calc.unfold import unfold
from tests.calc.refold import Out, expected, misfit
from tests.shapes import (
    FIVE,
    FLAT,
    NAMED,
    SKEW,
    SUMPS,
    VALLEYS,
    fall_tray,
    fall_trays,
    finished_trays,
    pan,
    pans,
    sheet_of,
    sump_trays,
    valley_trays,
)

THICKNESS, GAP = 1.5, 0.5
DIGITS = 12
LANDS = 1e-6  # [mm]
LAP = {"kind": "lap", "width": 25, "inside_radius": 2}
UPSTAND = {"kind": "upstand", "height": 30, "inside_radius": 1.5}
SHAPES = {
    **NAMED,
    **{f"sump {name}": shape for name, shape in SUMPS.items()},
    **{f"valley {name}": shape for name, shape in VALLEYS.items()},
    "lapped": {**SKEW, "rim_finish": LAP},
    "upstand": {**FIVE, "rim_finish": UPSTAND},
    "pan": pan(620, 410, 55, inside_radius=2, fall=12, return_width=20),
    "plain pan": pan(300, 200, 40, inside_radius=2),
}
OFTEN = OwnShrinkage(across=4.0, along=9.0, across_spread=0.5, along_spread=1.0, trays=7)


def drawn(shape: dict[str, Any], **making: Any) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """A shell and its blanks as JSON; a case without a sound blank is left out."""
    try:
        sheet = read_sheet(sheet_of(shape, making=making))
        shell = join(sheet.shape.shell(THICKNESS), sheet)
        blanks = unfold(shell, sheet)
    except SheetFaults:
        assume(False)
        raise
    return as_json(shell, DIGITS), as_json(blanks, DIGITS)


def upward(corners: Any) -> Any:
    """The unit normal of a flat loop, by the cross products of its fan of triangles."""
    total = sum(np.cross(corners[i] - corners[0], corners[i + 1] - corners[0]) for i in range(1, len(corners) - 1))
    return total / np.linalg.norm(total)


def likely_across(groove: float, times: float = 1.0) -> float:
    """The mean of 0.10 A/t and 0.2 A/t + 0.05 d [mm]; A a square butt opening by the groove, with its gap and cap."""
    opening = THICKNESS**2 * math.tan(math.radians(min(abs(groove), 170)) / 2)
    section = opening + GAP * THICKNESS + 2 / 3 * 0.3 * THICKNESS * (3 * THICKNESS + GAP)
    return times * (0.10 * section / THICKNESS + 0.2 * section / THICKNESS + 0.05 * GAP) / 2


def standing_out(shell: dict[str, Any], times_across: float = 1.0, times_along: float = 1.0) -> dict[Any, float]:
    """How far out each edge of each face is wanted, worked out from the faces in space alone."""
    points = np.array(shell["vertices"])
    faces = {face["name"]: face for face in shell["faces"]}
    kinds = {frozenset(joint["edge"]): joint for joint in shell["joints"]}
    a_mm = (0.8 / 3 + 3.0 / 3) / 2 / 1000 * times_along
    out = {}
    for name, face in faces.items():
        loop = face["loop"]
        edges = [frozenset(pair) for pair in zip(loop, loop[1:] + loop[:1], strict=True)]
        welded = [edge in kinds and kinds[edge]["kind"] == "weld" for edge in edges]
        for place, edge in enumerate(edges):
            joint = kinds.get(edge)
            others = [] if joint is None else [faces[other] for other in joint["between"] if other != name]
            if welded[place]:
                one, other = (upward(points[each["loop"]]) for each in (face, others[0]))
                turned = math.degrees(math.atan2(np.linalg.norm(np.cross(one, other)), one @ other))
                if joint["groove"] < 0:  # a ridge is bevelled: nothing opens
                    turned = 0.0
                out[name, edge] = likely_across(turned, times_across) / 2
                continue
            on_rim = joint is None or (face["role"] != "strip" and others[0]["role"] == "strip")
            if on_rim and welded[place - 1] and welded[(place + 1) % len(loop)]:
                here, there = points[loop[place]], points[loop[(place + 1) % len(loop)]]
                line = (there - here) / np.linalg.norm(there - here)
                heights = []
                for start, far in ((here, loop[place - 1]), (there, loop[(place + 2) % len(loop)])):
                    seam = points[far] - start
                    heights.append(
                        float(np.linalg.norm(seam) * np.linalg.norm(np.cross(line, seam)) / np.linalg.norm(seam))
                    )
                out[name, edge] = a_mm * sum(heights) / 2
    return out


def lands(shell: dict[str, Any], blanks: list[dict[str, Any]], out: Out) -> bool:
    """Whether blanks folded up lie on the shell, their edges out by so much; a strip goes out with the rim it is folded on."""
    points = np.array(shell["vertices"])
    loops = {face["name"]: face["loop"] for face in shell["faces"]}
    strips = {face["name"] for face in shell["faces"] if face["role"] == "strip"}

    def belong(name: str) -> Any:
        corners = expected(shell, name, THICKNESS, GAP, out)
        if name not in strips:
            return corners
        edge = frozenset(loops[name][:2])
        (carrier,) = (other for other in loops if other not in strips and edge <= set(loops[other]))
        loop = loops[carrier]
        place = next(i for i in range(len(loop)) if {loop[i], loop[(i + 1) % len(loop)]} == edge)
        along = points[loop[(place + 1) % len(loop)]] - points[loop[place]]
        outward = np.cross(along / np.linalg.norm(along), upward(points[loop]))
        return corners + out.get((carrier, edge), 0.0) * outward

    return all(misfit(shell, blank, THICKNESS, GAP, belong) < LANDS for blank in blanks)


# --- on the blanks


@pytest.mark.parametrize("shape", SHAPES.values(), ids=list(SHAPES))
def test_blanks_stand_out_by_what_their_seams_shrink(shape: dict[str, Any]) -> None:
    """Folded up, every edge lies where the shell has it, less the gap, but for just what its seam is likely to shrink."""
    shell, blanks = drawn(shape, allow_shrinkage=True)
    assert lands(shell, blanks, standing_out(shell))
    assert not lands(shell, blanks, {})


@settings(max_examples=25)
@given(st.one_of(fall_trays(), finished_trays(3, 6), pans(), sump_trays(), valley_trays()))
def test_any_shape_stands_out_by_it(shape: dict[str, Any]) -> None:
    shell, blanks = drawn(shape, allow_shrinkage=True)
    assert lands(shell, blanks, standing_out(shell))


@pytest.mark.parametrize("shape", [SKEW, SUMPS["skew"], SHAPES["lapped"], SHAPES["pan"]])
def test_a_shops_own_figure_is_what_is_put_on(shape: dict[str, Any]) -> None:
    """Four times the estimate is more than the gap takes off: the edges lie outside the net outline."""
    shell, blanks = drawn(shape, allow_shrinkage=True, own_shrinkage=as_json(OFTEN))
    assert lands(shell, blanks, standing_out(shell, 4.0, 9.0))


@pytest.mark.parametrize("name", ["skew", "five", "reflex", "triangle"])
def test_triangles_shrunk_back_are_the_net_outline_less_the_gap(name: str) -> None:
    shell, blanks = drawn(NAMED[name], allow_shrinkage=True)
    out = standing_out(shell)
    for blank in blanks:
        back = [-out[blank["name"], frozenset(edge["edge"])] for edge in blank["edges"]]
        cut, net = (np.array(blank[key]) for key in ("cut_outline", "net_outline"))
        wanted = [-GAP / 2 if edge["kind"] == "weld" else 0.0 for edge in blank["edges"]]
        assert spans(moved_out(cut, back)) == pytest.approx(spans(moved_out(net, wanted)), abs=1e-6)


def moved_out(corners: Any, out: Any) -> Any:
    """A triangle with each side moved out, by the weights of its corners: side i lies at weight 0 of the corner across it."""
    (ax, ay), (bx, by), (cx, cy) = corners
    twice = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    sides = [math.dist(corners[i], corners[(i + 1) % 3]) for i in range(3)]
    # a side moved out by d lies at weight -d / height of the corner across it
    weights = np.array([-out[(i + 1) % 3] * sides[(i + 1) % 3] / twice for i in range(3)])
    left = 1 - weights.sum()
    return np.array([(weights + left * np.eye(3)[i]) @ corners for i in range(3)])


def spans(corners: Any) -> list[float]:
    return [math.dist(corners[i], corners[(i + 1) % 3]) for i in range(3)]


def test_a_seam_comes_out_longer_by_what_it_shrinks_along() -> None:
    """With nothing across, the facets of a tray are the same triangles, 1 + along times as large."""
    making = {
        "allow_shrinkage": True,
        "own_shrinkage": {**as_json(OFTEN), "across": 0.05, "along": 20.0},
        "seam_gap": 0.0,
    }
    shell, blanks = drawn(NAMED["five"], **making)
    more = 20 * (0.8 + 3.0) / 6 / 1000
    for blank in blanks:
        out = [0.0 if edge["kind"] == "free" else -1.0 for edge in blank["edges"]]
        grooves = {frozenset(joint["edge"]): joint["groove"] for joint in shell["joints"]}
        for place, edge in enumerate(blank["edges"]):
            if out[place]:
                opening = THICKNESS**2 * math.tan(math.radians(abs(grooves[frozenset(edge["edge"])])) / 2)
                section = opening + 2 / 3 * 0.3 * THICKNESS * 3 * THICKNESS
                out[place] = -0.05 * 0.15 * section / THICKNESS / 2
        cut, net = (np.array(blank[key]) for key in ("cut_outline", "net_outline"))
        assert spans(moved_out(cut, out)) == pytest.approx([(1 + more) * side for side in spans(net)], abs=1e-6)


# --- and nothing else


@pytest.mark.parametrize("shape", [SKEW, SUMPS["five"], SHAPES["lapped"], SHAPES["pan"], VALLEYS["twisted"]])
def test_net_outlines_areas_and_litres_stay(shape: dict[str, Any]) -> None:
    without, allowed = (plan(sheet_of(shape, making={"allow_shrinkage": on})) for on in (False, True))
    assert allowed.shell == without.shell
    assert allowed.drainage
    assert without.drainage
    assert replace(allowed.drainage, full=0.0) == replace(without.drainage, full=0.0)  # the metal itself is more
    for one, other in zip(allowed.blanks, without.blanks, strict=True):
        assert one.area == other.area
        assert one.faces == other.faces
        assert [edge.kind for edge in one.edges] == [edge.kind for edge in other.edges]
        assert [fold.angle for fold in one.folds] == [fold.angle for fold in other.folds]
        assert spread(one.net_outline) == pytest.approx(spread(other.net_outline), abs=1e-6)
        assert shapely.Polygon(one.cut_outline).area > shapely.Polygon(other.cut_outline).area
        assert one.mass > other.mass


def spread(outline: Any) -> list[float]:
    return sorted(math.dist(one, other) for i, one in enumerate(outline) for other in outline[i + 1 :])


@pytest.mark.parametrize("shape", [*SHAPES.values(), *FLAT.values()], ids=[*SHAPES, *FLAT])
def test_blanks_that_were_alike_are_alike(shape: dict[str, Any]) -> None:
    without, allowed = (unfold_of(shape, allow_shrinkage=on) for on in (False, True))
    assert [(b.name, b.same_as, b.mirrored) for b in allowed] == [(b.name, b.same_as, b.mirrored) for b in without]
    assert [b.hand_cuts for b in allowed] == [b.hand_cuts for b in without]
    assert [len(b.holes) for b in allowed] == [len(b.holes) for b in without]


def unfold_of(shape: dict[str, Any], **making: Any) -> Any:
    sheet = read_sheet(sheet_of(shape, making=making))
    return unfold(join(sheet.shape.shell(THICKNESS), sheet), sheet)


def test_loose_parts_shrink_nowhere() -> None:
    without, allowed = (unfold_of(FLAT["plates"], allow_shrinkage=on) for on in (False, True))
    assert allowed == without


def test_a_shop_whose_figures_leave_nothing_sound_is_told() -> None:
    """Twenty times the estimate on a pan's corners: walls laid flat would run into each other."""
    own = {**as_json(OFTEN), "across": 20.0}
    with pytest.raises(SheetFaults):
        plan(sheet_of(SHAPES["plain pan"], making={"allow_shrinkage": True, "own_shrinkage": own}))


def test_an_edge_may_lie_outside() -> None:
    square = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    assert take_off(square, [-1.0] * 4) == ((-1.0, -1.0), (11.0, -1.0), (11.0, 11.0), (-1.0, 11.0))
    assert take_off(square, [-4.0, 20.0, -4.0, 0.0]) is None


# --- the figures


def test_what_is_reckoned_with_lies_between_the_published_figures() -> None:
    sheet = read_sheet(sheet_of(SKEW))
    for groove in (0.0, 12.0, 90.0):
        found, length = published_across(sheet, groove), seam_section(sheet, groove) / THICKNESS
        assert (found.low, found.high) == pytest.approx((0.10 * length, 0.2 * length + 0.05 * GAP))
        assert found.likely == pytest.approx(likely_across(groove))
    assert published_along().likely == pytest.approx(0.6333, abs=1e-4)


def test_a_shops_own_figure_is_so_many_times_the_likely_one() -> None:
    own = OwnShrinkage(across=1.5, along=0.5, across_spread=0.25, along_spread=0.3, trays=6)
    sheet = read_sheet(sheet_of(SKEW, making={"own_shrinkage": as_json(own)}))
    likely = published_across(sheet, 20.0).likely
    assert across(sheet, 20.0).likely == pytest.approx(1.5 * likely)
    assert (across(sheet, 20.0).low, across(sheet, 20.0).high) == pytest.approx((likely, 2 * likely))
    assert along(sheet).low == 0.0  # 0.5 less two spreads would be less than nothing


def test_the_published_range_is_told_by_the_same_rule_as_a_shops_own() -> None:
    """Two deviations either way: half of what the formulas differ by, and what trays of a shop differ by (two fifths)."""
    sheet = read_sheet(sheet_of(SKEW))
    for found, formulas in (
        (across(sheet, 20.0), published_across(sheet, 20.0)),
        (along(sheet), published_along()),
    ):
        half = (formulas.high - formulas.low) / 2
        assert found.likely == pytest.approx((formulas.low + formulas.high) / 2)
        assert found.high == pytest.approx(found.likely + 2 * math.hypot(half, 0.4 * found.likely))
        assert found.low == 0.0  # as much either way would be less than nothing


def test_along_of_which_nothing_is_learnt_stands_as_published() -> None:
    own = OwnShrinkage(across=1.5, along=None, across_spread=0.25, along_spread=0.0, trays=6)
    plain, sheet = (read_sheet(sheet_of(SKEW, making={"own_shrinkage": each})) for each in (None, as_json(own)))
    assert sheet.making.own_shrinkage == own
    assert along(sheet) == along(plain)
    assert across(sheet, 20.0) != across(plain, 20.0)
    seams = sheet.shape.shell(THICKNESS).welds
    assert [found.tells_along for each in (sheet, plain) if (found := shrinkage_of(each, seams))] == [False, False]


def test_shrinkage_of_a_plan_weighs_its_seams_by_length() -> None:
    sheet = read_sheet(sheet_of(fall_tray([[0, 0], [600, 0], [600, 400], [0, 400]], [210, 200], 40)))
    shell = sheet.shape.shell(THICKNESS)
    found = shrinkage_of(sheet, shell.welds)
    assert found is not None
    total = sum(joint.length for joint in shell.welds)
    mean = sum(likely_across(joint.groove or 0.0) * joint.length for joint in shell.welds) / total
    assert found.across.likely == pytest.approx(mean)
    assert (found.trays, found.allowed) == (0, False)
    assert shrinkage_of(sheet, ()) is None
