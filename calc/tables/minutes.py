"""Standard minutes of the shop's work: so much to set up each step, and so much for each unit of what drives it.

Source: common practice in one- to four-person sheet-metal shops, to start from; a shop's own logged times replace them.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StandardTime:
    """Minutes to set a step up, and minutes for each unit of its driver."""

    setup: float
    each: float
    unit: str

    def minutes(self, driver: float) -> float:
        """The time of a step with so much to do [min]."""
        return self.setup + self.each * driver


WELD_TRAVEL = 400.0  # [mm/min] the travel that the minutes of "weld" and "install" are for; slower metal takes longer

STANDARD = {
    "measure": StandardTime(10.0, 2.0, "length"),  # tape lengths read and written down
    "mark": StandardTime(2.0, 1.5, "corner"),
    "cut": StandardTime(2.5, 1.5, "m"),  # guide set and clamped on both sides, then the pass
    "hand-cut": StandardTime(2.0, 4.0, "m"),  # by jigsaw or shears, where straight cuts can't reach
    "dress": StandardTime(1.0, 1.5, "m"),
    "drill": StandardTime(2.0, 1.0, "hole"),
    "fold": StandardTime(2.0, 2.5, "fold"),  # line set under the jaw, folded, the angle proved
    "clean": StandardTime(2.0, 3.0, "m"),
    "fit": StandardTime(1.5, 0.75, "tack"),
    "check": StandardTime(5.0, 2.0, "length"),
    "weld": StandardTime(2.0, 7.0, "m"),  # at `WELD_TRAVEL`: about a third of it arc time
    "planish": StandardTime(2.0, 6.0, "m"),
    "outlet": StandardTime(5.0, 15.0, "piece"),
    "test": StandardTime(10.0, 10.0, "piece"),
    "aperture": StandardTime(20.0, 8.0, "m"),
    "install": StandardTime(15.0, 7.0, "m"),
    "seal": StandardTime(15.0, 5.0, "m"),  # bead laid, set in, screwed down
    "stand": StandardTime(10.0, 10.0, "piece"),  # set in its place, level, where nothing is let in
    "finish": StandardTime(5.0, 10.0, "piece"),
}
