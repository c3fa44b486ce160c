"""General tolerances for what a drawing or an inspection sheet leaves open.

- ISO 2768-1:1989 table 1, linear sizes of cut and folded parts (from memory, read across two prints).
- ISO 13920:1996 table 1, linear sizes of welded work (to 4 m read in print, the rest from memory); table 2, angles.
- EN 485-4:1993, thickness of cold-rolled aluminium sheet, group II (5xxx and 6xxx), over 1000 to 1250 mm wide (the
  row to 2.5 mm from memory).

A size on a limit belongs to the row below, which is the tighter one.
"""

from dataclasses import dataclass
from typing import NamedTuple

from calc.tables.lookup import NotListedError, refuse_name, row_up_to


class Band(NamedTuple):
    """Deviations for sizes up to `up_to` [mm], one for each class; None where the standard gives none."""

    up_to: float
    deviations: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Tolerances:
    """A published table: its name, its classes, where it begins [mm], its bands."""

    name: str
    classes: str
    least: float
    bands: tuple[Band, ...]

    def at(self, size: float, cls: str) -> float:
        """The deviation either way at a size [mm]. Raises NotListedError outside the table."""
        column = self.classes.find(cls) if len(cls) == 1 else -1
        if column < 0:
            refuse_name(f"class of {self.name}", cls, self.classes)
        band = row_up_to(self.bands, size, table=self.name, least=self.least)
        deviation = band.deviations[column]
        if deviation is None:
            raise NotListedError(f"{self.name} gives class {cls} no deviation at {size:g} mm: state one on the drawing")
        return deviation


ISO_2768_1 = Tolerances(
    "ISO 2768-1",
    "fmcv",
    0.5,
    (
        Band(3, (0.05, 0.1, 0.2, None)),
        Band(6, (0.05, 0.1, 0.3, 0.5)),
        Band(30, (0.1, 0.2, 0.5, 1.0)),
        Band(120, (0.15, 0.3, 0.8, 1.5)),
        Band(400, (0.2, 0.5, 1.2, 2.5)),
        Band(1000, (0.3, 0.8, 2.0, 4.0)),
        Band(2000, (0.5, 1.2, 3.0, 6.0)),
        Band(4000, (None, 2.0, 4.0, 8.0)),
    ),
)

ISO_13920 = Tolerances(
    "ISO 13920",
    "ABCD",
    2.0,
    (
        Band(30, (1, 1, 1, 1)),
        Band(120, (1, 2, 3, 4)),
        Band(400, (1, 2, 4, 7)),
        Band(1000, (2, 3, 6, 9)),
        Band(2000, (3, 4, 8, 12)),
        Band(4000, (4, 6, 11, 16)),
        Band(8000, (5, 8, 14, 21)),
        Band(12000, (6, 10, 18, 27)),
        Band(16000, (7, 12, 21, 32)),
        Band(20000, (8, 14, 24, 36)),
    ),
)

ISO_13920_ANGLES = Tolerances(
    "ISO 13920 (angles)",
    "ABCD",
    0.0,
    (
        Band(400, (20 / 60, 45 / 60, 1.0, 1.5)),
        Band(1000, (15 / 60, 30 / 60, 45 / 60, 1.25)),
        Band(float("inf"), (10 / 60, 20 / 60, 30 / 60, 1.0)),
    ),
)

EN_485_4 = Tolerances(
    "EN 485-4 (from 1.5 mm)",
    "2",
    1.5,
    (Band(1.8, (0.12,)), Band(2.0, (0.13,)), Band(2.5, (0.14,)), Band(3.0, (0.15,))),
)


def linear_iso2768(length: float, cls: str = "m") -> float:
    """The tolerance of a linear size by ISO 2768-1.

    length [mm], 0.5 to 4000. cls: "f", "m", "c" or "v". Returns the deviation either way [mm].
    Raises NotListedError for another length or class, and where the standard leaves the cell empty.

    >>> linear_iso2768(120, "m"), linear_iso2768(120.1, "m")
    (0.3, 0.5)
    """
    return ISO_2768_1.at(length, cls)


def linear_iso13920(length: float, cls: str = "B") -> float:
    """The tolerance of a linear size of welded work by ISO 13920.

    length [mm], 2 to 20,000. cls: "A" to "D". Returns the deviation either way [mm].
    Raises NotListedError for another length or class.

    >>> linear_iso13920(884)
    3
    """
    return ISO_13920.at(length, cls)


def angular_iso13920(shorter_leg: float, cls: str = "B") -> float:
    """The tolerance of an angle of welded work by ISO 13920.

    shorter_leg [mm], over 0. cls: "A" to "D". Returns the deviation either way [degrees].
    Raises NotListedError for another class or a leg that isn't above 0.

    >>> angular_iso13920(400, "C"), angular_iso13920(401, "C")
    (1.0, 0.75)
    """
    return ISO_13920_ANGLES.at(shorter_leg, cls)


def thickness_en485(thickness: float, width: float = 1250.0) -> float:
    """The tolerance of the thickness of 5xxx or 6xxx aluminium sheet by EN 485-4.

    thickness [mm], 1.5 to 3. width of the sheet as rolled [mm], to 1250; a narrower one is held no worse.
    Returns the deviation either way [mm]. Raises NotListedError outside that.

    >>> thickness_en485(2.0)
    0.13
    """
    if not 0 < width <= 1250:
        raise NotListedError(f"the EN 485-4 rows listed are for sheet to 1250 mm wide: nothing for {width:g} mm")
    return EN_485_4.at(thickness, "2")
