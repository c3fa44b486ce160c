"""What a saw and its blade do in a metal, in words: rim speed and feed against the published range, and the blade's mark."""

from calc.advice import overspeed_words
from calc.making import Saw
from calc.tables.alloys import Family
from calc.tables.lookup import NotListedError
from calc.tables.sawing import HAND_HELD, SawRange, feed, rim_speed, saw_range
from calc.units import Display

FOOT = 0.3048  # [m]


def saw_lines(saw: Saw | None, family: Family, display: Display) -> list[str]:
    """The saw's figures, a sentence each; none where nobody said what saw it is."""
    if saw is None:
        return []
    rim = rim_speed(saw.diameter, saw.speed)
    what = f"Saw: {display.fine(saw.diameter)} blade, {saw.teeth} teeth, {saw.speed:,.0f} rev/min"
    lines = [f"{what}: the rim runs at {_fast(display, rim)}.", *_in_metal(saw, rim, family, display)]
    if overspeed := overspeed_words(saw):
        lines.append(overspeed)
    return lines


def _in_metal(saw: Saw, rim: float, family: Family, display: Display) -> list[str]:
    try:
        found = saw_range(family)
    except NotListedError as error:
        text = str(error)
        return [f"{text[:1].upper()}{text[1:]}."]
    published = (
        f"{_between(display, found.slowest, found.fastest)}, by some to {_fast(display, found.fastest_of_any, 0)}"
    )
    bites = (found.least_feed, found.most_feed)
    slow, fast = (_fed(display, feed(saw.teeth, saw.speed, each)) for each in bites)
    inches = display.unit == "in"
    least, most = (f"{each / 25.4:.4f}" if inches else f"{each:.2f}" for each in bites)
    return [
        f"Published for {found.blades}: {published}. {_judged(rim, found, display)}",
        f"Feed of {least} to {most} {display.unit} a tooth: {slow} to {fast} {'ft/min' if inches else 'm/min'} at that speed.",
    ]


def _judged(rim: float, found: SawRange, display: Display) -> str:
    slowest, fastest = HAND_HELD
    if rim < found.slowest:
        usual = f", as hand-held saws do, which run at {_between(display, slowest, fastest)}" if rim >= slowest else ""
        return f"This one runs under it{usual}."
    if rim <= found.fastest:
        return "This one is within it."
    return "This one is past where some end." if rim <= found.fastest_of_any else "This one runs over it."


def _between(display: Display, slowest: float, fastest: float) -> str:
    """Two speeds [m/s], the unit once."""
    return f"{_fast(display, slowest, 0).partition(' ')[0]} to {_fast(display, fastest, 0)}"


def _fast(display: Display, speed: float, places: int = 1) -> str:
    """A rim's speed [m/s], in an inch shop in feet a minute to the nearest ten."""
    if display.unit == "in":
        return f"{round(speed * 60 / FOOT, -1):,.0f} ft/min"
    return f"{speed:.{places}f} m/s"


def _fed(display: Display, rate: float) -> str:
    """A feed [m/min], in an inch shop in feet a minute."""
    return f"{rate / FOOT:.0f}" if display.unit == "in" else f"{rate:.1f}"
