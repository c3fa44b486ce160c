"""Steps that join blanks to the finished thing: clean, tack, weld, planish, the outlet."""

import math
from collections.abc import Iterator

from calc.seams import filler_of
from calc.shell import WET_FLOORS, Joint
from calc.steps.work import CLEAN_BAND, Step, Work, depth_words, depths_measured, rim_lengths, rim_words

SQUARE_BUTT = 20.0  # [degrees] common practice: an opening up to this is welded as a square butt


def fit(work: Work) -> Iterator[Step]:
    """Clean the joints, tack them in turn, prove the rim."""
    metal = work.sheet.material.properties.family
    yield work.step(
        "clean:seams",
        "clean",
        f"Degrease, then brush every joint to bright metal {CLEAN_BAND} mm either side, with a brush kept for {metal}. "
        f"No chlorinated degreaser anywhere near an arc.{work.each}",
        work.takeoff.seam_length / 1000,
    )
    gap = work.display.fine(work.sheet.making.seam_gap)
    for joint in work.seams():
        tacks = max(2, math.ceil(joint.length / work.sheet.making.tack_pitch) + 1)
        text = (
            f"Tack {joint.name} on the dry side, wet edges {gap} apart: {tacks} tacks, from the middle outward, "
            f"every {work.length(work.sheet.making.tack_pitch)}.{work.each}"
        )
        yield work.step(f"tack:{joint.name}", "fit", text, tacks * work.copies)
    yield work.step(
        "check:tacked",
        "check",
        f"Before any long run: {depth_words(work)}, {rim_words(work)}. True up.{work.each}",
        (rim_lengths(work) + depths_measured(work)) * work.copies,
    )


def weld(work: Work) -> Iterator[Step]:
    """Seams in turn, so that the heat is spread; then the reliefs shut."""
    filler = filler_of(work.sheet).name
    for joint in work.seams():
        text = f"Weld {joint.name} {_side(joint)}, {work.length(joint.length)}, {filler}: short back-stepped runs.{work.each}"
        yield work.step(f"weld:{joint.name}", "weld", text, work.copies * joint.length / 1000)
    if around := work.takeoff.relief_weld_length / 1000:
        text = f"Weld the reliefs shut from the dry side, {filler}; flush on the wet face.{work.each}"
        yield work.step("weld:reliefs", "weld", text, around)


def _side(joint: Joint) -> str:
    """Where a seam is welded from and what it looks like there."""
    opening = joint.groove or 0.0
    if opening < 0:
        return f"from the dry side (a ridge, bevelled; square it opens {-opening:.1f} degrees upward)"
    form = "a square butt" if opening <= SQUARE_BUTT else "allow for filler"
    return f"from the dry side (edges open {opening:.1f} degrees: {form})"


def planish(work: Work) -> Iterator[Step]:
    """The pull let out of the seams between facets."""
    for joint in work.seams():
        if not all(work.shell.face(name).role in WET_FLOORS for name in joint.between):
            continue  # a short corner between walls or strips holds itself straight
        text = f"Planish {joint.name} on a dolly to let the pull out; the facets flat again.{work.each}"
        yield work.step(f"planish:{joint.name}", "planish", text, work.copies * joint.length / 1000)


def fit_outlet(work: Work) -> Iterator[Step]:
    """The outlet bored, where no blank held the whole of it, and its fitting welded on."""
    outlet = work.sheet.shape.outlet
    if outlet is None:
        return
    bore = work.display.fine(outlet.bore)
    if work.floor_with_outlet is None:
        is_relief = any(hole.purpose == "outlet" for blank in work.blanks for hole in blank.holes)
        how = f"True the outlet, drilled before folding, to {bore}" if is_relief else f"Bore the outlet {bore}"
        text = f"{how} at {work.sheet.shape.lowest_words}, after welding. Dress the edge.{work.each}"
        yield work.step("outlet:bore", "outlet", text, work.copies)
    yield work.step(
        "outlet:fitting",
        "outlet",
        f"Weld the outlet fitting on from the dry side, below the floor so that nothing stands.{work.each}",
        work.copies,
    )
