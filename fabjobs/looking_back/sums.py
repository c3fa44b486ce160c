"""What the database sums for a review: expected and logged work, metal and money. No plan is loaded.

Labour: a line is one kind of work of one fabrication, rounded as a quote rounds it (`calc.costing`): expected hours to the
hundredth, then money half up to the hundredth; actual money is seconds x the rate they were
logged at, half up to the hundredth.
"""

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any, NamedTuple

from django.db import connection
from django.db.models.expressions import RawSQL

from calc.balance import Balance, Metal, strike_balance
from calc.costing import CENT
from calc.tables.minutes import STANDARD

# Whole numbers throughout, so that halves fall as they do in decimal money: hundredths of an hour, hundredths of money.
_EXPECTED_LINES = """
    SELECT fabrication_id, kind, SUM(minutes) AS minutes,
        (CAST(ROUND(SUM(minutes) * 100 / 60) AS INTEGER) * CAST(ROUND(MAX(rate) * 100) AS INTEGER) + 50) / 100 AS cents
    FROM fabjobs_step
    WHERE NOT retired AND fabrication_id IN (SELECT value FROM json_each(%s))
    GROUP BY fabrication_id, kind"""
_ACTUAL_LINES = """
    SELECT step.fabrication_id, step.kind, SUM(spent.seconds) / 60.0 AS minutes,
        (SUM(spent.seconds * CAST(ROUND(spent.rate * 100) AS INTEGER)) + 1800) / 3600 AS cents
    FROM fabjobs_timeentry spent JOIN fabjobs_step step ON step.id = spent.step_id
    WHERE spent.seconds IS NOT NULL AND step.fabrication_id IN (SELECT value FROM json_each(%s))
    GROUP BY step.fabrication_id, step.kind"""
_BY_KIND = tuple(
    f"SELECT kind, SUM(minutes), SUM(cents) FROM ({lines}) GROUP BY kind"  # noqa: S608 - constants
    for lines in (_EXPECTED_LINES, _ACTUAL_LINES)
)
_BY_FABRICATION = tuple(
    f"SELECT fabrication_id, SUM(minutes), SUM(cents) FROM ({lines}) GROUP BY fabrication_id"  # noqa: S608 - constants
    for lines in (_EXPECTED_LINES, _ACTUAL_LINES)
)


_SUMMARIES = """
    SELECT revision.fabrication_id, fabrication.job_id, job.number,
        revision.net_mass, revision.sheet_mass, revision.offcut_mass, revision.areal_mass,
        CAST(ROUND(revision.metal_cost * 100) AS INTEGER), CAST(ROUND(revision.labour_cost * 100) AS INTEGER),
        CAST(ROUND(revision.supplies_cost * 100) AS INTEGER), CAST(ROUND(revision.total_cost * 100) AS INTEGER)
    FROM fabjobs_revision revision
    JOIN fabjobs_fabrication fabrication ON fabrication.id = revision.fabrication_id
    JOIN fabjobs_job job ON job.id = fabrication.job_id
    WHERE revision.fabrication_id IN (SELECT value FROM json_each(%s)) AND revision.number = (
        SELECT MAX(newer.number) FROM fabjobs_revision newer WHERE newer.fabrication_id = revision.fabrication_id)"""

# The lines that stand, by fabrication: mass, area, hundredths of money. A corrected line of the ledger is made up for by
# the line that corrects it; where nothing is left, floats might leave dust.
# What was issued to a job is less by what another took of its sheets.
_ISSUED = """
    SELECT move.fabrication_id, SUM(-move.on_hand * item.mass), SUM(-move.on_hand * item.area),
        SUM(-move.on_hand * CAST(ROUND(item.price * 100) AS INTEGER))
    FROM fabjobs_stockmove move JOIN fabjobs_stockitem item ON item.id = move.item_id
    WHERE (move.kind = 'issued' OR (move.kind = 'returned' AND item.form = 'share'))
        AND move.fabrication_id IN (SELECT value FROM json_each(%s))
    GROUP BY move.fabrication_id HAVING SUM(-move.on_hand * item.mass) > 1e-6"""
# Bought for a job is what was bought by it, and what stood on the rack, bought ahead, for a size that its plan has to buy.
_BOUGHT = """
    SELECT fabrication_id, SUM(count * mass), SUM(count * area), SUM(count * cents) FROM (
        SELECT move.fabrication_id, item.mass, item.area, CAST(ROUND(item.price * 100) AS INTEGER) AS cents,
            CASE move.kind WHEN 'bought' THEN move.on_hand ELSE -move.on_hand END AS count
        FROM fabjobs_stockmove move JOIN fabjobs_stockitem item ON item.id = move.item_id
        WHERE move.fabrication_id IN (SELECT value FROM json_each(%s)) AND (
            move.kind = 'bought' OR (
                move.kind = 'issued' AND item.form = 'sheet'
                AND move.of_stock NOT IN ('', 'R' || item.number, 'Rack ' || item.number)
                AND NOT EXISTS (SELECT 1 FROM fabjobs_stockmove own WHERE own.item_id = item.id
                    AND own.kind = 'bought' AND own.fabrication_id = move.fabrication_id))))
    GROUP BY fabrication_id HAVING SUM(count) > 0"""
_OFFCUTS = """
    SELECT move.fabrication_id, SUM(move.on_hand * item.mass), SUM(move.on_hand * item.area),
        SUM(move.on_hand * CAST(ROUND(item.price * 100) AS INTEGER))
    FROM fabjobs_stockmove move JOIN fabjobs_stockitem item ON item.id = move.item_id
    WHERE move.kind = 'returned' AND item.form <> 'share' AND move.fabrication_id IN (SELECT value FROM json_each(%s))
    GROUP BY move.fabrication_id HAVING SUM(move.on_hand) > 0"""
_SPOILED = """
    SELECT fabrication_id, SUM(count * mass), SUM(count * area), 0
    FROM fabjobs_spoiled WHERE struck_at IS NULL AND fabrication_id IN (SELECT value FROM json_each(%s))
    GROUP BY fabrication_id"""
# What of it the newest plan has as spoiled: laid out with another in its place, and of the metal it is made of now.
_SPOILED_PLANNED = """
    SELECT line.fabrication_id, SUM(line.count * line.mass), SUM(line.count * line.area), 0
    FROM fabjobs_spoiled line JOIN fabjobs_revision said ON said.id = line.revision_id
    JOIN fabjobs_revision newest ON newest.fabrication_id = line.fabrication_id AND newest.number = (
        SELECT MAX(newer.number) FROM fabjobs_revision newer WHERE newer.fabrication_id = line.fabrication_id)
    WHERE line.struck_at IS NULL AND ABS(said.areal_mass - newest.areal_mass) < 1e-9
        AND line.fabrication_id IN (SELECT value FROM json_each(%s))
    GROUP BY line.fabrication_id"""
_BOUGHT_IN = """
    SELECT fabrication_id, 0, 0, SUM(count * CAST(ROUND(price * 100) AS INTEGER))
    FROM fabjobs_boughtin WHERE struck_at IS NULL AND fabrication_id IN (SELECT value FROM json_each(%s))
    GROUP BY fabrication_id"""

NO_METAL = Metal()


class Summary(NamedTuple):
    """What was expected of a fabrication: masses [kg], [kg/m2], money."""

    net_mass: float
    sheet_mass: float
    offcut_mass: float
    areal_mass: float
    metal_cost: Decimal
    labour_cost: Decimal
    supplies_cost: Decimal
    total_cost: Decimal


@dataclass(frozen=True)
class Work:
    """Time [min] and what it costs."""

    minutes: float = 0.0
    money: Decimal = Decimal(0)

    def __add__(self, other: "Work") -> "Work":
        return Work(self.minutes + other.minutes, self.money + other.money)

    def __sub__(self, other: "Work") -> "Work":
        return Work(self.minutes - other.minutes, self.money - other.money)


@dataclass(frozen=True)
class Made:
    """One fabrication: its newest revision's summary, and what was logged of metal and bought in."""

    fabrication: int
    job: int
    number: int
    summary: Summary
    issued: Metal
    bought: Metal
    returned: Metal
    spoiled_mass: float
    spoiled_planned: float
    bought_in: Decimal
    in_hand_mass: float = 0.0

    @cached_property
    def planned(self) -> Balance:
        """As the takeoff has it."""
        of = self.summary
        areal = of.areal_mass or 1.0
        return strike_balance(
            issued=Metal(of.sheet_mass, of.sheet_mass / areal * 1e6, of.metal_cost),
            blank_mass=of.net_mass,
            returned=Metal(of.offcut_mass, of.offcut_mass / areal * 1e6),
            spoiled_mass=self.spoiled_planned,
            areal_mass=of.areal_mass,
        )

    @property
    def has_sheets(self) -> bool:
        return self.issued.mass > 0

    @cached_property
    def actual(self) -> Balance:
        """As it was logged. Where no sheet was, nothing is known of the metal and it is left out."""
        if not self.has_sheets:
            return Balance()
        return strike_balance(
            issued=self.issued,
            blank_mass=self.summary.net_mass,
            returned=self.returned,
            spoiled_mass=self.spoiled_mass,
            areal_mass=self.summary.areal_mass,
            bought=self.bought,
            in_hand_mass=self.in_hand_mass,
        )


def work_by_kind(fabrications: Sequence[int]) -> list[tuple[str, Work, Work]]:
    """Kind, expected, actual; in the trade's order of kinds."""
    order = {kind: place for place, kind in enumerate(STANDARD)}
    return sorted(_work(_BY_KIND, fabrications), key=lambda row: (order.get(row[0], len(order)), row[0]))


def work_by_fabrication(fabrications: Sequence[int]) -> dict[int, tuple[Work, Work]]:
    """Expected and actual of each."""
    return {pk: (expected, actual) for pk, expected, actual in _work(_BY_FABRICATION, fabrications)}


def _work(grouped: Sequence[str], fabrications: Sequence[int]) -> Iterator[tuple[Any, Work, Work]]:
    expected, actual = (_summed(statement, fabrications) for statement in grouped)
    for name in {**expected, **actual}:
        yield name, expected.get(name, Work()), actual.get(name, Work())


def _summed(statement: str, fabrications: Sequence[int]) -> dict[Any, Work]:
    return {name: Work(minutes, CENT * cents) for name, minutes, cents in rows_of(statement, fabrications)}


def made_of(fabrications: Sequence[int]) -> list[Made]:
    """The fabrications that have a revision, in the order given."""
    summaries = {row[0]: row[1:] for row in rows_of(_SUMMARIES, fabrications)}
    sheets, bought, offcuts, spoiled, spoiled_planned, bought_in = (
        {
            pk: Metal(mass or 0.0, area or 0.0, CENT * (cents or 0))
            for pk, mass, area, cents in rows_of(lines, fabrications)
        }
        for lines in (_ISSUED, _BOUGHT, _OFFCUTS, _SPOILED, _SPOILED_PLANNED, _BOUGHT_IN)
    )
    made = []
    for pk in fabrications:
        if pk in summaries:
            job, number, *figures = summaries[pk]
            made.append(
                Made(
                    fabrication=pk,
                    job=job,
                    number=number,
                    summary=Summary(*figures[:4], *(CENT * cents for cents in figures[4:])),
                    issued=sheets.get(pk, NO_METAL),
                    bought=bought.get(pk, NO_METAL),
                    returned=offcuts.get(pk, NO_METAL),
                    spoiled_mass=spoiled.get(pk, NO_METAL).mass,
                    spoiled_planned=spoiled_planned.get(pk, NO_METAL).mass,
                    bought_in=bought_in.get(pk, NO_METAL).money,
                )
            )
    return made


def rows_of(statement: str, keys: Sequence[int]) -> list[tuple[Any, ...]]:
    """What a statement with these keys as its one parameter selects."""
    with connection.cursor() as cursor:
        cursor.execute(statement, [json.dumps(list(keys))])
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows


def among(keys: Iterable[int]) -> RawSQL:
    """Any number of keys as one parameter: `pk__in` with a list stops at the database's limit of parameters."""
    return RawSQL("SELECT value FROM json_each(%s)", [json.dumps(list(keys))])
