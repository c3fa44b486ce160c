"""How often a misread tape is found out, and how often a tray that was made wrong is taken for one.

    .venv/bin/python tests/bench/misread.py [trays] [seed]

Trays of three kinds: triangles, rims of four corners with both diagonals, rims of six, nothing square about them, the low
point inside. As built all of it has shrunk by up to 4 mm per m and each corner has moved in each direction, by 1 mm of a tray
made well and by 3 mm of one made badly, the depth by 1.5 mm; the tape errs by 0.5 mm (one standard deviation each) and is read
to 0.5 mm. Told of each kind:

- one figure, any, wrong by so much either way: whether that one is named, one of several that are named, another, or none
  ("refused": the figures make no outline, and the one named is to be measured again first);
- all read right: how often one is named all the same;
- one corner really made 10 or 15 mm from its place, any way, and all read right: how often a length is named as misread at all,
  how often with the words that the other lengths say so, and how often still after all that is named was taken again.
"""

import math
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc import Plan, plan
from calc.fitup import FitFault, fit, wanted
from calc.sheet import SheetFaults

WRONG = (5.0, 10.0, 20.0, 100.0)  # [mm]
MADE_OUT = (10.0, 15.0)  # [mm] of one corner
KINDS = (3, 4, 6)  # corners
SHRUNK, DEEPER, TAPE, RULE = 0.004, 1.5, 0.5, 0.5
MOVED = {"well": 1.0, "badly": 3.0}  # [mm] of a corner, in each direction
Rim = NDArray[np.float64]


@dataclass
class Made:
    """A tray as planned, its corners as built, and what a tape gives of it."""

    plan: Plan
    built: Rim
    taped: dict[str, float]


def random_rim(chance: np.random.Generator, count: int) -> Rim:
    """A rim of so many corners, its long side 400 to 1600 mm."""
    if count == 4:
        size = np.array([chance.uniform(400, 1600), chance.uniform(250, 700)])
        return np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * size + chance.normal(0, 15, (4, 2))
    turns = np.cumsum(chance.uniform(0.6, 1.0, count))
    bearings = turns / turns[-1] * 2 * math.pi
    reach = chance.uniform(250, 700) * chance.uniform(0.8, 1.0, count)
    return np.column_stack([1.4 * reach * np.cos(bearings), reach * np.sin(bearings)])


def planned(chance: np.random.Generator, count: int) -> Plan:
    """A tray of so many corners."""
    while True:
        rim = random_rim(chance, count)
        shape = {
            "family": "fall-tray",
            "rim": rim.round(1).tolist(),
            "low_point": rim.mean(0).round(1).tolist(),
            "depth": 50,
        }
        try:
            return plan(
                {"shape": shape, "material": {"alloy": "5052-H32", "thickness": 1.5}, "making": {"effort": "quick"}}
            )
        except SheetFaults:
            continue


def made(chance: np.random.Generator, of: Plan, moved: float) -> Made:
    """A tray of this plan, made and measured."""
    corners = np.array(of.sheet.shape.corners)
    built = corners * (1 - chance.uniform(0, SHRUNK)) + chance.normal(0, moved, corners.shape)
    return Made(of, built, taped(chance, of, built))


def taped(chance: np.random.Generator, of: Plan, built: Rim) -> dict[str, float]:
    """What a tape gives of a tray whose corners lie so."""
    found = {}
    for line in wanted(of):
        true = (
            math.dist(*(built[index] for index in line.between))
            if line.between
            else line.nominal + chance.normal(0, DEEPER)
        )
        found[line.key] = round((true + chance.normal(0, TAPE)) / RULE) * RULE
    return found


def named(tray: Made, wrong: str, by: float) -> str:
    """What is said of the tray's figures when one of them is wrong: right, one of several, another, none or refused."""
    try:
        suspect = fit(tray.plan, {**tray.taped, wrong: tray.taped[wrong] + by}).suspect
    except FitFault as fault:
        return "refused, right" if fault.key == wrong else "refused, another"
    if suspect is None or suspect.keys == (wrong,):
        return "none" if suspect is None else "right"
    return f"among {min(len(suspect.keys), 4)}" if wrong in suspect.keys else "another"


def taken_for_misread(chance: np.random.Generator, tray: Made, by: float) -> list[str]:
    """What is said of a tray with one corner made so far from its place [mm], all of it read right."""
    built, way = tray.built.copy(), chance.uniform(0, 2 * math.pi)
    built[int(chance.integers(len(built)))] += by * np.array([math.cos(way), math.sin(way)])
    read = taped(chance, tray.plan, built)
    first = fit(tray.plan, read).suspect
    if first is None:
        return []
    found = ["named"] if len(first.keys) == 1 else ["several named"]
    if "the others say" in first.words:
        found.append("the others say so")
    if fit(tray.plan, read, first.keys).suspect is not None:
        found.append("another named then")
    return found


def told(found: Counter[str]) -> str:
    return ", ".join(f"{what} {times}" for what, times in sorted(found.items(), key=lambda item: -item[1])) or "none"


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for corners in KINDS:
        chance = np.random.default_rng(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
        plans = [planned(chance, corners) for _ in range(count)]
        for how, moved in MOVED.items():
            trays = [made(chance, of, moved) for of in plans]
            alarms = sum(fit(tray.plan, tray.taped).suspect is not None for tray in trays)
            print(
                f"{count} trays of {corners} corners made {how}: all read right, one named all the same {alarms} times"
            )
            for by in WRONG:
                found = Counter(
                    named(tray, str(chance.choice(sorted(tray.taped))), by * float(chance.choice((-1, 1))))
                    for tray in trays
                )
                print(f"  one wrong by {by:g} mm: {told(found)}")
            for by in MADE_OUT:
                found = Counter(what for tray in trays for what in taken_for_misread(chance, tray, by))
                print(f"  one corner {by:g} mm out, all read right: {told(found)}", flush=True)


if __name__ == "__main__":
    main()
