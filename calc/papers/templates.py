"""Templates: every pattern at true size over pages of A4, A3 or Letter, to be joined and laid on the metal."""

from collections.abc import Sequence
from dataclasses import dataclass

from calc import Plan
from calc.papers import cautions
from calc.papers.full_size import FullSize, millimetres
from calc.papers.pattern import Pattern, patterns_of
from calc.papers.template_page import MAP, page_drawing
from calc.papers.tile_frame import bar_of, draw_map
from calc.papers.tiling import BOTTOM, LEFT, PAPERS, Paper, Tile, Tiling, pages_at_least, tile
from calc.papers.traveller import Heading, material, title_of
from calc.papers.typed import Typed, typed
from calc.papers.typeset import Render, typeset
from calc.units import Display

TEMPLATE = "papers/templates.html"
MOST_PAGES = 200  # nobody joins more by hand; what is left over is named, and can be cut from the DXF
ROOM = 500.0  # [pt] the length of a line on the narrowest paper's page of maps
MAP_ROOM = (80.0, 46.0)  # [mm] of a pattern's map on the page of maps


@dataclass(frozen=True, slots=True)
class Tiled:
    """A pattern and its pages; none where it would take too many."""

    pattern: Pattern
    tiling: Tiling | None


def tile_patterns(patterns: Sequence[Pattern], paper: Paper) -> list[Tiled]:
    """Patterns over pages of this paper, numbered through in order, for as long as they are not too many."""
    found, used = [], 0
    for pattern in patterns:
        outline = pattern.blank.cut_outline
        fits = used + pages_at_least(outline, paper) <= MOST_PAGES
        tiling = tile(outline, paper, used + 1) if fits else None
        if tiling and used + len(tiling.tiles) <= MOST_PAGES:
            used += len(tiling.tiles)
            found.append(Tiled(pattern, tiling))
        else:
            found.append(Tiled(pattern, None))
    return found


def templates_html(
    plan: Plan, heading: Heading, display: Display, render: Render, *, paper: Paper, opening: Pattern | None = None
) -> str:
    """The templates as one HTML page with its stylesheet in it.

    opening: of the opening in the bench, which is then printed in place of the plan's blanks.
    """
    return render(TEMPLATE, _contents(plan, heading, display, paper, opening))


def templates_pdf(
    plan: Plan,
    heading: Heading,
    display: Display,
    render: Render,
    *,
    paper: Paper = PAPERS["A4"],
    opening: Pattern | None = None,
) -> bytes:
    """The templates as a PDF on this paper, every line true to a hundredth of a millimetre in the file.

    opening: as `templates_html` has it. The same plan, heading, opening and paper give the same bytes. Raises OSError where
    Pango, which WeasyPrint needs, is missing.
    """
    return typeset(templates_html(plan, heading, display, render, paper=paper, opening=opening))


def _contents(
    plan: Plan, heading: Heading, display: Display, paper: Paper, opening: Pattern | None
) -> dict[str, object]:
    """All that the templates print."""
    tiled = tile_patterns([opening] if opening else patterns_of(plan), paper)
    count = sum(len(each.tiling.tiles) for each in tiled if each.tiling)
    title = title_of(plan)
    return {
        "heading": heading,
        "title": typed(title, 15.0, ROOM),
        # sizes as text: a renderer may write numbers with its language's comma
        "paper": paper.name,
        "paper_width": millimetres(paper.width),
        "paper_height": millimetres(paper.height),
        "foot_left": millimetres(LEFT),
        "foot_top": millimetres(paper.height - BOTTOM),
        "foot_width": millimetres(paper.window[0] - MAP[0] - 4.0),
        "material": "opening in the bench" if opening else material(plan),
        "is_opening": opening is not None,
        "called": "Pattern" if opening else "Blank",
        "bar": bar_of(display)[1],
        "always": cautions.ALWAYS,
        "face_side": plan.sheet.shape.face_side,
        "count": str(count),
        "many": count != 1,
        "words": typed(f"{_identity(heading)}, {heading.day}".strip(", "), 9.0, ROOM),
        "foot_title": typed(title, 7.0, 105.0, lines=1),
        "foot_words": typed(_identity(heading), 7.0, 200.0, lines=1),
        "maps": [_map(each.pattern, each.tiling) for each in tiled if each.tiling],
        "too_large": [each.pattern.blank.name for each in tiled if each.tiling is None],
        "turned_over": not opening and any(blank.mirrored for blank in plan.blanks),
        "has_folds": not opening and any(blank.folds for blank in plan.blanks),
        "has_hand_cuts": not opening and any(blank.hand_cuts for blank in plan.blanks),
        "pages": [
            _page(each.pattern, each.tiling, tile, display, count)
            for each in tiled
            if each.tiling
            for tile in each.tiling.tiles
        ],
    }


def _identity(heading: Heading) -> str:
    """Which job and revision the paper belongs to."""
    parts = (
        f"Job {heading.job_number}" if heading.job_number else "",
        f"revision {heading.revision}" if heading.revision else "",
        f"check code {heading.check_code}" if heading.check_code else "",
    )
    return ", ".join(part for part in parts if part)


def _map(pattern: Pattern, tiling: Tiling) -> dict[str, object]:
    drawing = FullSize()
    draw_map(drawing, pattern, tiling, None, (0.5, 0.5), MAP_ROOM)
    first, last = tiling.tiles[0].number, tiling.tiles[-1].number
    pages = f"page {first}" if first == last else f"pages {first} to {last}"
    return {
        "name": typed(pattern.blank.name, 9.0, 220.0),
        "words": pattern.words,
        "pages": pages + (", turned a quarter" if tiling.turned else ""),
        "drawing": drawing.svg(MAP_ROOM[0] + 1.0, MAP_ROOM[1] + 1.0, f"Pages of {pattern.blank.name}"),
    }


def _page(pattern: Pattern, tiling: Tiling, tile: Tile, display: Display, count: int) -> dict[str, object]:
    return {
        "drawing": page_drawing(pattern, tiling, tile, display),
        "name": typed(pattern.blank.name, 8.0, 90.0, lines=1),
        "words": _elided(pattern.words),
        "number": f"Page {tile.number} of {count}",
        "place": f"row {tile.row + 1} of {tiling.rows}, column {tile.column + 1} of {tiling.columns}",
        "joins": _joins(tiling, tile),
    }


def _elided(words: str) -> Typed:
    return typed(words, 8.0, 190.0, lines=1)


def _joins(tiling: Tiling, tile: Tile) -> str:
    """Which pages come beside this one."""
    sides: Sequence[tuple[str, int, int]] = (("left", -1, 0), ("right", 1, 0), ("above", 0, 1), ("below", 0, -1))
    beside = [(words, tiling.beside(tile, right, up)) for words, right, up in sides]
    return ", ".join(f"{words} {other.number}" for words, other in beside if other)
