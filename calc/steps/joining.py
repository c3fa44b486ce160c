"""Steps that join blanks to the finished thing: clean, tack, weld, planish, the outlet."""

from collections.abc import Iterator

from calc.seams import SQUARE_BUTT
from calc.shell import WET_FLOORS
from calc.steps.weld_words import filler_words, tack_words, weld_detail
from calc.steps.work import CLEAN_BAND, Step, Work, depth_words, depths_measured, rim_lengths, rim_words
from calc.welding.records import Weld

MEETS_FLAT = 0.05  # [degrees] a groove that would be told as none
IN_TURN = " Runs of all seams go in turn: run the timer on one of these steps, and tick each when its last run is laid."


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
    for seam in work.welds("seam"):
        text = (
            f"Tack {seam.name} on the {seam.side} side, wet edges {gap} apart: {len(seam.tacks)} tacks, "
            f"{'one at each end' if len(seam.tacks) == 2 else 'from the middle outward'}.{work.each}"
        )
        yield work.step(f"tack:{seam.name}", "fit", text, len(seam.tacks) * work.copies, tack_words(seam, work))
    yield work.step(
        "check:tacked",
        "check",
        f"Before any long run: {depth_words(work)}, {rim_words(work)}. True up.{work.each}",
        (rim_lengths(work) + depths_measured(work)) * work.copies,
    )


def weld(work: Work) -> Iterator[Step]:
    """Seams in turn, so that the heat is spread; then the reliefs shut."""
    seams = work.welds("seam")
    for seam in seams:
        filler = filler_words(seam, work.display)
        text = (
            f"Weld {seam.name} {_side(seam)}, {work.length(seam.length)}, {filler}: short back-stepped runs.{work.each}"
        )
        detail = weld_detail(seam, work) + (IN_TURN if len(seams) > 1 else "")
        yield work.step(seam.key, "weld", text, work.copies * seam.length / 1000, detail)
    for reliefs in work.welds("reliefs"):
        filler = filler_words(reliefs, work.display)
        text = f"Weld the reliefs shut from the dry side, {filler}; flush on the wet face.{work.each}"
        yield work.step(reliefs.key, "weld", text, work.copies * reliefs.length / 1000, weld_detail(reliefs, work))


def _side(seam: Weld) -> str:
    """Where a seam is welded from and why, and what it looks like there."""
    opening = seam.groove or 0.0
    side = (
        "from the wet side, as chosen, dressed flush"
        if seam.side == "wet"
        else "from the dry side, the wet one kept free"
    )
    if abs(opening) < MEETS_FLAT:
        return f"{side} (edges meet flat: a square butt)"
    if seam.side == "wet":
        return f"{side} (edges open {abs(opening):.1f} degrees {'upward' if opening < 0 else 'on the dry side'})"
    if opening < 0:
        return f"{side} (a ridge, bevelled; square it opens {-opening:.1f} degrees upward)"
    form = "a square butt" if opening <= SQUARE_BUTT else "allow for filler"
    return f"{side} (edges open {opening:.1f} degrees: {form})"


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
    for fitting in work.welds("outlet"):
        filler = filler_words(fitting, work.display)
        text = f"Weld the outlet fitting on from the dry side, below the floor so that nothing stands, {filler}.{work.each}"
        yield work.step(
            fitting.key, "outlet", text, work.copies, f"{tack_words(fitting, work)} {weld_detail(fitting, work)}"
        )
