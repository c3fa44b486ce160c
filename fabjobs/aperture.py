"""The opening that a tray is let into: from the tray as it was measured, never from the drawing."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from calc import drawing
from calc.aperture import Aperture as Opened
from calc.aperture import Corner, Cutting, Place, SetOut, open_up, set_out
from calc.units import Display
from fabjobs.as_built import Trays, Tray
from fabjobs.drawings import WHOLE
from fabjobs.models import Aperture, Fabrication

PLACE = ("corner", "from_end", "from_edge", "from_edge_next")
CUTTING = ("clearance", "cutter_radius", "bench_thickness")


@dataclass(frozen=True)
class Opening:
    """A tray's opening, cut and placed by the figures that were kept last."""

    tray: Tray
    row: Aperture

    @property
    def display(self) -> Display:
        return self.tray.by.plan.sheet.making.display

    @property
    def place(self) -> Place:
        return Place(**{name: getattr(self.row, name) for name in PLACE})

    @cached_property
    def opened(self) -> Opened | None:
        """The opening; None while the tray is not measured, or stands free."""
        if self.tray.fit is None:
            return None
        cutting = Cutting(**{name: getattr(self.row, name) for name in CUTTING})
        return open_up(self.tray.by.plan, self.tray.fit.outline, cutting)

    @property
    def may_be_cut(self) -> bool:
        return self.opened is not None and not self.opened.faults

    @cached_property
    def points(self) -> tuple[SetOut, ...]:
        """Its corners from the bench's end and edge."""
        return set_out(self.opened, self.place) if self.opened else ()

    @property
    def corners(self) -> Iterator[tuple[SetOut, Corner]]:
        """Each corner with what is done there."""
        if self.opened:
            yield from zip(self.points, self.opened.corners, strict=True)

    @property
    def drawing(self) -> SafeString:
        if self.opened is None:
            return mark_safe("")
        return mark_safe(drawing.aperture_view(self.opened, self.points, self.display, width=WHOLE))


def opening_of(tray: Tray) -> Opening | None:
    """The opening of a measured tray by the figures kept for it; None where there are none."""
    row = _kept(tray.now.revision.fabrication).filter(copy=tray.number).first()
    return None if row is None or tray.fit is None else Opening(tray, row)


def figures_to_begin_with(trays: Trays, tray: Tray) -> dict[str, Any]:
    """What the form begins with [mm]: the figures kept for this tray; else the cutter and clearance that were last used on
    another of the job; else the usual ones, and the bench that the sheet names."""
    rows = list(_kept(trays.revision.fabrication))
    own = next((row for row in rows if row.copy == tray.number), None)
    if own is not None:
        return {name: getattr(own, name) for name in (*CUTTING, *PLACE)}
    usual = rows[0] if rows else Cutting(bench_thickness=trays.plan.sheet.bench.thickness)
    return {name: getattr(usual, name) for name in CUTTING}


def _kept(fabrication: Fabrication) -> Any:
    """The figures that stand for each tray, the newest first."""
    return Aperture.objects.filter(fabrication=fabrication).standing().select_related("by").order_by("-pk")
