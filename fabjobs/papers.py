"""The door to calc's papers. They are typeset by WeasyPrint, which needs Pango from the system."""

from collections.abc import Iterator, Mapping

from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.formats import date_format

from calc import Plan
from calc.papers.traveller import Heading, traveller_pdf
from fabjobs.models import Revision, ShopSettings
from fabjobs.paper_check import mark_of
from fabjobs.planning import restore

DAY = "j M Y"
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
    """The papers of a plan that belongs to no job, by file name. Raises `PapersUnavailable`."""
    for name, money in (("traveller.pdf", True), ("traveller-shop.pdf", False)):
        yield name, _traveller(plan, Heading(), money=money)


def of_revision(revision: Revision, shop: ShopSettings, *, money: bool) -> bytes:
    """The traveller of a job, office or shop copy; the same each time it is printed. Raises `PapersUnavailable`."""
    return _traveller(restore(revision), _heading(revision, shop), money=money)


def name_of(revision: Revision, *, money: bool) -> str:
    """What the file is called when someone keeps it."""
    copy = "office" if money else "shop"
    return f"job-{revision.fabrication.job.number}-revision-{revision.number}-{copy}.pdf"


def _heading(revision: Revision, shop: ShopSettings) -> Heading:
    job = revision.fabrication.job
    return Heading(
        shop=shop.name,
        job_number=str(job.number),
        revision=str(revision.number),
        check_code=revision.check_code,
        day=date_format(timezone.localdate(revision.created_at), DAY),
        due=date_format(job.due_day, DAY) if job.due_day else "",
        address=_address(revision, shop),
    )


def _address(revision: Revision, shop: ShopSettings) -> str | None:
    """Where the job is found, with the mark by which its page knows the paper."""
    if not shop.paper_address:
        return None
    page = revision.fabrication.job.get_absolute_url()
    return f"{shop.paper_address.rstrip('/')}{page}?paper={mark_of(revision)}"


def _traveller(plan: Plan, heading: Heading, *, money: bool) -> bytes:
    if lacking():
        raise PapersUnavailable(LACKING)
    return traveller_pdf(plan, heading, plan.sheet.making.display, _render, money=money)


def _render(template: str, context: Mapping[str, object]) -> str:
    return render_to_string(template, dict(context))
