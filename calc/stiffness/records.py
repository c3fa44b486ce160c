"""What is told of how stiff a thing is: records only."""

from dataclasses import dataclass

from calc.records import Point


@dataclass(frozen=True, slots=True)
class Bearing:
    """What one load does to a facet: the sag and the stress that count, and by the tables, None where they don't reach.

    load: "filled" or "leaned on". sag [mm], its edges supported. stress [MPa], the equivalent (von Mises) bending stress where
    it is the largest share of what is allowed [MPa] there: in the middle, its edges supported, or at an edge, clamped.
    """

    load: str
    sag: float
    stress: float
    allowed: float
    where: str
    published_sag: float | None = None
    published_stress: float | None = None


@dataclass(frozen=True, slots=True)
class FacetStiffness:
    """How stiff a facet is.

    round_it: the rectangle round it that the tables are read for, its short and its long side [mm]; where an edge is free,
    that edge and the side square to it. sag_borne [mm]: the most sag that is borne. share: of sag or stress that is borne, whichever
    is more, over 1 is too much. governs: which of the two, and of which load. sags_at: where it sags most, seen from above [mm].
    thickness: the thinnest usual sheet that would do [mm], None where none does. rib: the share with a rib along it that halves
    the short side, an estimate; None where it isn't wanted or no such rib can be.
    """

    face: str
    round_it: tuple[float, float]
    has_free_edge: bool
    sag_borne: float
    bearings: tuple[Bearing, ...]
    share: float = 0.0
    governs: str = "sag"
    load: str = ""
    sags_at: Point = (0.0, 0.0)
    thickness: float | None = None
    rib: float | None = None

    @property
    def bearing(self) -> Bearing:
        """What the load does that governs."""
        return next(each for each in self.bearings if each.load == self.load)

    @property
    def most_sag(self) -> float:
        """The greatest sag of any load [mm]."""
        return max(each.sag for each in self.bearings)

    @property
    def most_stressed(self) -> Bearing:
        """The load under which the largest share of the strength is used."""
        return max(self.bearings, key=lambda each: each.stress / each.allowed)

    @property
    def gives(self) -> bool:
        """Whether it is stressed more than is allowed."""
        return self.most_stressed.stress > self.most_stressed.allowed


@dataclass(frozen=True, slots=True)
class Stiffness:
    """How stiff a thing is, facet by facet, in sheet of a thickness [mm].

    proof, welded: what the metal bears before it gives for good, as it comes and beside a weld [MPa]; factor: by how much
    stress is kept under that. needed: the thinnest usual sheet in which every facet would do [mm]; the present one where it
    does; None where no usual one does.
    """

    facets: tuple[FacetStiffness, ...]
    thickness: float
    proof: float
    welded: float
    factor: float
    source: str
    needed: float | None
    share: float = 0.0
    sag: float = 100.0  # the short span over the sag that is borne

    @property
    def too_soft(self) -> tuple[FacetStiffness, ...]:
        """The facets that bear too little, the worst first."""
        return tuple(sorted((each for each in self.facets if each.share > 1.0), key=lambda each: -each.share))

    @property
    def past_small(self) -> tuple[FacetStiffness, ...]:
        """The facets that are reckoned to sag over half a thickness: in truth less."""
        return tuple(each for each in self.facets if each.most_sag > self.thickness / 2)
