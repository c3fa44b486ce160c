"""The order in which a part's edges are cut: none is left without room for the saw, and the search for it has an end."""

import math
from itertools import permutations
from random import Random
from typing import Any

import pytest

from calc.layout import tree
from calc.layout.polygons import FLUSH, Line, clip, edge_line, reach
from calc.layout.tree import MOST_NEEDS, ON_LINE, SMALLEST_WASTE, _by_need, _free_lines
from calc.records import Outline

KERF = 2.0
LEAST = max(KERF, SMALLEST_WASTE) - ON_LINE


def stands_in_order(region: Outline, order: tuple[tuple[int, Line], ...]) -> bool:
    """Whether each cut has either nothing to take off or room for the saw when its turn comes."""
    for _, (nx, ny, c) in order:
        room = reach(region, nx, ny) - c
        if FLUSH < room < LEAST:
            return False
        region = clip(region, (nx, ny, c))
    return True


def polygon(count: int, radius: float, turn: float = 0.0) -> Outline:
    turns = [turn + 2 * math.pi * k / count for k in range(count)]
    return tuple((radius * math.cos(each), radius * math.sin(each)) for each in turns)


def lines_of(part: Outline) -> list[tuple[int, Line]]:
    return [(k, edge_line(a, b)) for k, (a, b) in enumerate(zip(part, part[1:] + part[:1], strict=True))]


def test_an_order_is_found_where_one_of_all_there_are_stands() -> None:
    """Small parts of five and six sides: the last cut takes off a tip, which is less than a kerf where the part is small."""
    rng, found, none = Random(3), 0, 0  # noqa: S311 - chance for shapes, not for secrets
    for _ in range(40):
        part = polygon(rng.choice((5, 6)), rng.uniform(1.5, 3.5))
        region = polygon(4, 60.0, rng.uniform(0, 1))
        lines = _free_lines(region, part, KERF)
        assert lines
        order = _by_need(region, lines, KERF)
        stand = any(stands_in_order(region, each) for each in permutations(lines))
        assert bool(order) == stand
        assert not order or stands_in_order(region, tuple(order))
        found, none = found + stand, none + (not stand)
    assert found >= 5
    assert none == 40 - found >= 5


def test_where_there_is_none_it_is_not_looked_for_without_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fourteen edges have 87 thousand million orders; one of them always has less room than a kerf."""
    part, looked = polygon(14, 100.0), []
    region: Outline = (*polygon(14, 150.0)[1:], (100.6, 0.0))  # one corner of it 0.6 mm off the part's

    def counted(*given: Any) -> Any:
        looked.append(1)
        return clip(*given)

    monkeypatch.setattr(tree, "clip", counted)
    _by_need(region, lines_of(part), KERF)
    assert len(looked) <= MOST_NEEDS + 14
