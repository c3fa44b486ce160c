"""How often a misread tape is found out: simulated trays, measured as a shop would, with one figure wrong by so much.

    .venv/bin/python tests/bench/misread.py [trays] [seed]

Each tray is a rim of 4 to 8 corners that nothing is square about, its low point inside. As built all of it has shrunk by up to
4 mm per m and each corner has moved in each direction, by 1 mm of a tray made well and by 3 mm of one made badly, the depth by
1.5 mm; the tape errs by 0.5 mm (one standard deviation each) and is read to 0.5 mm. One figure, any, is then wrong by so much,
either way. Told: whether that one is named, another, or none ("refused": the figures make no outline, and the one named is
to be measured again first); and how often one is named where all were read right.
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
SHRUNK, DEEPER, TAPE, RULE = 0.004, 1.5, 0.5, 0.5
MOVED = {"well": 1.0, "badly": 3.0}  # [mm] of a corner, in each direction
Rim = NDArray[np.float64]


@dataclass
class Made:
    """A tray as planned, and what a tape gives of it as built."""

    plan: Plan
    taped: dict[str, float]


def random_rim(chance: np.random.Generator) -> Rim:
    """A rim of 4 to 8 corners, most often 4, its long side 400 to 1600 mm."""
    if chance.random() < 0.6:
        size = np.array([chance.uniform(400, 1600), chance.uniform(250, 700)])
        return np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * size + chance.normal(0, 15, (4, 2))
    count = int(chance.integers(5, 9))
    turns = np.cumsum(chance.uniform(0.6, 1.0, count))
    bearings = turns / turns[-1] * 2 * math.pi
    reach = chance.uniform(250, 700) * chance.uniform(0.8, 1.0, count)
    return np.column_stack([1.4 * reach * np.cos(bearings), reach * np.sin(bearings)])


def made(chance: np.random.Generator, moved: float) -> Made:
    """A tray planned, made and measured."""
    while True:
        rim = random_rim(chance)
        shape = {
            "family": "fall-tray",
            "rim": rim.round(1).tolist(),
            "low_point": rim.mean(0).round(1).tolist(),
            "depth": 50,
        }
        try:
            planned = plan(
                {"shape": shape, "material": {"alloy": "5052-H32", "thickness": 1.5}, "making": {"effort": "quick"}}
            )
        except SheetFaults:
            continue
        break
    corners = np.array(planned.sheet.shape.corners)
    built = corners * (1 - chance.uniform(0, SHRUNK)) + chance.normal(0, moved, corners.shape)
    taped = {}
    for line in wanted(planned):
        true = (
            math.dist(*(built[index] for index in line.between))
            if line.between
            else line.nominal + chance.normal(0, DEEPER)
        )
        taped[line.key] = round((true + chance.normal(0, TAPE)) / RULE) * RULE
    return Made(planned, taped)


def named(tray: Made, wrong: str | None, by: float) -> str:
    """What is said of the tray's figures when one of them is wrong: right, another, none or refused."""
    taped = dict(tray.taped)
    if wrong:
        taped[wrong] += by
    try:
        suspect = fit(tray.plan, taped).suspect
    except FitFault as fault:
        return "refused, right" if fault.key == wrong else "refused, another"
    return "none" if suspect is None else "right" if suspect.key == wrong else "another"


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for how, moved in MOVED.items():
        chance = np.random.default_rng(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
        trays = [made(chance, moved) for _ in range(count)]
        kinds = Counter(len(tray.plan.sheet.shape.corners) for tray in trays)
        print(f"{count} trays made {how}, corners: {dict(sorted(kinds.items()))}")
        alarms = sum(named(tray, None, 0.0) != "none" for tray in trays)
        print(f"all read right: one named all the same {alarms} times")
        for by in WRONG:
            found: Counter[str] = Counter()
            for tray in trays:
                key = str(chance.choice(sorted(tray.taped)))
                found[named(tray, key, by * float(chance.choice((-1, 1))))] += 1
            told = ", ".join(f"{what} {times}" for what, times in sorted(found.items(), key=lambda item: -item[1]))
            print(f"one wrong by {by:g} mm: {told}")


if __name__ == "__main__":
    main()
