"""The weld plan: what holds of any shape's welds, and what it says of filler, process, side, bench and faults."""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from calc import Plan, SheetFaults, plan, read_sheet
from calc.drawing import weld_map
from calc.joins import join
from calc.marking import mark_out
from calc.papers.run_lines import tack_lines
from calc.papers.weld_lines import warmth_words, weld_lines
from calc.records import Point3, as_json, from_json
from calc.shell import Shell
from calc.steps.weld_words import setting_words
from calc.tables.heat import conduction_of
from calc.tables.welding import listed_settings
from calc.turns import in_turn, spread
from calc.unfold import unfold
from calc.welding import filler_masses, plan_welds
from calc.welding.records import Run, Weld, WeldPlan
from calc.welding.weld import pace_of
from tests.calc.test_drawing import MM, texts
from tests.shapes import (
    FLAT,
    METAL,
    MIRROR,
    NAMED,
    SKEW,
    SUMPS,
    VALLEYS,
    fall_tray,
    fall_trays,
    finished_trays,
    pan,
    pans,
    ring,
    sheet_of,
    sump_trays,
    valley_trays,
)

SHAPES = {
    **NAMED,
    **VALLEYS,
    **{f"sump {name}": shape for name, shape in SUMPS.items()},
    "pan": pan(600, 400, 80, return_width=20),
    "ring": ring(12),
    "lap": {**SKEW, "rim_finish": {"kind": "lap", "width": 25}},
}
GOES = (("seam", "reliefs"), ("outlet",), ("rim",))  # kinds that are welded, and numbered, in one go


def welded(shape: dict[str, Any], **keys: Any) -> tuple[Shell, WeldPlan]:
    """The shell of a shape and its weld plan, nothing laid out. Leaves out what can't be made."""
    try:
        sheet = read_sheet(sheet_of(shape, **keys))
        shell = join(sheet.shape.shell(sheet.material.thickness), sheet)
        blanks = mark_out(unfold(shell, sheet), sheet.making.display)
    except SheetFaults:
        assume(False)
    welding = plan_welds(sheet, shell, blanks)
    assert welding is not None
    return shell, welding


def of_kind(welding: WeldPlan, *kinds: str) -> list[Weld]:
    return [weld for weld in welding.welds if weld.kind in kinds]


def stretches(weld: Weld) -> list[tuple[float, float]]:
    """From where to where runs of a weld go on past each other: between corners of the rim, quarters of an outlet, a seam."""
    if weld.kind == "rim":
        ends = [0.0]
        for start, end in pairwise((*weld.line, weld.line[0])):
            ends.append(ends[-1] + math.dist(start, end))
        return list(pairwise(ends))
    if weld.kind == "outlet":
        return [(weld.length * i / 4, weld.length * (i + 1) / 4) for i in range(4)]
    return [(0.0, weld.length)]


def within(runs: Sequence[Run], start: float, end: float) -> list[Run]:
    return [run for run in runs if start < (run.begins + run.ends) / 2 < end]


def assert_covered(weld: Weld) -> None:
    """Runs lie end to end from the start of a weld to its end: each bit of it is welded once."""
    spans = sorted(sorted((run.begins, run.ends)) for run in weld.runs)
    assert spans[0][0] == 0.0
    assert spans[-1][1] == pytest.approx(weld.length)
    for (_, end), (start, _) in pairwise(spans):
        assert start == pytest.approx(end)


def assert_back_stepped(weld: Weld, longest: float) -> None:
    """From the middle of each stretch outward, each run begun at its outer end; it ends where the one before it began."""
    for start, end in stretches(weld):
        here = sorted(within(weld.runs, start, end), key=lambda run: run.turn)
        lengths = {round(abs(run.ends - run.begins), 6) for run in here}
        assert max(lengths) - min(lengths) < 1e-4  # even
        assert max(lengths) <= longest + 1e-6
        for way in (1, -1):
            half = [run for run in here if (run.begins - run.ends) * way > 0]
            for before, after in pairwise(half):
                assert after.ends == pytest.approx(before.begins)
                assert (after.begins - before.begins) * way > 0
        if len(here) > 1:
            inmost = [run.ends for way in (1, -1) for run in here if (run.begins - run.ends) * way > 0][:1]
            assert inmost[0] == pytest.approx((start + end) / 2, abs=max(lengths) / 2 + 1e-6)


def assert_in_space(weld: Weld) -> None:
    """Of a straight weld: a run lies on its line, as far along as its figures say."""
    start, end = weld.line
    for run in weld.runs:
        for along, point in zip((run.begins, run.ends), run.line, strict=True):
            expected = [a + (b - a) * along / weld.length for a, b in zip(start, end, strict=True)]
            assert point == pytest.approx(expected, abs=1e-6)


def assert_tacked(weld: Weld, pitch: float) -> None:
    """Both ends, even, no farther apart than the pitch; outward from the middle, so that each lies next to a tacked one."""
    places = sorted(tack.at for tack in weld.tacks)
    assert places[0] == 0.0
    assert places[-1] == pytest.approx(weld.length)
    gaps = [b - a for a, b in pairwise(places)]
    assert max(gaps) <= pitch + 1e-6
    assert max(gaps) - min(gaps) < 1e-6
    assert [tack.turn for tack in weld.tacks] == list(range(1, len(places) + 1))
    far = [abs(tack.at - weld.length / 2) for tack in weld.tacks]
    assert far == pytest.approx(sorted(far))
    sides = [
        math.copysign(1, tack.at - weld.length / 2) for tack in weld.tacks if abs(tack.at - weld.length / 2) > 1e-6
    ]
    assert all(one == -other for one, other in zip(sides[::2], sides[1::2], strict=True))  # one on each side in turn


def assert_sound(shell: Shell, welding: WeldPlan, *, longest: float, pitch: float) -> None:
    assert [weld.name for weld in of_kind(welding, "seam")] == [joint.name for joint in in_turn(shell.welds, shell)]
    kinds = [weld.kind for weld in welding.welds]
    assert kinds == sorted(kinds, key=("seam", "reliefs", "outlet", "rim").index)
    for kind in GOES:
        turns = sorted(run.turn for weld in of_kind(welding, *kind) for run in weld.runs)
        assert turns == list(range(1, len(turns) + 1))
    for weld in welding.welds:
        assert_covered(weld)
        if weld.kind != "reliefs":
            assert_back_stepped(weld, longest)
        if weld.kind == "seam":
            assert_in_space(weld)
            assert_tacked(weld, pitch)
            assert weld.line[0][2] >= weld.line[1][2] - 1e-9
        assert weld.why
        assert weld.rule
        assert weld.form
        figures = (weld.section, weld.heat, weld.arc_minutes, weld.elapsed_minutes, weld.filler_mass, weld.gas_litres)
        assert all(math.isfinite(figure) and figure > 0 for figure in figures)
    seams = max((run.turn for weld in of_kind(welding, "seam") for run in weld.runs), default=0)
    assert all(run.turn > seams for weld in of_kind(welding, "reliefs") for run in weld.runs)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("joins", ["weld-all", "fewest-welds"])
def test_the_welds_of_every_shape_are_sound(name: str, joins: str) -> None:
    shell, welding = welded(SHAPES[name], making={"joins": joins})
    assert_sound(shell, welding, longest=75.0, pitch=40.0)


any_shape = st.one_of(fall_trays(), finished_trays(), valley_trays(), sump_trays(), pans())


@given(any_shape, st.sampled_from(("weld-all", "fewest-welds")), st.sampled_from(("TIG", "MIG")))
@settings(max_examples=40, deadline=None)
def test_the_welds_of_any_shape_are_sound(shape: dict[str, Any], joins: str, process: str) -> None:
    made = welded(
        shape, making={"joins": joins, "process": process, "tack_pitch": 55}, material={**METAL, "thickness": 2}
    )
    assert_sound(*made, longest=100.0, pitch=55.0)


@pytest.mark.parametrize("name", ["skew", "reflex", "sump five", "ring"])
def test_a_closed_weld_is_tacked_all_round(name: str) -> None:
    """At every corner of the rim and every quarter of the fitting, even between them; opposite stretches in turn."""
    _, welding = welded(SHAPES[name], making={"tack_pitch": 60})
    for weld in of_kind(welding, "outlet", "rim"):
        places = sorted(tack.at for tack in weld.tacks)
        for start, end in stretches(weld):
            here = [at for at in places if start - 1e-6 < at < end - 1e-6]
            assert here[0] == pytest.approx(start)
            gaps = [b - a for a, b in pairwise((*here, end))]
            assert max(gaps) <= 60 + 1e-6
            assert max(gaps) - min(gaps) < 1e-6
        assert [tack.turn for tack in weld.tacks] == list(range(1, len(places) + 1))
        first = [next(i for i, (a, b) in enumerate(stretches(weld)) if a - 1e-6 < tack.at < b) for tack in weld.tacks]
        count = len(stretches(weld))
        assert sorted(first[:count]) == list(range(count))  # each stretch is tacked once before any is tacked again


# --- order


def test_each_place_is_as_far_as_can_be_from_the_last_two() -> None:
    """On a line: from 0 to the far end, then to what is farther from the last than half as far from the one before."""
    line: list[list[Point3]] = [[(x, 0.0, 0.0)] for x in (0.0, 10.0, 45.0, 100.0)]
    assert [place for place, _ in spread(line, 0)] == [0, 3, 2, 1]  # 45: min(90, 55); 10: min(20, 90)


def test_places_of_a_queue_keep_their_order() -> None:
    queues: list[list[Point3]] = [[(float(x), float(y), 0.0) for x in range(5)] for y in range(3)]
    for number in range(3):
        assert [place for queue, place in spread(queues, 1) if queue == number] == list(range(5))


@pytest.mark.parametrize("name", SHAPES)
def test_runs_in_this_order_meet_cooler_metal(name: str) -> None:
    """Than the same runs made seam after seam from end to end: so says the thin plate of Carslaw and Jaeger."""
    _, welding = welded(SHAPES[name])
    assert 0 < welding.warmth.mean < 0.6 * welding.plain_warmth.mean
    assert welding.warmth.worst < 0.75 * welding.plain_warmth.worst


def starts_by_hand(made: Plan, welding: WeldPlan, kinds: tuple[str, ...]) -> list[float]:
    """How warm [K] each run finds its place, summed run by run: each earlier one a line of heat half-way through its arc time.

    Carslaw and Jaeger, Conduction of Heat in Solids, 10.3: q / (4 pi k t) exp(-r^2 / (4 a t)).
    """
    metal, thick = made.sheet.material.properties, made.sheet.material.thickness / 1000
    carries = conduction_of(metal)
    a = carries.conductivity / (metal.density * carries.capacity)
    runs = sorted(
        ((run.turn, run, weld) for weld in of_kind(welding, *kinds) for run in weld.runs), key=lambda one: one[0]
    )
    earlier, now, found = list[tuple[float, float, Point3]](), 0.0, []
    for _, run, weld in runs:
        now += run.pause * 60
        warm = 0.0
        for when, heat, place in earlier:
            r = math.dist(run.line[0], place) / 1000
            spread_out = 4 * a * (now - when)
            warm += heat / thick / (4 * math.pi * carries.conductivity * (now - when)) * math.exp(-(r**2) / spread_out)
        found.append(warm)
        length = abs(run.ends - run.begins)
        middle = tuple((one + other) / 2 for one, other in zip(*run.line, strict=True))
        earlier.append(
            (now + length / weld.setting.travel * 30, weld.heat * length * 1000, (middle[0], middle[1], middle[2]))
        )
        pace = pace_of(weld)
        now += length * pace.minutes * 60
    return found


@pytest.mark.parametrize(("alloy", "interpass"), [("5052-H32", 90), ("304", 150), ("DC01", 250)])
@pytest.mark.parametrize("name", ["skew", "five", "sump triangle", "pan"])
def test_no_run_begins_hotter_than_metal_may_be_or_than_in_the_plain_order(
    name: str, alloy: str, interpass: float
) -> None:
    """Interpass temperatures by common practice and EN 1011-3, from memory, over a shop at 20 degrees."""
    shape = {"sump triangle": SUMPS["triangle"], "pan": pan(600, 400, 80)}.get(name) or NAMED[name]
    made = plan(sheet_of(shape, material={"alloy": alloy, "thickness": 1.5}))
    welding = made.welding
    assert welding is not None
    goes = [starts_by_hand(made, welding, kinds) for kinds in (("seam", "reliefs"), ("outlet",), ("rim",))]
    by_hand = [warm for go in goes for warm in go]
    assert max(by_hand) == pytest.approx(welding.warmth.worst)
    assert math.fsum(by_hand) / len(by_hand) == pytest.approx(welding.warmth.mean)
    assert max(by_hand) <= interpass - 20
    assert max(by_hand) <= welding.plain_warmth.worst
    count, minutes = welding.pauses
    waits = [run.pause for weld in welding.welds for run in weld.runs if run.pause]
    assert (count, minutes) == (len(waits), pytest.approx(sum(waits)))
    told = [step.detail for step in made.steps if "Let the metal cool before" in step.detail]
    assert bool(told) == bool(waits) == (f"Before {count} of the runs it is let cool" in warmth_words(made, welding))
    assert sum(detail.count(" min)") for detail in told) == count


def test_some_run_waits_in_stainless_and_no_longer_than_it_must() -> None:
    made = plan(sheet_of(NAMED["five"], material={"alloy": "304", "thickness": 1.5}))
    assert made.welding is not None
    assert made.welding.pauses[0] > 0
    seams = ("seam", "reliefs")
    runs = sorted((run.turn, run.pause) for weld in of_kind(made.welding, *seams) for run in weld.runs)
    turn, pause = next((turn, pause) for turn, pause in runs if pause)
    welds = tuple(
        replace(weld, runs=tuple(replace(run, pause=pause - 0.5) if run.turn == turn else run for run in weld.runs))
        if weld.kind in seams
        else weld
        for weld in made.welding.welds
    )
    limit = min(150 - 20, made.welding.plain_warmth.worst)
    assert starts_by_hand(made, replace(made.welding, welds=welds), seams)[turn - 1] > limit


def test_of_several_the_wait_is_told_as_of_each() -> None:
    """The sums beside it are of all the job, the pauses of one: in every tray the same runs wait as long."""
    one, three = (
        plan(sheet_of(NAMED["five"], material={"alloy": "304", "thickness": 1.5}, quantity=quantity))
        for quantity in (1, 3)
    )
    assert one.welding is not None
    assert three.welding is not None
    assert one.welding.pauses == three.welding.pauses
    count, minutes = one.welding.pauses
    assert f"Before {count} of the runs it is let cool, {minutes:g} min in all" in warmth_words(one, one.welding)
    told = f"Before {count} of the runs on each of the 3 it is let cool, {minutes:g} min in all"
    assert told in warmth_words(three, three.welding)


def test_the_same_sheet_gives_the_same_welds() -> None:
    assert welded(NAMED["five"]) == welded(NAMED["five"])


# --- what each weld is


def seam_of(shape: dict[str, Any], **making: Any) -> Weld:
    _, welding = welded(shape, making=making)
    return welding.welds[0]


def test_what_the_edges_are_like_and_where_they_are_welded_from() -> None:
    shell, welding = welded(NAMED["reflex"])
    joints = {joint.name: joint for joint in shell.welds}
    for weld in of_kind(welding, "seam"):
        opening = 180.0 - joints[weld.name].dihedral
        # common practice: up to 20 degrees a square butt
        wanted = "ridge" if opening < 0 else "square butt" if opening <= 20 else "allow for filler"
        assert wanted in weld.form
        assert weld.side == "dry"
        assert "stands" in weld.why
    assert any("ridge" in weld.form for weld in welding.welds)
    assert "allow for filler" in seam_of({**SKEW, "depth": 200}).form
    (rim,) = of_kind(welding, "rim")
    assert (rim.form, rim.side, rim.root_gap) == ("fillet", "dry", 0.0)
    assert "underneath" in rim.why


def test_the_wet_side_is_welded_where_it_is_chosen() -> None:
    made = plan(sheet_of(SKEW, making={"weld_side": "wet"}))
    assert made.welding is not None
    assert {weld.kind: weld.side for weld in made.welding.welds} == {"seam": "wet", "outlet": "dry", "rim": "wet"}
    text = {step.key: step.text for step in made.steps}
    assert "from the wet side, as chosen" in text[made.welding.welds[0].key]
    assert "from above, as chosen" in text["weld:rim"]
    for weld in of_kind(made.welding, "seam"):
        open_far = (weld.groove or 0.0) > 20  # degrees, past a square butt (common practice)
        assert ("fuse it right through" in weld.why) == open_far
        assert ("inside corner" in weld.form) == open_far


def test_from_the_wet_side_filler_and_shrinkage_are_of_what_is_filled_there() -> None:
    shape = {**SKEW, "depth": 200}
    dry, wet = (plan(sheet_of(shape, making={"weld_side": side})) for side in ("dry", "wet"))
    assert dry.welding is not None
    assert wet.welding is not None
    below, above = (dict(zip(*_sections(made), strict=True)) for made in (dry.welding, wet.welding))
    filled = 0.5 * 1.5 + 2 / 3 * (0.3 * 1.5) * (3 * 1.5 + 0.5)  # a gap of 0.5 and a cap; nothing of the opening
    assert list(above.values()) == pytest.approx([filled] * len(above))
    assert any(below[name] > 1.5 * filled for name in above)
    assert wet.welding.rods < dry.welding.rods
    assert wet.welding.shrinkage is not None
    assert dry.welding.shrinkage is not None
    assert wet.welding.shrinkage.across.likely < dry.welding.shrinkage.across.likely
    told = [line.edges for line in weld_lines(wet.welding, wet.sheet.making.display) if "opens" in line.edges]
    assert told
    assert all("stays open" in edges and "allow for filler" not in edges for edges in told)
    assert any("Seams: welded from the wet side (from above)" in text for text in texts(weld_map(wet, MM)))
    assert any("Seams: welded from the dry side (underneath)" in text for text in texts(weld_map(dry, MM)))


def _sections(welding: WeldPlan) -> tuple[list[str], list[float]]:
    seams = of_kind(welding, "seam")
    return [seam.name for seam in seams], [seam.section for seam in seams]


def test_a_weld_of_each_kind_is_there_and_as_long_as_it_should_be() -> None:
    """600 x 400, 32 outlet: the rim 2000, the fitting pi 32; reliefs only where folds meet."""
    _, welding = welded({**MIRROR, "outlet": {"bore": 32}})
    lengths = {weld.key: weld.length for weld in welding.welds if weld.kind != "seam"}
    assert lengths == {"outlet:fitting": pytest.approx(math.pi * 32), "weld:rim": pytest.approx(2000)}
    _, folded = welded(SHAPES["pan"])
    reliefs = of_kind(folded, "reliefs")
    assert len(reliefs) == 1
    assert [run.line for run in sorted(reliefs[0].runs, key=lambda run: run.begins)] == [
        (spot, spot) for spot in reliefs[0].line
    ]


def test_figures_of_a_seam_by_hand() -> None:
    """1.5 mm 5052 by TIG: 1.5/1.6 of 60 to 80 A (handbooks), 10 + 0.04 I volts, 0.6 U I / (1000 v), 400 mm/min, 1.6 rods of a
    metre, 15 % of them stubs."""
    weld = seam_of(fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 200], 60), seam_gap=1)
    length = math.hypot(200, 200, 60)
    amps = 70 * 1.5 / 1.6
    assert weld.length == pytest.approx(length)
    assert weld.setting.volts == pytest.approx(10 + 0.04 * amps)
    assert weld.heat == pytest.approx(0.6 * (10 + 0.04 * amps) * amps / (1000 * 400 / 60))
    assert weld.arc_minutes == pytest.approx(length / 400)
    assert weld.elapsed_minutes == pytest.approx(2 + 7 * length / 1000)
    assert weld.groove is not None
    section = 1.5**2 * math.tan(math.radians(weld.groove) / 2) + 1 * 1.5 + 2 / 3 * (0.3 * 1.5) * (3 * 1.5 + 1)
    assert weld.section == pytest.approx(section)
    assert weld.rods == pytest.approx(section * length / 0.85 / (math.pi * 0.8**2 * 1000))
    assert weld.wire == 0.0
    starts = len(weld.runs) + len(weld.tacks)
    assert weld.gas_litres == pytest.approx((length / 400 + starts * (0.5 + amps / 10) / 60) * 7)


def test_mig_takes_wire_and_its_own_gas_and_pace() -> None:
    made = plan(sheet_of(SKEW, making={"process": "MIG"}, material={"alloy": "DC01", "thickness": 2}))
    by_tig = plan(sheet_of(SKEW, material={"alloy": "DC01", "thickness": 2}))
    assert made.welding is not None
    assert by_tig.welding is not None
    assert made.welding.rods == 0.0
    weld = made.welding.welds[0]
    lines = [line.what for line in made.cost.lines if line.kind == "supplies"]
    assert "Argon with 18 % CO2" in lines
    assert "Argon" not in lines
    assert made.welding.arc_minutes < by_tig.welding.arc_minutes
    minutes = [sum(step.minutes for step in one.steps if step.kind == "weld") for one in (made, by_tig)]
    assert minutes[0] < minutes[1]
    assert "ER70S-6 wire 1 mm" in next(step.text for step in made.steps if step.key == weld.key)


def test_what_the_wire_feed_gives_is_in_the_welds() -> None:
    """Volume = feed x arc x section of wire. 2 mm 5083 is a quarter of the way from the row of 1.6 mm (6 m/min of 1.0 wire)
    to that of 3.2 (6 m/min of 1.2), from memory; 5 % is spatter and ends (common practice)."""
    made = plan(sheet_of(SKEW, making={"process": "MIG"}, material={"alloy": "5083-H111", "thickness": 2}))
    assert made.welding is not None
    melted = 6000 * math.pi * (0.75 * 0.5**2 + 0.25 * 0.6**2)  # [mm3/min]
    feed = melted / (math.pi * 0.6**2) / 1000
    assert 4 < feed < 5  # [m/min] of 1.2 mm aluminium wire at 90 A, from memory
    for weld in made.welding.welds:
        assert weld.setting.feed == pytest.approx(feed)
        assert weld.setting.middle_amps == pytest.approx(90)
        assert weld.wire == pytest.approx(feed * weld.arc_minutes)
        volume = weld.setting.feed * 1000 * weld.arc_minutes * math.pi * 0.6**2
        assert weld.filler_mass == pytest.approx(volume * 2660e-9)  # ER5183, 2660 kg/m3
        assert volume * 0.95 >= weld.section * weld.length * (1 - 1e-9)
        assert f"wire feed about {feed:.1f} m/min" in next(step.detail for step in made.steps if step.key == weld.key)
    assert made.takeoff.filler_mass == pytest.approx(sum(weld.filler_mass for weld in made.welding.welds))
    filler = next(line for line in made.cost.lines if line.what == "Filler ER5183")
    assert float(filler.quantity) == pytest.approx(made.welding.filler_mass, abs=5e-4)


def test_a_groove_that_the_wire_would_not_fill_is_welded_slower() -> None:
    """A pan's corners stand square: their edges open by 90 degrees and hold t^2 more than a butt; in 4 mm that is more than
    6 to 10 m/min of 1.2 mm wire lay at the row's travel."""
    made = plan(sheet_of(pan(600, 400, 80), making={"process": "MIG"}, material={"alloy": "5083-H111", "thickness": 4}))
    assert made.welding is not None
    row = listed_settings("aluminium", 4.0, "MIG")
    slower = [weld for weld in made.welding.welds if weld.setting.travel < row.travel - 1e-9]
    assert slower
    for weld in slower:
        travel = 0.95 * row.feed * 1000 * math.pi * 0.6**2 / weld.section
        assert weld.setting.travel == pytest.approx(travel)
        assert weld.arc_minutes == pytest.approx(weld.length / travel)
        assert weld.wire * 1000 * math.pi * 0.6**2 * 0.95 == pytest.approx(weld.section * weld.length)
        assert weld.heat == pytest.approx(
            0.8 * weld.setting.volts * weld.setting.middle_amps * 60 / (1000 * travel)
        )  # EN 1011-1
        assert weld.elapsed_minutes == pytest.approx(2 + 7 * weld.length / 1000 * 400 / travel)
        starts = (len(weld.runs) + len(weld.tacks)) * 1.5 / 60  # half a second of gas before each, a second after
        assert weld.gas_litres == pytest.approx((weld.length / travel + starts) * weld.setting.gas_flow[1])
        step = next(step for step in made.steps if step.key == weld.key)
        assert step.minutes == pytest.approx(weld.elapsed_minutes)


@pytest.mark.parametrize("quantity", [1, 3])
def test_sums_are_of_every_fabrication_and_agree_with_takeoff_cost_and_steps(quantity: int) -> None:
    made = plan(sheet_of(SUMPS["five"], quantity=quantity))
    welding = made.welding
    assert welding is not None
    for part in ("rods", "wire", "filler_mass", "gas_litres", "arc_minutes"):
        total = quantity * sum(getattr(weld, part) for weld in welding.welds)
        assert getattr(welding, part) == pytest.approx(total)
    assert made.takeoff.filler_mass == welding.filler_mass
    assert made.takeoff.weld_length == pytest.approx(quantity * sum(weld.length for weld in welding.welds))
    minutes = {step.key: step.minutes for step in made.steps}
    assert welding.elapsed_minutes == pytest.approx(sum(minutes[weld.key] for weld in welding.welds))
    supplies = {line.what: float(line.quantity) for line in made.cost.lines if line.kind == "supplies"}
    assert supplies["Filler ER5356"] == pytest.approx(welding.filler_mass, abs=5e-4)
    assert supplies["Argon"] == pytest.approx(welding.gas_litres, abs=0.5)
    assert sum(filler_masses(welding.welds, quantity).values()) == pytest.approx(welding.filler_mass)


# --- details of the steps


def test_steps_tell_settings_tacks_and_runs_beside_their_words() -> None:
    made = plan(sheet_of(SKEW))
    assert made.welding is not None
    steps = {step.key: step for step in made.steps}
    for weld in made.welding.welds:
        step = steps[weld.key]
        assert "56 to 75 A" in step.detail
        assert "argon 6 to 7 l/min" in step.detail
        assert weld.filler in step.text
        assert "1.6 mm" in step.text
        if weld.kind == "seam":
            numbers = ", ".join(str(turn) for turn in sorted(run.turn for run in weld.runs))
            assert f"numbers {numbers} (Weld map: runs)" in step.detail
            tacks = steps[f"tack:{weld.name}"].detail
            assert tacks.startswith(f"{len(weld.tacks)} tacks, ")
            assert "its upper end" in tacks
    assert all(not step.detail for step in made.steps if step.kind in ("mark", "cut", "dress", "check", "planish"))


def test_a_seam_that_ends_at_the_rim_is_clamped_there_before_it_is_tacked() -> None:
    """The budget has rim ends together first, tacks go from the middle outward: clamps hold the ends, and both say so."""
    for shape in (SKEW, SUMPS["five"], VALLEYS["level"]):
        made = plan(sheet_of(shape))
        assert made.welding is not None
        assert made.budget is not None
        assert "rim end of each seam clamped there before it is tacked" in made.budget.words
        ends = []
        for weld in of_kind(made.welding, "seam"):
            detail = next(step.detail for step in made.steps if step.key == f"tack:{weld.name}")
            at_rim = max(weld.line[0][2], weld.line[-1][2]) == 0.0  # the rim is the plane at height 0
            assert ("Clamp its rim end" in detail) is at_rim
            ends.append(at_rim)
            far = [abs(tack.at - weld.length / 2) for tack in weld.tacks]
            assert far[-2:] == pytest.approx([weld.length / 2] * 2)  # the ends last
        assert any(ends)


def test_how_far_tacks_are_apart_is_one_figure_wherever_it_is_told() -> None:
    """A rim of 600 by 400 with a pitch of 70: nine gaps of 66.7 on a long side, six of 66.7 on a short one; by 390, of 65."""
    for width, told in ((400, "66.5 mm apart"), (390, "65 to 66.5 mm apart by side")):
        shape = fall_tray([[0, 0], [600, 0], [600, width], [0, width]], [300, 200], 60)
        made = plan(sheet_of(shape, making={"tack_pitch": 70}))
        assert made.welding is not None
        display = made.sheet.making.display
        steps = {step.key: step for step in made.steps}
        assert f"30 tacks, {told} and one at each corner" in steps["weld:rim"].detail
        rim = next(line for line in tack_lines(made, made.welding, display) if line.name == "Rim")
        assert rim.places.startswith(f"{told}, each side")
        for weld in of_kind(made.welding, "seam"):
            step = steps[f"tack:{weld.name}"]
            apart = weld.length / (len(weld.tacks) - 1)
            assert f"{len(weld.tacks)} tacks, {display.length(apart)} apart;" in step.detail
            assert "every" not in step.text
            how = "one at each end" if len(weld.tacks) == 2 else "from the middle outward"
            assert f"{len(weld.tacks)} tacks, {how}." in step.text


def test_steps_of_seams_say_when_they_are_timed_and_ticked() -> None:
    """Their runs go in turn over all of them; where there is but one seam, there is nothing to say."""
    made = plan(sheet_of(SKEW))
    assert made.welding is not None
    details = {step.key: step.detail for step in made.steps}
    for weld in made.welding.welds:
        in_turn_with_others = "tick each when its last run is laid" in details[weld.key]
        assert in_turn_with_others == (weld.kind == "seam")
    one = plan(sheet_of(SKEW, making={"joins": "fewest-welds"}))
    assert one.welding is not None
    assert len(of_kind(one.welding, "seam")) == 1
    assert not any("tick each when" in step.detail for step in one.steps)


def test_a_level_seam_is_measured_from_the_end_nearer_a_corner() -> None:
    made = plan(sheet_of(VALLEYS["level"]))
    assert made.welding is not None
    level = [weld for weld in of_kind(made.welding, "seam") if weld.line[0][2] == weld.line[1][2]]
    assert level
    for weld in level:
        detail = next(step.detail for step in made.steps if step.key == f"tack:{weld.name}")
        assert "its end nearer corner" in detail


# --- filler, bench, faults


def fillers(made: Plan) -> dict[str, str]:
    assert made.welding is not None
    return {weld.kind: weld.filler for weld in made.welding.welds}


def test_the_rim_takes_a_rod_that_suits_the_bench_too() -> None:
    stainless = {"alloy": "304", "thickness": 1.5}
    made = plan(sheet_of(SKEW, material=stainless, bench={"alloy": "S235JR", "thickness": 8}))
    assert fillers(made) == {"seam": "ER308L", "outlet": "ER308L", "rim": "ER309L"}  # handbooks: stainless to mild
    lines = {line.what for line in made.cost.lines if line.kind == "supplies"}
    assert {"Filler ER308L", "Filler ER309L"} <= lines
    rim = next(step for step in made.steps if step.key == "weld:rim")
    assert "which is of S235JR" in rim.text
    assert "keep the arc on it" in rim.detail
    assert "bench-unknown" not in codes(made)
    unknown = plan(sheet_of(SKEW, material=stainless))
    assert "bench-unknown" in codes(unknown)
    assert fillers(unknown)["rim"] == "ER308L"


def codes(made: Plan) -> list[str]:
    return [warning.code for warning in made.warnings]


def faults(shape: dict[str, Any], **keys: Any) -> list[tuple[str, str]]:
    with pytest.raises(SheetFaults) as caught:
        plan(sheet_of(shape, **keys))
    return [(fault.path, fault.text) for fault in caught.value.faults]


def test_metal_that_no_rod_joins_to_the_bench_is_a_fault_of_the_bench() -> None:
    ((path, text),) = faults(SKEW, bench={"alloy": "DC01"})
    assert path == "sheet.bench.alloy"
    assert "5052-H32" in text
    assert "(got DC01)" in text
    assert "6061-T6" in text  # what would do
    assert "lap" in text
    lapped = plan(sheet_of(SHAPES["lap"], bench={"alloy": "DC01"}))  # nothing is welded to it
    assert "rim" not in fillers(lapped)


def test_service_too_hot_for_any_rod_is_a_fault_of_the_service_temperature() -> None:
    """Rods for 5083 have over 3 % magnesium: not above 65 °C (welding handbooks)."""
    hot = {"service_temperature": 80}
    ((path, text),) = faults(SKEW, material={"alloy": "5083-H111", "thickness": 2}, making=hot)
    assert path == "sheet.making.service_temperature"
    assert "at most 65" in text
    assert "(got 80" in text
    assert "5052-H32" in text  # ER5554 stands it
    ((path, text),) = faults(SKEW, bench={"alloy": "5083-H111"}, making=hot)
    assert path == "sheet.making.service_temperature"
    assert "to 5083-H111" in text
    assert plan(sheet_of(FLAT["one"], material={"alloy": "5083-H111", "thickness": 2}, making=hot)).welding is None


def test_hot_service_takes_another_rod_and_says_so() -> None:
    made = plan(sheet_of(SKEW, making={"service_temperature": 66}))
    assert set(fillers(made).values()) == {"ER5554"}
    assert "hot-service" in codes(made)
    edge = plan(sheet_of(SKEW, making={"service_temperature": 65}))
    assert set(fillers(edge).values()) == {"ER5356"}
    assert "hot-service" not in codes(edge)


def test_cautions_stand_where_they_matter() -> None:
    thin, thick = ({"alloy": "5052-H32", "thickness": thickness} for thickness in (1.2, 1.5))
    assert "mig-thin" in codes(plan(sheet_of(SKEW, material=thin, making={"process": "MIG"})))
    assert "mig-thin" not in codes(plan(sheet_of(SKEW, material=thick, making={"process": "MIG"})))
    assert "mig-thin" not in codes(plan(sheet_of(SKEW, material=thin)))
    assert "weld-guess" in codes(plan(sheet_of(SKEW, material={"alloy": "5052-H32", "thickness": 6})))
    by_mig = sheet_of(SKEW, material={"alloy": "5052-H32", "thickness": 6}, making={"process": "MIG"})
    assert "weld-guess" not in codes(plan(by_mig))  # the MIG rows go to 6.4 mm


# --- stored and read again


def test_a_stored_plan_has_its_welds_again() -> None:
    made = plan(sheet_of(SUMPS["skew"], quantity=2))
    data = made.as_json()
    again = Plan.from_json(data)
    assert again.as_json() == data
    assert again.welding is not None
    assert [weld.key for weld in again.welding.welds] == [weld.key for weld in again.weld_plan.welds]  # type: ignore[union-attr]
    assert from_json(WeldPlan, as_json(made.welding)) == from_json(WeldPlan, data["welding"])


def test_a_plan_of_an_earlier_day_has_its_welds_worked_out_anew() -> None:
    made = plan(sheet_of(SKEW))
    data = made.as_json()
    del data["welding"]
    for step in data["steps"]:
        del step["detail"]
    old = Plan.from_json(data)
    assert old.welding is None
    assert old.weld_plan is not None
    assert as_json(old.weld_plan, 3) == as_json(replace(made).weld_plan, 3)
    assert all(step.detail == "" for step in old.steps)


def test_a_stored_setting_without_a_wire_feed_is_read_and_tells_none() -> None:
    made = plan(sheet_of(SKEW, making={"process": "MIG"}))
    data = made.as_json()
    for weld in data["welding"]["welds"]:
        del weld["setting"]["feed"]
    old = Plan.from_json(data)
    assert old.welding is not None
    assert {weld.setting.feed for weld in old.welding.welds} == {0.0}
    words = setting_words(old.welding.welds[0].setting, "MIG", old.sheet.making.display)
    assert "wire feed" not in words
    assert "wire feed" in setting_words(made.welding.welds[0].setting, "MIG", made.sheet.making.display)  # type: ignore[union-attr]
    assert all(weld.setting.feed == 0.0 for weld in plan(sheet_of(SKEW)).welding.welds)  # type: ignore[union-attr]


@pytest.mark.parametrize("name", FLAT)
def test_loose_parts_have_no_weld_plan(name: str) -> None:
    made = plan(sheet_of(FLAT[name]))
    assert made.welding is None
    assert made.weld_plan is None
    assert made.takeoff.filler_mass == 0.0
