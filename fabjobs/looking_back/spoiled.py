"""What work was spoiled with blanks, summed by the database: its share of the time that was logged on steps up to then.

Time logged by hand has a day and no hour: all of the day on which the blank was spoiled counts. It stands at the day's noon
by the shop's clock, so that day begins twelve hours before, whatever day it is by UTC. Where several blanks were spoiled of
one step, no more of an entry counts than all of it.
"""

from collections.abc import Sequence

from calc.costing import CENT
from fabjobs.looking_back.sums import Work, rows_of

_SPENT = """
    FROM fabjobs_spoiledwork lost
    JOIN fabjobs_spoiled line ON line.id = lost.spoiled_id
    JOIN fabjobs_timeentry spent ON spent.step_id = lost.step_id AND spent.seconds IS NOT NULL
        AND (spent.started_at <= line.at OR (spent.by_hand AND datetime(spent.started_at, '-12 hours') <= line.at))"""
_BY_FABRICATION = f"""
    SELECT fabrication_id, SUM(seconds * share) / 60.0, SUM(seconds * share * hundredths) / 3600.0
    FROM (
        SELECT line.fabrication_id, spent.seconds, CAST(ROUND(spent.rate * 100) AS INTEGER) AS hundredths,
            MIN(1.0, SUM(lost.share)) AS share
        {_SPENT}
        WHERE line.struck_at IS NULL AND line.fabrication_id IN (SELECT value FROM json_each(%s))
        GROUP BY spent.id)
    GROUP BY fabrication_id"""  # noqa: S608 - constants
_BY_LINE = f"""
    SELECT line.id, SUM(spent.seconds * lost.share)
    {_SPENT}
    WHERE line.id IN (SELECT value FROM json_each(%s))
    GROUP BY line.id"""  # noqa: S608 - constants


def spoiled_work(fabrications: Sequence[int]) -> dict[int, Work]:
    """By fabrication, the work that was spoiled and what it cost, half up to the hundredth."""
    return {
        pk: Work(minutes, CENT * int(hundredths + 0.5))
        for pk, minutes, hundredths in rows_of(_BY_FABRICATION, fabrications)
    }


def spoiled_seconds(lines: Sequence[int]) -> dict[int, float]:
    """By line, the time that was lost with the blank [s]."""
    return dict(rows_of(_BY_LINE, lines))
