"""How much seams shrink as they cool: across, which pulls the faces together, and along.

Across, free to move: 0.10 A/t (Blodgett, Design of Weldments) to 0.2 A/t + 0.05 root opening (from memory), A the section of
weld metal and t the thickness. A/t is a length, so the constants are the same in mm and in inches. Both are for steel and
they differ by two or more; thin aluminium is calibrated by neither.

Along: a fillet 0.8 mm in 3 m, a butt 3 mm in 3 m (allowances of welding handbooks, from memory).

So a figure is a spread, and the shop's own trays correct it. Every spread that is reckoned with is told by one rule: the next
tray lies within it 19 times in 20, two standard deviations either way. By the published formulas one deviation is half of what
they differ by, since they are for steel, and what one tray differs from the next by. What is likely can be put on the blanks:
they are cut so much larger that the seams, when they have shrunk, lie where the shell has them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.records import Outline
from calc.seams import seam_section
from calc.sheet import JobSheet
from calc.shell import Face, Joint, Shell

BLODGETT = 0.10  # of A/t
LATER, OF_OPENING = 0.2, 0.05  # of A/t, of the root opening
ALONG = (0.8 / 3.0, 3.0 / 3.0)  # [mm per m] a fillet's, a butt's
TRAY_TO_TRAY = (
    0.4  # of the figure, one deviation: what trays of a shop differ by before any is measured (wide; no source)
)
SOURCE = (
    "published, 0.10 to 0.20 A/t across (Blodgett and later) and 0.3 to 1 mm a metre along (handbooks, from memory); both for "
    "steel, so their range is taken wider"
)


@dataclass(frozen=True, slots=True)
class Spread:
    """A figure that is not known exactly: the least and the most it is likely to be, and what to reckon with."""

    low: float
    likely: float
    high: float

    def times(self, factor: float) -> "Spread":
        """All three so many times as large."""
        return Spread(self.low * factor, self.likely * factor, self.high * factor)


@dataclass(frozen=True, slots=True)
class Shrinkage:
    """How much seams shrink: across each [mm] and along [mm per m], the likeliest of all seams by length.

    source: where the published figures are from; trays: of the shop's own that corrected them, 0 where too few were measured;
    allowed: whether it is put on the blanks; tells_along: whether those trays told anything of what seams shrink along.
    """

    across: Spread
    along: Spread
    source: str
    trays: int
    allowed: bool
    tells_along: bool = True


def published_across(sheet: JobSheet, groove: float) -> Spread:
    """What the published formulas give across a seam whose edges open by `groove` [degrees]: a spread [mm]."""
    length = seam_section(sheet, groove) / sheet.material.thickness
    low, high = BLODGETT * length, LATER * length + OF_OPENING * sheet.making.seam_gap
    return Spread(low, (low + high) / 2, high)


def published_along() -> Spread:
    """What the published allowances give along a seam [mm per m]."""
    return Spread(ALONG[0], sum(ALONG) / 2, ALONG[1])


def across(sheet: JobSheet, groove: float) -> Spread:
    """What to reckon with across a seam [mm]: the published spread, or the shop's own figure with its spread."""
    published, own = published_across(sheet, groove), sheet.making.own_shrinkage
    return _before(published) if own is None else told(own.across, own.across_spread).times(published.likely)


def along(sheet: JobSheet) -> Spread:
    """What to reckon with along a seam [mm per m]."""
    published, own = published_along(), sheet.making.own_shrinkage
    if own is None or own.along is None:
        return _before(published)
    return told(own.along, own.along_spread).times(published.likely)


def told(times: float, spread: float) -> Spread:
    """A factor with two standard deviations either way, within which it is 19 times in 20; never less than nothing.

    >>> told(1.0, 0.25), told(1.0, 0.75)
    (Spread(low=0.5, likely=1.0, high=1.5), Spread(low=0.0, likely=1.0, high=2.5))
    """
    return Spread(max(times - 2 * spread, 0.0), times, times + 2 * spread)


def _before(published: Spread) -> Spread:
    """What the published formulas say of the next tray, before any is measured."""
    spread = math.hypot(published.high / published.likely - 1, TRAY_TO_TRAY)
    return told(1.0, spread).times(published.likely)


def shrinkage_of(sheet: JobSheet, seams: Sequence[Joint]) -> Shrinkage | None:
    """The shrinkage of these seams, each counted by its length; None where there are none."""
    total = sum(joint.length for joint in seams)
    if not total:
        return None
    spreads = [(across(sheet, joint.groove or 0.0), joint.length / total) for joint in seams]
    mean = Spread(
        *(sum(getattr(spread, part) * share for spread, share in spreads) for part in ("low", "likely", "high"))
    )
    own = sheet.making.own_shrinkage
    return Shrinkage(
        mean,
        along(sheet),
        SOURCE,
        trays=own.trays if own else 0,
        allowed=sheet.making.allow_shrinkage,
        tells_along=own is not None and own.along is not None,
    )


def allowances(shell: Shell, sheet: JobSheet, face: Face, net: Outline) -> tuple[float, ...]:
    """How much farther out each edge of a face is cut for what its seams are likely to shrink [mm]; 0 where none is allowed.

    net: the face's true shape, corners in the order of its loop [mm]. A welded edge goes out by half of what its seam shrinks
    across. An edge on the rim, free or folded to a strip, with a seam at each end goes out by what seams shrink along times
    the height of the face over it (the mean of both ends' heights), so that these come out as long as they should.
    """
    if not sheet.making.allow_shrinkage:
        return (0.0,) * len(net)
    found, more_a_mm = (
        {frozenset(joint.edge): joint for joint in shell.joints_of(face.name)},
        along(sheet).likely / 1000,
    )
    joints = [found.get(frozenset(edge)) for edge in face.edges]
    welded = [joint is not None and joint.kind == "weld" for joint in joints]
    out = []
    for place, joint in enumerate(joints):
        after = (place + 1) % len(joints)
        if joint is not None and joint.kind == "weld":
            out.append(across(sheet, joint.groove or 0.0).likely / 2)
        elif _is_on_rim(shell, face, joint) and welded[place - 1] and welded[after]:
            out.append(more_a_mm * _height(net, place))
        else:
            out.append(0.0)
    return tuple(out)


def _is_on_rim(shell: Shell, face: Face, joint: Joint | None) -> bool:
    """Whether an edge with this joint is free, or the fold to the strip on a face's rim."""
    if joint is None:
        return True
    other = next(name for name in joint.between if name != face.name)
    return face.role != "strip" and shell.face(other).role == "strip"


def _height(net: Outline, place: int) -> float:
    """How high the far ends of both neighbours of an edge lie over it, in the mean [mm]."""
    count = len(net)
    (x, y), (end_x, end_y) = net[place], net[(place + 1) % count]
    far = net[place - 1], net[(place + 2) % count]
    moments = ((end_x - x) * (spot[1] - y) - (end_y - y) * (spot[0] - x) for spot in far)
    return sum(moments) / 2 / math.hypot(end_x - x, end_y - y)
