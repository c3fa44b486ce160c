"""The opening that a tray is let into: from the tray as it was measured, never from the drawing."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from django.db.models import QuerySet
from django.utils.safestring import SafeString, mark_safe

from calc import drawing
from calc.aperture import Aperture as Opened
from calc.aperture import Corner, Cutting, Place, PlaceFault, SetOut, open_up, place_cautions, set_out
from calc.units import Display
from fabjobs.as_built import Tray, Trays
from fabjobs.drawings import PHONE, WHOLE
from fabjobs.models import Aperture, Fabrication
from fabjobs.models.as_built import standing

PLACE = ("corner", "end", "from_end", "from_edge", "from_edge_next")
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
        return place_of(self._figures)

    @property
    def _figures(self) -> dict[str, Any]:
        return {name: getattr(self.row, name) for name in (*CUTTING, *PLACE)}

    @cached_property
    def opened(self) -> Opened | None:
        """The opening, with what to mind where it lies; None while the tray is not measured, or stands free."""
        opened = opened_for(self.tray, self._figures)
        if opened is None:
            return None
        bench = self.row.bench_thickness or self.tray.by.plan.sheet.bench.thickness
        try:
            land = place_cautions(opened, self.place, bench, self.display)
        except PlaceFault:  # told as a fault
            return opened
        return replace(opened, cautions=(*opened.cautions, *land))

    @cached_property
    def faults(self) -> tuple[str, ...]:
        """Why it must not be cut: what it goes by may be wrong or out of date, it can't be cut at all, or it can't lie there; a
        tray that was measured again may not lie where the one before did."""
        if self.opened is None:
            return ()
        found = [*([self.tray.measure_again] if self.tray.measure_again else []), *self.opened.faults]
        try:
            set_out(self.opened, self.place, self.display)
        except PlaceFault as fault:
            found.append(f"{fault.text[:1].upper()}{fault.text[1:]}.")
        return tuple(found)

    @property
    def may_be_cut(self) -> bool:
        return self.opened is not None and not self.faults

    @cached_property
    def points(self) -> tuple[SetOut, ...]:
        """Its corners from the bench's end and edge; none where it can't lie there."""
        try:
            return set_out(self.opened, self.place, self.display) if self.opened else ()
        except PlaceFault:
            return ()

    @property
    def corners(self) -> Iterator[tuple[SetOut, Corner]]:
        """Each corner with what is done there."""
        if self.opened:
            yield from zip(self.points, self.opened.corners, strict=False)

    @property
    def drawing(self) -> SafeString:
        return self._drawn(WHOLE)

    @property
    def at_work(self) -> SafeString:
        """The drawing, as wide as a phone."""
        return self._drawn(PHONE)

    def _drawn(self, width: float) -> SafeString:
        if self.opened is None or not self.points:
            return mark_safe("")
        return mark_safe(drawing.aperture_view(self.opened, self.points, self.display, width=width))


def place_of(figures: Mapping[str, Any]) -> Place:
    return Place(**{name: figures[name] for name in PLACE})


def opened_for(tray: Tray, figures: Mapping[str, Any]) -> Opened | None:
    """The opening for a tray as it was measured; None while it is not, or where it stands free."""
    if tray.line is None or tray.fit is None:
        return None
    cutting = Cutting(**{name: figures[name] for name in CUTTING})
    reach = tray.line.measured.get(tray.by.plan.sheet.shape.seat)
    return open_up(tray.by.plan, tray.fit.outline, cutting, reach)


def check_place(tray: Tray, figures: Mapping[str, Any]) -> None:
    """Raise `calc.aperture.PlaceFault`, under the name of a figure, where the opening can't lie there in the bench."""
    opened = opened_for(tray, figures)
    if opened is not None:
        set_out(opened, place_of(figures), tray.by.plan.sheet.making.display)


def opening_of(tray: Tray) -> Opening | None:
    """The opening of a measured tray by the figures kept for it; None where there are none."""
    row = _kept(tray.now.revision.fabrication).filter(copy=tray.number).first()
    return _opening(tray, row)


def openings_of(trays: Trays) -> Iterator[tuple[Tray, Opening | None]]:
    """Every tray that is let in, with its opening; None while that is not set out."""
    if trays.are_let_in:
        kept = {row.copy: row for row in _kept(trays.revision.fabrication)}
        yield from ((tray, _opening(tray, kept.get(tray.number))) for tray in trays.each)


def _opening(tray: Tray, row: Aperture | None) -> Opening | None:
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


def _kept(fabrication: Fabrication) -> QuerySet[Aperture]:
    """The figures that stand for each tray, the newest first."""
    return standing(Aperture.objects.filter(fabrication=fabrication)).select_related("by").order_by("-pk")
