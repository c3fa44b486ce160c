"""What the outlet does: what it passes, at which head, how long the tray takes to empty, and which usual outlet would do.

The head is measured over the highest level of the lip (`lip_of`): a hole bored through sloping facets passes a little sooner
and more, so that heads, levels and times are told on the safe side. The spigot is taken to run free below.
"""

from calc.drainage.basin import Basin, lip_of
from calc.drainage.emptying import FILM, seconds_to_empty
from calc.drainage.openings import drop_outlet
from calc.drainage.records import Larger, Outflow, Running, Slice
from calc.duty import Duty
from calc.families.rims import LONGEST
from calc.records import Point
from calc.tables.outlets import USUAL_OUTLETS


def outflow_of(
    basin: Basin, slices: tuple[Slice, ...], at: Point, bore: float, most_bore: float, duty: Duty
) -> Outflow:
    """What an outlet of this bore [mm] at a place seen from above does under this duty.

    most_bore [mm]: what there is room for, itself too much.
    """
    opening, lip = drop_outlet(bore, strainer=duty.strainer), lip_of(basin, at, bore / 2)
    head = basin.brim - lip
    seconds = seconds_to_empty(slices, opening, lip, basin.brim) if head > FILM else None
    passes, passes_dry = opening.flow(head), opening.flow(head - duty.freeboard)
    governs = opening.governs(head)
    if duty.pump_flow is None:
        return Outflow(bore, lip, passes, passes_dry, governs, seconds)
    needed = opening.head(duty.pump_flow)
    running = Running(needed, opening.governs(needed), lip + needed, head - needed)
    return Outflow(
        bore,
        lip,
        passes,
        passes_dry,
        governs,
        seconds,
        running,
        _enough(basin, at, most_bore, duty),
        None if running.freeboard >= duty.freeboard else _depth_for(basin, lip, needed + duty.freeboard),
    )


def freeboard_at(basin: Basin, at: Point, radius: float, head: float) -> float:
    """What is left below the brim with this head over an outlet of this radius [mm]; negative where it runs over."""
    return basin.brim - lip_of(basin, at, radius) - head


def _enough(basin: Basin, at: Point, most_bore: float, duty: Duty) -> Larger | None:
    """The smallest usual outlet that passes the pump's flow with the freeboard kept.

    Failing that, the one that needs the least depth, and that depth: a wider hole needs less head, but in sloping facets its
    lip lies higher.
    """
    rows = [row for row in USUAL_OUTLETS if row.bore < most_bore]
    if not rows or duty.pump_flow is None:
        return None
    for row in rows:
        head = drop_outlet(row.bore, strainer=duty.strainer).head(duty.pump_flow)
        if head + duty.freeboard > basin.brim - min(basin.heights):
            continue  # more than the whole depth: no need to look where its lip is
        if freeboard_at(basin, at, row.bore / 2, head) >= duty.freeboard:
            return Larger(row.name, row.bore, None)
    depths = []
    for row in rows:
        head = drop_outlet(row.bore, strainer=duty.strainer).head(duty.pump_flow)
        depth = _depth_for(basin, lip_of(basin, at, row.bore / 2), head + duty.freeboard)
        if depth is not None:
            depths.append((depth, row))
    if not depths:
        return None
    depth, row = min(depths)
    return Larger(row.name, row.bore, depth)


def _depth_for(basin: Basin, lip: float, needed: float) -> float | None:
    """How deep the lowest corner must lie below the rim for so much between lip and brim [mm].

    All depths grow in proportion, the lip's with them. None where that is deeper than any shape may be.
    """
    depth = -min(basin.heights) * (needed - basin.brim) / -lip
    return depth if depth <= LONGEST else None
