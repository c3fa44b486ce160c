"""How far apart thin sheet is tacked, by its thickness.

Source: common practice, from memory: sheet of 1 to 1.5 mm every 30 to 60 mm, of 2 to 3 mm every 70 to 120 mm.
"""

from typing import NamedTuple

from calc.tables.lookup import SAME_SIZE


class TackRow(NamedTuple):
    """For sheet up to a thickness [mm]: the pitch of tacks from closest to widest, and what is usual [mm]."""

    up_to: float
    pitch: tuple[float, float]
    usual: float


TACKS = (TackRow(1.5, (30.0, 60.0), 40.0), TackRow(3.0, (70.0, 120.0), 80.0))


def usual_tack_pitch(thickness: float) -> float:
    """The pitch of tacks [mm] for sheet of this thickness [mm].

    Between two rows the closer pitch is taken, past the last the last: tacks too close cost minutes, too far apart a seam
    that opens.

    >>> usual_tack_pitch(1.2), usual_tack_pitch(1.6), usual_tack_pitch(2.0)
    (40.0, 40.0, 80.0)
    """
    thickest = next((row for row in reversed(TACKS) if _from(row) <= thickness + SAME_SIZE), TACKS[0])
    return thickest.usual


def _from(row: TackRow) -> float:
    """The least thickness [mm] that a row is for: rows leave a gap between 1.5 and 2 mm."""
    return 0.0 if row is TACKS[0] else 2.0
