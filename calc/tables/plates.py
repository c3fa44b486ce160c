"""Flat plates under load, small deflection: what handbooks print of rectangles and of the equilateral triangle.

Sources: S. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd edition: tables 8 (supported all round, even
load), 35 (clamped all round, even load), 23 (supported, a load at the middle) and 48 (three edges supported, one free, even
load), all printed for Poisson's ratio 0.3. Roark's Formulas for Stress and Strain, tables of flat plates: a load at the middle
of a supported or clamped rectangle, on a small round patch. All rows from memory; the tests hold them to series that are summed
there. As printed they are good to the last figure but for a unit or two.

a is the short side, b the long one; D = E t^3 / (12 (1 - nu^2)); q the load per area, P the load on the patch. Between two rows
the plate that is longer in shape is taken, which sags and is bent more.
"""

import math
from typing import NamedTuple, TypeVar

from calc.tables.lookup import NotListedError

PRINTED_FOR = 0.3  # Poisson's ratio
TIMOSHENKO = "Timoshenko, Theory of Plates and Shells, from memory"
ROARK = "Roark's Formulas for Stress and Strain, from memory"
_MUCH = math.inf
SAME_RATIO = 1e-6


class Supported(NamedTuple):
    """Supported all round, even load: w = sag q a^4 / D in the middle, moments there across the short and the long side in
    q a^2."""

    ratio: float
    sag: float
    across: float
    along: float


class Clamped(NamedTuple):
    """Clamped all round, even load: w = sag q a^4 / D, moments in q a^2: at the middle of the long edge, and in the middle of
    the plate across the short side."""

    ratio: float
    sag: float
    edge: float
    middle: float


class PointLoad(NamedTuple):
    """A load P at the middle: w = sag P a^2 / D, and Roark's constant of the stress there."""

    ratio: float
    sag: float
    stress: float
    edge: float = 0.0


class OneFree(NamedTuple):
    """Three edges supported, one, of length a, free, even load: w = sag q a^4 / D and moment in q a^2, both at the middle of
    the free edge; the ratio is the length of the edges beside it over a."""

    ratio: float
    sag: float
    moment: float


SUPPORTED = (
    Supported(1.0, 0.00406, 0.0479, 0.0479),
    Supported(1.1, 0.00485, 0.0554, 0.0493),
    Supported(1.2, 0.00564, 0.0627, 0.0501),
    Supported(1.3, 0.00638, 0.0694, 0.0503),
    Supported(1.4, 0.00705, 0.0755, 0.0502),
    Supported(1.5, 0.00772, 0.0812, 0.0498),
    Supported(1.6, 0.00830, 0.0862, 0.0492),
    Supported(1.7, 0.00883, 0.0908, 0.0486),
    Supported(1.8, 0.00931, 0.0948, 0.0479),
    Supported(1.9, 0.00974, 0.0985, 0.0471),
    Supported(2.0, 0.01013, 0.1017, 0.0464),
    Supported(3.0, 0.01223, 0.1189, 0.0406),
    Supported(4.0, 0.01282, 0.1235, 0.0384),
    Supported(5.0, 0.01297, 0.1246, 0.0375),
    Supported(_MUCH, 0.01302, 0.1250, 0.0375),
)
CLAMPED = (
    Clamped(1.0, 0.00126, 0.0513, 0.0231),
    Clamped(1.1, 0.00150, 0.0581, 0.0264),
    Clamped(1.2, 0.00172, 0.0639, 0.0299),
    Clamped(1.3, 0.00191, 0.0687, 0.0327),
    Clamped(1.4, 0.00207, 0.0726, 0.0349),
    Clamped(1.5, 0.00220, 0.0757, 0.0368),
    Clamped(1.6, 0.00230, 0.0780, 0.0381),
    Clamped(1.7, 0.00238, 0.0799, 0.0392),
    Clamped(1.8, 0.00245, 0.0812, 0.0401),
    Clamped(1.9, 0.00249, 0.0822, 0.0407),
    Clamped(2.0, 0.00254, 0.0829, 0.0412),
    Clamped(_MUCH, 0.00260, 0.0833, 0.0417),
)
# Timoshenko's sag; Roark's constant for the stress under the patch of a supported plate, and for that at the middle of the long
# edge of a clamped one. Roark prints no row between 2 and infinity: at 3 stands the one that is safe.
POINT_LOAD = (
    PointLoad(1.0, 0.01160, 0.435, 0.7542),
    PointLoad(1.2, 0.01353, 0.650, 0.8940),
    PointLoad(1.4, 0.01484, 0.789, 0.9624),
    PointLoad(1.6, 0.01570, 0.875, 0.9906),
    PointLoad(1.8, 0.01620, 0.927, 1.000),
    PointLoad(2.0, 0.01651, 0.958, 1.004),
    PointLoad(3.0, 0.01690, 1.000, 1.008),
    PointLoad(_MUCH, 0.01695, 1.000, 1.008),
)
ONE_FREE = (
    OneFree(0.5, 0.00710, 0.060),
    OneFree(2 / 3, 0.00968, 0.083),
    OneFree(1.0, 0.01286, 0.112),
    OneFree(1.5, 0.01462, 0.128),
    OneFree(2.0, 0.01507, 0.132),
    OneFree(3.0, 0.01520, 0.133),
    OneFree(_MUCH, 0.01522, 0.133),
)
EQUILATERAL = (
    1 / 972
)  # supported equilateral triangle of height a: w = q a^4 / (972 D) at its middle, exact (Woinowsky-Krieger)


def supported(ratio: float) -> Supported:
    """The row of a rectangle supported all round whose long side is so many times its short one.

    >>> supported(1.0).sag, supported(1.25).ratio
    (0.00406, 1.3)
    """
    return _row(SUPPORTED, ratio)


def clamped(ratio: float) -> Clamped:
    """The row of a rectangle clamped all round.

    >>> clamped(2.4).edge
    0.0833
    """
    return _row(CLAMPED, ratio)


def point_load(ratio: float) -> PointLoad:
    """The row of a rectangle that bears a load at its middle.

    >>> point_load(1.0).sag
    0.0116
    """
    return _row(POINT_LOAD, ratio)


def one_free(ratio: float) -> OneFree:
    """The row of a rectangle with one edge free; of one lower than the table begins, its first.

    >>> one_free(0.2).sag
    0.0071
    """
    return _row(ONE_FREE, max(ratio, ONE_FREE[0].ratio))


def across(row: Supported, poisson: float) -> float:
    """The moment across the short side [q a^2] of a supported rectangle of another Poisson's ratio than the table's.

    The sum of curvatures doesn't depend on it, so each moment follows from both (Timoshenko, art. 30).

    >>> round(across(supported(2.0), 0.3), 4), round(across(supported(2.0), 0.0), 4)
    (0.1017, 0.0965)
    """
    own = (1 - poisson * PRINTED_FOR) * row.across + (poisson - PRINTED_FOR) * row.along
    return own / (1 - PRINTED_FOR**2)


def patch_moment(constant: float, short_side: float, patch: float, poisson: float) -> float:
    """The moment per length under a load of 1 on a round patch at the middle of a supported rectangle (Roark).

    constant: of the row; short_side, patch: the side and the patch's radius, in one unit of length. For a patch no smaller than
    half the thickness. Raises ValueError for one that isn't small beside the plate, for which the formula gives nothing.

    >>> round(patch_moment(0.435, 400.0, 25.0, 0.3), 3)
    0.275
    """
    if not 0 < patch < short_side / 2:
        raise ValueError(
            f"a patch is more than 0 and less than half the short side, {short_side / 2:g} (got {patch:g})"
        )
    return ((1 + poisson) * math.log(2 * short_side / (math.pi * patch)) + constant) / (4 * math.pi)


_AnyRow = TypeVar("_AnyRow", Supported, Clamped, PointLoad, OneFree)


def _row(rows: tuple[_AnyRow, ...], ratio: float) -> _AnyRow:
    if not ratio >= rows[0].ratio - SAME_RATIO:
        raise NotListedError(
            f"plates are listed from a ratio of sides of {rows[0].ratio:g}: nothing is listed for {ratio:g}"
        )
    return next(row for row in rows if ratio <= row.ratio + SAME_RATIO)
