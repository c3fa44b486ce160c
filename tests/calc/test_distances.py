"""Corners that best fit measured distances, against another library's least squares."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from calc.distances import fit_corners, laid_along, laid_on, lengths_between, looseness, slopes
from calc.fitup.measurements import diagonals, sides_of
from calc.records import Outline
from calc.sheet import read_sheet
from tests.shapes import NAMED, fall_trays, ring, sheet_of

RIMS = {**NAMED, "twelve": ring(12), "twenty-four": ring(24), "dented": ring(10, dent=0.3)}
seeds = st.integers(0, 2**32 - 1)


def corners(shape: dict[str, object]) -> Outline:
    return read_sheet(sheet_of(shape)).shape.corners


def pairs_of(rim: Outline) -> list[tuple[int, int]]:
    return sides_of(len(rim)) + diagonals(rim)


def squares(outline: Outline, pairs: list[tuple[int, int]], lengths: np.ndarray) -> float:
    return float(((np.array(lengths_between(outline, pairs)) - lengths) ** 2).sum())


def by_scipy(start: Outline, pairs: list[tuple[int, int]], lengths: np.ndarray) -> Outline:
    """The same corners by scipy: corner 0 held where it is and corner 1 on its line, which no distance minds."""
    (x0, y0), (x1, y1) = start[:2]
    side = math.hypot(x1 - x0, y1 - y0)

    def laid(free: np.ndarray) -> Outline:
        second = (x0 + free[0] * (x1 - x0) / side, y0 + free[0] * (y1 - y0) / side)
        return ((x0, y0), second, *((float(x), float(y)) for x, y in free[1:].reshape(-1, 2)))

    first = np.array([side, *np.array(start[2:]).ravel()])
    found = least_squares(
        lambda free: np.array(lengths_between(laid(free), pairs)) - lengths, first, xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    return laid(found.x)


@pytest.mark.parametrize("name", RIMS)
@pytest.mark.parametrize("seed", [1, 2])
def test_the_corners_are_those_of_scipy(name: str, seed: int) -> None:
    rim, chance = corners(RIMS[name]), np.random.default_rng(seed)
    pairs = pairs_of(rim)
    lengths = np.array(lengths_between(rim, pairs)) + chance.normal(0, 1.5, len(pairs))
    own, other = fit_corners(rim, pairs, lengths.tolist()), by_scipy(rim, pairs, lengths)
    # where one mode is loose the sum hardly grows along it, and scipy stops a little short
    assert squares(own, pairs, lengths) <= squares(other, pairs, lengths) + 1e-9
    assert np.abs(np.array(laid_on(own, other)) - np.array(other)).max() < 1e-4


@settings(max_examples=60, deadline=None)
@given(tray=fall_trays(3, 9), seed=seeds)
def test_true_lengths_give_the_corners_they_were_taken_from(tray: dict[str, object], seed: int) -> None:
    rim = corners(tray)
    pairs, chance = pairs_of(rim), np.random.default_rng(seed)
    if looseness(rim, pairs) > 20:
        return  # a rim so nearly flat somewhere that no tape holds it
    truth = tuple((x + dx, y + dy) for (x, y), (dx, dy) in zip(rim, chance.normal(0, 0.5, (len(rim), 2)), strict=True))
    found = fit_corners(rim, pairs, lengths_between(truth, pairs))
    assert lengths_between(found, pairs) == pytest.approx(lengths_between(truth, pairs), abs=1e-6)


def test_slopes_are_those_of_small_moves() -> None:
    rim = corners(NAMED["five"])
    pairs, step = pairs_of(rim), 1e-5
    found = slopes(rim, pairs)
    flat = np.array(rim).ravel()
    for column in range(len(flat)):
        sides = []
        for sign in (1, -1):
            moved = flat.copy()
            moved[column] += sign * step
            sides.append(np.array(lengths_between([tuple(p) for p in moved.reshape(-1, 2)], pairs)))
        assert found[:, column] == pytest.approx((sides[0] - sides[1]) / (2 * step), abs=1e-7)


def test_an_outline_comes_back_onto_itself_wherever_it_was() -> None:
    rim = corners(NAMED["reflex"])
    turned = [complex(x, y) * complex(math.cos(2.5), math.sin(2.5)) + complex(810, -95) for x, y in rim]
    back = laid_on(tuple((z.real, z.imag) for z in turned), rim)
    assert np.array(back) == pytest.approx(np.array(rim), abs=1e-9)


@pytest.mark.parametrize("seed", [3, 4, 5])
def test_no_other_place_is_nearer(seed: int) -> None:
    rim, chance = corners(NAMED["skew"]), np.random.default_rng(seed)
    own = np.array(rim) + chance.normal(0, 20, (4, 2))
    laid = np.array(laid_on(tuple(map(tuple, own.tolist())), rim))

    def lack(move: np.ndarray) -> np.ndarray:
        turn, x, y = move
        cos, sin = math.cos(turn), math.sin(turn)
        return (own @ np.array([[cos, sin], [-sin, cos]]) + np.array([x, y]) - np.array(rim)).ravel()

    best = least_squares(lack, np.zeros(3), xtol=1e-15, ftol=1e-15, gtol=1e-15)
    assert ((laid - np.array(rim)) ** 2).sum() == pytest.approx((lack(best.x) ** 2).sum(), rel=1e-9)


def test_it_is_never_turned_over() -> None:
    rim = corners(NAMED["skew"])
    mirrored = tuple((-x, y) for x, y in rim)
    assert shapely.Polygon(laid_on(mirrored, rim)).exterior.is_ccw != shapely.Polygon(rim).exterior.is_ccw


def test_laid_along_its_first_side() -> None:
    rim = corners(NAMED["five"])
    laid = laid_along(tuple((y, -x) for x, y in rim))
    assert laid[0] == (0, 0)
    assert laid[1] == pytest.approx((520, 0), abs=1e-9)  # side 1 of it is 520 long
    assert laid[2][1] > 0


@pytest.mark.parametrize("count", [4, 5, 6, 8, 12, 24])
def test_tape_errors_grow_no_more_than_from_the_best_corner(count: int) -> None:
    """The corners' errors in 400 measurings are as large as `looseness` says."""
    rim = corners(ring(count))
    pairs, chance = pairs_of(rim), np.random.default_rng(count)
    true = np.array(lengths_between(rim, pairs))
    total = 0.0
    for _ in range(400):
        found = laid_on(fit_corners(rim, pairs, (true + chance.normal(0, 0.01, len(true))).tolist()), rim)
        total += float(((np.array(found) - np.array(rim)) ** 2).sum())
    assert math.sqrt(total / 400 / count) / 0.01 == pytest.approx(looseness(rim, pairs), rel=0.15)
    assert looseness(rim, pairs) < 4.5
