"""The door to calc's papers. PDFs are typeset by WeasyPrint, which needs Pango from the system; the others need nothing."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from calc import Plan
from calc.papers.aperture_paper import NotToBeCutError, opening_pdf, opening_template_pdf
from calc.papers.bundle import zipped
from calc.papers.drawing_files import drawing_files, pattern_files
from calc.papers.labels import Label, labels_pdf
from calc.papers.patterns_dxf import patterns_dxf
from calc.papers.takeoff_table import HEAD, takeoff_rows
from calc.papers.templates import templates_pdf
from calc.papers.tiling import PAPERS, Paper
from calc.papers.traveller import Heading, traveller_pdf
from calc.tables.label_sheets import LABEL_SHEETS
from fabjobs.aperture import Opening
from fabjobs.looking_back.csv_file import BYTE_ORDER_MARK, csv_text
from fabjobs.making import thing_of
from fabjobs.models import Form, Revision, ShopSettings
from fabjobs.paper_check import mark_of
from fabjobs.planning import restore

DAY, DAY_AND_HOUR = "j M Y", "j M Y H:i"
USUAL_PAPER = "A4"
PAPER_SIZES = tuple(PAPERS)
LACKING = (
    "papers need Pango, which is not installed. Debian and Ubuntu: apt install libpango-1.0-0 libpangoft2-1.0-0 "
    "libharfbuzz-subset0; macOS: brew install pango; Windows: install MSYS2, then pacman -S mingw-w64-x86_64-pango. "
    "Then start fabjobs again."
)


class PapersUnavailable(Exception):
    """The papers can't be made on this computer; the text says what to install."""


def lacking() -> str:
    """What must be installed before papers can be made; nothing where all is there."""
    try:
        import weasyprint  # noqa: F401, PLC0415 - loads Pango, which may be missing
    except OSError:
        return LACKING
    return ""


def of_sheet(plan: Plan) -> Iterator[tuple[str, bytes]]:
    """The papers of a plan that belongs to no job, by file name; those that need no Pango first.

    Raises `PapersUnavailable` once it comes to the others, where it is missing.
    """
    yield from _files(plan)
    for name, money in (("traveller.pdf", True), ("traveller-shop.pdf", False)):
        yield name, _traveller(plan, Heading(), money=money)
    yield "templates.pdf", _templates(plan, Heading(), PAPERS[USUAL_PAPER])


def of_revision(revision: Revision, shop: ShopSettings, *, money: bool) -> bytes:
    """The traveller of a job, office or shop copy; the same each time it is printed. Raises `PapersUnavailable`."""
    at_work = reverse("work", args=[revision.fabrication.job.number])
    heading = replace(_heading(revision, shop), address=_address(revision, shop, at_work))
    return _traveller(restore(revision), heading, money=money)


def name_of(revision: Revision, *, money: bool) -> str:
    """What the file is called when someone keeps it."""
    copy = "office" if money else "shop"
    return f"job-{revision.fabrication.job.number}-revision-{revision.number}-{copy}.pdf"


@dataclass(frozen=True)
class Kind:
    """A paper to download: the end of its file's name, its type, and how it is made of a plan, a heading, a paper size."""

    ending: str
    content_type: str
    make: Callable[[Plan, Heading, Paper], bytes]

    @property
    def is_shown(self) -> bool:
        """Whether a browser shows it rather than keeps it."""
        return self.content_type == "application/pdf"


def download(revision: Revision, shop: ShopSettings, kind: str, paper: str) -> bytes:
    """One of `KINDS` of a job's revision, templates on paper of this size; the same each time it is asked for.

    Raises `PapersUnavailable` where it takes Pango and there is none.
    """
    return KINDS[kind].make(restore(revision), _heading(revision, shop), PAPERS[paper])


def download_name(revision: Revision, kind: str, paper: str) -> str:
    """What the file is called when someone keeps it."""
    ending = KINDS[kind].ending.format(paper=paper)
    return f"job-{revision.fabrication.job.number}-revision-{revision.number}-{ending}"


def _heading(revision: Revision, shop: ShopSettings) -> Heading:
    job = revision.fabrication.job
    return Heading(
        shop=shop.name,
        job_number=str(job.number),
        revision=str(revision.number),
        check_code=revision.check_code,
        day=date_format(timezone.localdate(revision.created_at), DAY),
        due=date_format(job.due_day, DAY) if job.due_day else "",
        address=_address(revision, shop, job.get_absolute_url()),
    )


def _address(revision: Revision, shop: ShopSettings, page: str) -> str | None:
    """The address of a page, with the mark by which it knows the paper."""
    if not shop.paper_address:
        return None
    return f"{shop.paper_address.rstrip('/')}{page}?paper={mark_of(revision)}"


def of_opening(opening: Opening, shop: ShopSettings, kind: str, paper: str) -> bytes:
    """A tray's opening: the "sheet" for the bench, or its "template" on paper of this size; the same each time.

    Raises NotToBeCutError where it must not be cut, and `PapersUnavailable` where there is no Pango.
    """
    if not opening.may_be_cut:
        raise NotToBeCutError(" ".join(opening.faults))
    if lacking():
        raise PapersUnavailable(LACKING)
    by, opened, display = opening.tray.by, opening.opened, opening.display
    if opened is None:
        raise ValueError("a tray that is not measured has no opening to print")
    heading, which = _heading(by.revision, shop), _measured_by(opening)
    if kind == "template":
        return opening_template_pdf(by.plan, opened, heading, display, _render, paper=PAPERS[paper], which=which)
    return opening_pdf(by.plan, opened, opening.points, heading, display, _render, which=which)


def opening_name(opening: Opening, kind: str, paper: str) -> str:
    """What the file is called when someone keeps it."""
    job = opening.tray.by.revision.fabrication.job.number
    ending = f"{kind}-{paper}" if kind == "template" else kind
    return f"job-{job}-tray-{opening.tray.number}-opening-{ending}.pdf"


def _measured_by(opening: Opening) -> str:
    """Which of several it is cut for, and which measurement of it: a paper by an earlier one is out of date."""
    tray, line = opening.tray, opening.tray.line
    count = tray.by.plan.sheet.quantity
    which = f"{thing_of(tray.by.plan)} {tray.number} of {count}, " if count > 1 else ""
    if line is None:
        return which.removesuffix(", ")
    return f"{which}as {line.by} measured it {date_format(timezone.localtime(line.at), DAY_AND_HOUR)}"


def of_pieces(items: Iterable[Any], shop: ShopSettings, sheet: str, first: int) -> bytes:
    """Labels for pieces of the rack, with their balances, on a sheet of `LABEL_SHEETS` from its label `first`.

    An offcut has one for each that is there; sheets that are alike are a stack, and have one. Raises `PapersUnavailable`.
    """
    if lacking():
        raise PapersUnavailable(LACKING)
    labels = [
        _label(item, shop) for item in items for _ in range(max(1, item.on_hand) if item.form == Form.OFFCUT else 1)
    ]
    return labels_pdf(labels, LABEL_SHEETS[sheet], _render, first=first)


def _label(item: Any, shop: ShopSettings) -> Label:
    display, job = shop.display, item.from_job and item.from_job.job
    return Label(
        number=item.name,
        metal=f"{item.alloy}, {item.thickness:g} mm",
        size=f"{display.figure(item.length)} × {display.length(item.width)}",
        place=item.place,
        origin=f"of job {job.number}" if job else "",
        address=f"{shop.paper_address.rstrip('/')}{item.get_absolute_url()}" if shop.paper_address else None,
    )


def _traveller(plan: Plan, heading: Heading, *, money: bool) -> bytes:
    if lacking():
        raise PapersUnavailable(LACKING)
    return traveller_pdf(plan, heading, plan.sheet.making.display, _render, money=money)


def _templates(plan: Plan, heading: Heading, paper: Paper) -> bytes:
    if lacking():
        raise PapersUnavailable(LACKING)
    return templates_pdf(plan, heading, plan.sheet.making.display, _render, paper=paper)


def _takeoff(plan: Plan) -> bytes:
    return (BYTE_ORDER_MARK + csv_text(HEAD, takeoff_rows(plan, plan.sheet.making.display))).encode("utf-8")


def _drawings(plan: Plan) -> Iterator[tuple[str, bytes]]:
    for files in (pattern_files(plan), drawing_files(plan, plan.sheet.making.display)):
        for name, drawing in files:
            yield name, drawing.encode("utf-8")


def _files(plan: Plan) -> Iterator[tuple[str, bytes]]:
    """What needs no typesetting, by file name."""
    yield "takeoff.csv", _takeoff(plan)
    yield "patterns.dxf", patterns_dxf(plan)
    yield from _drawings(plan)


def _all(plan: Plan, heading: Heading, paper: Paper) -> bytes:
    """Everything in one file, to hand on: the shop's traveller, so that no money goes with it."""
    shop_copy = ("traveller-shop.pdf", _traveller(plan, heading, money=False))
    return zipped([shop_copy, ("templates.pdf", _templates(plan, heading, paper)), *_files(plan)])


KINDS = {
    "templates": Kind("templates-{paper}.pdf", "application/pdf", _templates),
    "patterns": Kind("patterns.dxf", "image/vnd.dxf", lambda plan, _heading, _paper: patterns_dxf(plan)),
    "takeoff": Kind("takeoff.csv", "text/csv; charset=utf-8", lambda plan, _heading, _paper: _takeoff(plan)),
    "drawings": Kind("drawings.zip", "application/zip", lambda plan, _heading, _paper: zipped(_drawings(plan))),
    "papers": Kind("papers-{paper}.zip", "application/zip", _all),
}


def _render(template: str, context: Mapping[str, object]) -> str:
    return render_to_string(template, dict(context))
