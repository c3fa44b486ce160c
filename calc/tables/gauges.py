"""Sheet gauge numbers: inches as printed, answered in mm.

Steel: Manufacturers' Standard Gauge for uncoated sheet. Galvanised: the galvanised sheet gauge, zinc included.
Stainless: the U.S. Standard gauge as stainless mills use it. Read in print: steel 14, 16, 18 and 20, galvanised
16, stainless 16; the other rows are from memory and agree with the weights that the gauges were made from.
Aluminium: Brown & Sharpe, exact by its formula, 0.005 x 92^((36 - n) / 39) in.

A gauge table's *weights* use 41.82 lb/ft2 per inch, about 2.4 % above density x volume, on purpose; a plan weighs
by density.
"""

from typing import Literal

from calc.tables.lookup import NotListedError, refuse_name

Kind = Literal["steel", "galvanised", "stainless", "aluminium"]

_COLUMNS: dict[str, int] = {"steel": 0, "galvanised": 1, "stainless": 2}
_INCHES: dict[int, tuple[float, float, float]] = {
    8: (0.1644, 0.1681, 0.1719),
    9: (0.1495, 0.1532, 0.1563),
    10: (0.1345, 0.1382, 0.1406),
    11: (0.1196, 0.1233, 0.1250),
    12: (0.1046, 0.1084, 0.1094),
    13: (0.0897, 0.0934, 0.0938),
    14: (0.0747, 0.0785, 0.0781),
    15: (0.0673, 0.0710, 0.0703),
    16: (0.0598, 0.0635, 0.0625),
    17: (0.0538, 0.0575, 0.0563),
    18: (0.0478, 0.0516, 0.0500),
    19: (0.0418, 0.0456, 0.0438),
    20: (0.0359, 0.0396, 0.0375),
    21: (0.0329, 0.0366, 0.0344),
    22: (0.0299, 0.0336, 0.0313),
    23: (0.0269, 0.0306, 0.0281),
    24: (0.0239, 0.0276, 0.0250),
    25: (0.0209, 0.0247, 0.0219),
    26: (0.0179, 0.0217, 0.0188),
    27: (0.0164, 0.0202, 0.0172),
    28: (0.0149, 0.0187, 0.0156),
}
_BROWN_AND_SHARPE = range(37)


def gauge_thickness(kind: Kind, number: int) -> float:
    """The thickness of a sheet by its gauge number.

    kind: "steel", "galvanised", "stainless" or "aluminium". number: 8 to 28, for aluminium 0 to 36.
    Returns the nominal thickness [mm]; measure the sheet before trusting a gauge stamped on it.
    Raises NotListedError for another kind or number.

    >>> [round(gauge_thickness(kind, 16) / 25.4, 4) for kind in ("steel", "galvanised", "aluminium")]
    [0.0598, 0.0635, 0.0508]
    """
    if kind == "aluminium":
        _check(kind, number, _BROWN_AND_SHARPE)
        return float(25.4 * 0.005 * 92 ** ((36 - number) / 39))
    column = _COLUMNS.get(kind)
    if column is None:
        refuse_name("sheet gauge", kind, (*_COLUMNS, "aluminium"))
    _check(kind, number, range(8, 29))
    return 25.4 * _INCHES[number][column]


def _check(kind: str, number: int, listed: range) -> None:
    if isinstance(number, bool) or number not in listed:
        span = f"{listed.start} to {listed.stop - 1}"
        raise NotListedError(f"the {kind} gauges listed are whole numbers from {span}: there is no {number}")


# [mm] of sheet as stockists usually have it: common practice
USUAL_THICKNESSES = (0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
_USUAL_GAUGES = (22, 20, 18, 16, 14, 12, 11, 10, 8)
_USUAL_PLATES = (0.1875, 0.25, 0.3125, 0.375)  # in


def usual_thicknesses(kind: Kind, *, gauges: bool) -> tuple[float, ...]:
    """The thicknesses [mm] in which sheet is usually sold, thinnest first: metric ones, or gauges and fractions of an inch.

    >>> usual_thicknesses("steel", gauges=False)[:3]
    (0.8, 1.0, 1.2)
    >>> [round(each / 25.4, 3) for each in usual_thicknesses("aluminium", gauges=True)[3:6]]
    [0.051, 0.064, 0.081]
    """
    if not gauges:
        return USUAL_THICKNESSES
    sheets = (gauge_thickness(kind, number) for number in _USUAL_GAUGES)
    return tuple(sorted({*sheets, *(25.4 * inches for inches in _USUAL_PLATES)}))
