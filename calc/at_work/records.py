"""What a step says at the bench: records only, all of it words and figures as they are shown."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: what it is of, the figure with its unit, and what it is measured from or to be read with."""

    label: str
    figure: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Figures that belong in rows; `heads` over the columns, the first of which names the row. worded: the last is words."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    worded: bool = False


@dataclass(frozen=True, slots=True)
class AtWork:
    """What to do in few words, the figures in the order in which they are wanted, tables of more, what to mind.

    first: what has to be seen to before anything is touched.
    """

    words: str
    figures: tuple[Figure, ...] = ()
    tables: tuple[Table, ...] = ()
    minded: tuple[str, ...] = ()
    first: tuple[str, ...] = ()
