"""Two jobs on one sheet, as their job sheets hold it: the guests on a host's sheets, and a guest's copies that lie elsewhere.

A guest's blanks are laid out with the host's own under the names of their job ("14/A", copy "14/A.1"): outlines only. What is
marked out and folded is the guest's own job's.
"""

import re
from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass, replace

import shapely

from calc.reading import Field
from calc.records import Outline

FARTHEST = 20_000.0  # [mm] no sheet is longer
LEAST_AREA, MOST_AREA = 1e-3, FARTHEST**2  # [mm2] of a blank, of a share
MOST_GUESTS, MOST_PARTS, MOST_COPIES, MOST_SHEETS, MOST_CORNERS = 20, 500, 2_000, 2_000, 200
MOST_PRICE = "999999.99"
LONGEST_JOB, LONGEST_NAME = 20, 80
PLACE = re.compile(r"\bjob ([^\s,]+), sheet ([0-9]+)\b")  # as `place_of` writes it
APART = "/"  # between a guest's job and the name of its blank


@dataclass(frozen=True, slots=True)
class GuestPart:
    """A blank of a guest: its name there, its outline [mm], how many copies, and its edges that the guest cuts by hand, by
    the corner each begins at (from 0)."""

    name: str
    outline: Outline
    count: int
    by_hand: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Charge:
    """What a guest takes of the metal of a sheet that was cut into, counted from 1: area [mm2], and its price."""

    sheet: int
    area: float
    price: str


@dataclass(frozen=True, slots=True)
class Guest:
    """Another job whose blanks lie on this one's sheets. charged: its share of those that were cut into, which is settled."""

    job: str
    parts: tuple[GuestPart, ...]
    charged: tuple[Charge, ...] = ()

    def called(self, part: GuestPart) -> str:
        """What this job calls a blank of the guest: "14/A"."""
        return f"{self.job}{APART}{part.name}"


@dataclass(frozen=True, slots=True)
class CopiesElsewhere:
    """Copies of a blank as they are cut there: the blank's outline in its own frame [mm]. turned_over: those of the copies that
    lie there wet face down, their outline on the sheet the mirror image of this one."""

    blank: str
    copies: tuple[int, ...]
    outline: Outline
    turned_over: tuple[int, ...] = ()  # an earlier sheet doesn't say

    @property
    def names(self) -> tuple[str, ...]:
        """The copies: "A.1"."""
        return tuple(f"{self.blank}.{copy}" for copy in self.copies)

    def only(self, names: Container[str]) -> "CopiesElsewhere":
        """Less the copies that are none of these."""
        kept = tuple(copy for copy in self.copies if f"{self.blank}.{copy}" in names)
        return replace(self, copies=kept, turned_over=tuple(copy for copy in self.turned_over if copy in kept))


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Copies that lie on a sheet of another job, counted from 1, and this job's share of its metal: area [mm2], price."""

    job: str
    sheet: int
    area: float
    price: str
    copies: tuple[CopiesElsewhere, ...]

    @property
    def place(self) -> str:
        """Where that is: "job 12, sheet 1"."""
        return place_of(self.job, self.sheet)

    @property
    def count(self) -> int:
        """How many copies lie there."""
        return sum(len(of.copies) for of in self.copies)

    @property
    def names(self) -> Iterator[str]:
        """The copies that lie there: "A.1"."""
        return (name for of in self.copies for name in of.names)

    def only(self, names: Container[str]) -> "Elsewhere":
        """Less the copies that are none of these ("A.1")."""
        kept = (of.only(names) for of in self.copies)
        return replace(self, copies=tuple(of for of in kept if of.copies))


def place_of(job: str, sheet: int) -> str:
    """Where copies lie on another job's sheet, counted from 1, as all words have it: "job 12, sheet 1"."""
    return f"job {job}, sheet {sheet}"


def renumbered(text: str, job: str, numbers: Mapping[int, int]) -> str:
    """A text of a plan that names sheets of a job, those of `numbers` by their new ones.

    >>> renumbered("A.1 lies on job 12, sheet 3, and B.1 on job 12, sheet 2.", "12", {2: 1, 3: 2})
    'A.1 lies on job 12, sheet 2, and B.1 on job 12, sheet 1.'
    """

    def new(found: re.Match[str]) -> str:
        number = int(found[2])
        return place_of(job, numbers.get(number, number)) if found[1] == job else found[0]

    return PLACE.sub(new, text)


def unnumbered(text: str) -> str:
    """A text less the numbers of other jobs' sheets, which move though what lies there stays.

    >>> unnumbered("A.1 lies on job 12, sheet 3, and is cut there.")
    'A.1 lies on job 12, and is cut there.'
    """
    return PLACE.sub(r"job \1", text)


def is_guests(blank: str) -> bool:
    """Whether a blank on a job's sheets is a guest's, by its name.

    >>> is_guests("14/A"), is_guests("A")
    (True, False)
    """
    return APART in blank


def read_guests(item: Field) -> tuple[Guest, ...] | None:
    """The guests of a job sheet, every job once; None where one is at fault."""
    guests = item.list_of(_read_guest, 0, MOST_GUESTS, "guests")
    seen: set[str] = set()
    for index, guest in enumerate(guests or ()):
        if guest.job in seen:
            item.at(index).at("job").fault(f"job {guest.job} is an earlier guest already; give all its blanks there")
        seen.add(guest.job)
    return guests


def _read_guest(item: Field) -> Guest | None:
    if not item.mapping(("job", "parts", "charged"), required=("job", "parts")):
        return None
    job = _read_name(item.at("job"), "the number of the guest's job, such as 14", LONGEST_JOB)
    parts = item.at("parts").list_of(_read_part, 1, MOST_PARTS, "blanks")
    charged = item.at("charged", []).list_of(_read_charge, 0, MOST_SHEETS, "sheets")
    names = [part.name for part in parts or ()]
    for index, name in enumerate(names):
        if name in names[:index]:
            item.at("parts").at(index).at("name").fault(
                f"{name} is an earlier blank of this guest; give its count there"
            )
            return None
    return None if job is None or parts is None or charged is None else Guest(job, parts, charged)


def _read_part(item: Field) -> GuestPart | None:
    if not item.mapping(("name", "outline", "count", "by_hand"), required=("name", "outline", "count")):
        return None
    name = _read_name(item.at("name"), "the name of a blank, such as A", LONGEST_NAME)
    outline, count = _read_outline(item.at("outline")), item.at("count").whole(1, MOST_COPIES)
    by_hand = item.at("by_hand", []).list_of(lambda edge: edge.whole(0, MOST_CORNERS), 0, MOST_CORNERS, "edges")
    if name is None or outline is None or count is None or by_hand is None:
        return None
    return GuestPart(name, outline, count, by_hand)


def _read_charge(item: Field) -> Charge | None:
    if not item.mapping(("sheet", "area", "price"), required=("sheet", "area", "price")):
        return None
    sheet, area, price = _read_share(item)
    return None if sheet is None or area is None or price is None else Charge(sheet, area, price)


def read_elsewhere(item: Field) -> tuple[Elsewhere, ...] | None:
    """The copies that lie elsewhere, every copy once; None where an entry is at fault."""
    entries = item.list_of(_read_elsewhere, 0, MOST_SHEETS, "sheets of other jobs")
    seen: set[str] = set()
    for index, entry in enumerate(entries or ()):
        for name in entry.names:
            if name in seen:
                item.at(index).at("copies").fault(f"{name} lies elsewhere already; a copy lies on one sheet only")
            seen.add(name)
    return entries


def _read_elsewhere(item: Field) -> Elsewhere | None:
    keys = ("job", "sheet", "area", "price", "copies")
    if not item.mapping(keys, required=keys):
        return None
    job = _read_name(item.at("job"), "the number of the job whose sheet it is, such as 12", LONGEST_JOB)
    copies = item.at("copies").list_of(_read_copies, 1, MOST_PARTS, "blanks")
    sheet, area, price = _read_share(item)
    if job is None or copies is None or sheet is None or area is None or price is None:
        return None
    return Elsewhere(job, sheet, area, price, copies)


def _read_copies(item: Field) -> CopiesElsewhere | None:
    keys = ("blank", "copies", "outline")
    if not item.mapping((*keys, "turned_over"), required=keys):
        return None
    blank = _read_name(item.at("blank"), "the name of a blank, such as A", LONGEST_NAME)
    copies = item.at("copies").list_of(_read_copy, 1, MOST_COPIES, "copies")
    over = item.at("turned_over", []).list_of(_read_copy, 0, MOST_COPIES, "copies")
    outline = _read_outline(item.at("outline"))
    if blank is None or copies is None or over is None or outline is None:
        return None
    if not set(over) <= set(copies):
        item.at("turned_over").fault("must be of the copies that lie there; name those that lie wet face down")
        return None
    return CopiesElsewhere(blank, copies, outline, over)


def _read_copy(item: Field) -> int | None:
    return item.whole(1, 1_000_000)


def _read_share(item: Field) -> tuple[int | None, float | None, str | None]:
    sheet, area = item.at("sheet").whole(1, MOST_SHEETS), item.at("area").number(0.0, MOST_AREA, "mm2")
    return sheet, area, item.at("price").money(MOST_PRICE)


def _read_outline(item: Field) -> Outline | None:
    outline = item.list_of(lambda point: point.point(FARTHEST), 3, MOST_CORNERS, "corners")
    if outline is None:
        return None
    shape = shapely.Polygon(outline)
    if not shape.is_valid or shape.area < LEAST_AREA or not shape.exterior.is_ccw:
        item.fault("must be the outline of a blank: anticlockwise, not crossing itself, with metal inside it")
        return None
    return outline


def _read_name(item: Field, what: str, longest: int) -> str | None:
    """A name that the keys of copies and cuts can hold."""
    text = item.text(longest)
    if text is not None and (not text or any(sign.isspace() or sign in ":+|/" for sign in text)):
        item.wrong(what)
        return None
    return text
