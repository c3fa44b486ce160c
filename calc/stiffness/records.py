"""What is told of how stiff a thing is: records only."""

from dataclasses import dataclass

AT_MOST = 1.02  # of what is borne: less over than what the plates are solved to, two in a hundred, is no too much


@dataclass(frozen=True, slots=True)
class Bearing:
    """What one load does to a facet, and what the tables say of it, None where they don't reach.

    load: "filled" or "leaned on". sag [mm], its edges supported. stress [MPa]: the equivalent (von Mises) bending stress where
    it is the largest share of what is allowed [MPa] there, in the middle, its edges supported, or at an edge, clamped.
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

    round_it [mm]: the rectangle round it that the tables are read for, its short and its long side; where an edge is free, that
    edge and the side square to it. sag_borne [mm]: the most sag that is borne. share: of the sag or the stress that is borne,
    whichever is more; over `AT_MOST` is too much. thickness [mm]: the thinnest usual sheet that would do, the present one
    where that does, None where none does.

    Of one that bears too little: rib, the share of the worse half with a rib along its middle, None with a free edge and where
    many facets are too soft; swept, the share with no chips left lying, None where none lie.
    """

    face: str
    round_it: tuple[float, float]
    has_free_edge: bool
    sag_borne: float
    bearings: tuple[Bearing, ...]
    share: float
    thickness: float | None
    rib: float | None
    swept: float | None = None

    @property
    def sags_most(self) -> Bearing:
        """What the load does under which it sags most."""
        return max(self.bearings, key=lambda each: each.sag)

    @property
    def stressed_most(self) -> Bearing:
        """What the load does under which the largest share of the strength is used."""
        return max(self.bearings, key=lambda each: each.stress / each.allowed)

    @property
    def gives(self) -> bool:
        """Whether it is stressed more than is allowed, so that it may stay bent."""
        return self.stressed_most.stress > AT_MOST * self.stressed_most.allowed

    @property
    def sags(self) -> bool:
        """Whether it sags more than is borne."""
        return self.sags_most.sag > AT_MOST * self.sag_borne

    @property
    def is_soft(self) -> bool:
        """Whether it bears too little."""
        return self.share > AT_MOST


@dataclass(frozen=True, slots=True)
class Stiffness:
    """How stiff a thing is, facet by facet, in sheet of a thickness [mm].

    proof, welded [MPa]: what the metal bears before it stays bent, as it comes and beside a weld, from `source`; factor: by how
    much stress is kept under that. needed [mm]: the thinnest usual sheet in which every facet would do, the present one where
    that does, None where none does.
    """

    facets: tuple[FacetStiffness, ...]
    thickness: float
    proof: float
    welded: float
    factor: float
    source: str
    needed: float | None

    @property
    def is_enough(self) -> bool:
        """Whether every facet bears what is asked of it."""
        return not any(facet.is_soft for facet in self.facets)

    @property
    def nearest(self) -> FacetStiffness:
        """The facet that comes nearest to what is borne, or is furthest over it."""
        return max(self.facets, key=lambda facet: facet.share)

    @property
    def stretched(self) -> tuple[str, ...]:
        """Facets that are told to sag over half a thickness: the sheet is stretched then, and in truth sags less."""
        return tuple(facet.face for facet in self.facets if facet.sags_most.sag > self.thickness / 2)
