"""What a saw and its blade do in a metal, in words: rim speed and feed against the published range, and the blade's mark."""

from calc.advice import overspeed_words
from calc.sheet import Saw
from calc.tables.alloys import Family
from calc.tables.lookup import NotListedError
from calc.tables.sawing import HAND_HELD, SawRange, feed, rim_speed, saw_range
from calc.units import Display


def saw_lines(saw: Saw | None, family: Family, display: Display) -> list[str]:
    """The saw's figures, a sentence each; none where nobody said what saw it is."""
    if saw is None:
        return []
    rim = rim_speed(saw.diameter, saw.speed)
    what = f"Saw: {display.fine(saw.diameter)} blade, {saw.teeth} teeth, {saw.speed:,.0f} rev/min"
    lines = [f"{what}: the rim runs at {rim:.1f} m/s.", *_in_metal(saw, rim, family)]
    if overspeed := overspeed_words(saw):
        lines.append(overspeed)
    return lines


def _in_metal(saw: Saw, rim: float, family: Family) -> list[str]:
    try:
        found = saw_range(family)
    except NotListedError as error:
        text = str(error)
        return [f"{text[:1].upper()}{text[1:]}."]
    slow, fast = (feed(saw.teeth, saw.speed, each) for each in (found.least_feed, found.most_feed))
    return [
        f"Published for {found.blades}: {found.slowest:g} to {found.fastest:g} m/s, by some {found.fastest_of_any:g}. "
        f"{_judged(rim, found)}",
        f"Feed of {found.least_feed:.2f} to {found.most_feed:.2f} mm a tooth: {slow:.1f} to {fast:.1f} m/min at that speed.",
    ]


def _judged(rim: float, found: SawRange) -> str:
    slowest, fastest = HAND_HELD
    if rim < found.slowest:
        usual = f", as hand-held saws do, which run at {slowest:g} to {fastest:g} m/s" if rim >= slowest else ""
        return f"This one runs under it{usual}."
    if rim <= found.fastest:
        return "This one is within it."
    return "This one is past where some end." if rim <= found.fastest_of_any else "This one runs over it."
