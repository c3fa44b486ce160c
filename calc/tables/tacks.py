"""How far apart thin sheet is tacked, by its thickness.

Source: common practice, from memory: sheet of 1 to 1.5 mm every 30 to 60 mm, of 2 to 3 mm every 70 to 120 mm.
"""

from typing import NamedTuple

from calc.tables.lookup import SAME_SIZE


class TackRow(NamedTuple):
    """For sheet from a thickness [mm] on: the pitch of tacks from closest to widest, and what is usual [mm]."""

    least: float
    pitch: tuple[float, float]
    usual: float


TACKS = (TackRow(0.0, (30.0, 60.0), 40.0), TackRow(2.0, (70.0, 120.0), 80.0))


def usual_tack_pitch(thickness: float) -> float:
    """The pitch of tacks [mm] for sheet of this thickness [mm].

    Between two rows the closer pitch is taken, past the last the last: tacks too close cost minutes, too far apart a seam
    that opens.

    >>> usual_tack_pitch(1.2), usual_tack_pitch(1.6), usual_tack_pitch(2.0)
    (40.0, 40.0, 80.0)
    """
    return next(row.usual for row in reversed(TACKS) if row.least <= thickness + SAME_SIZE)
