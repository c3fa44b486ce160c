"""The rows of the shop: people, settings, rates, jobs, what was planned for them, what was logged, what was measured."""

from fabjobs.models.as_built import Aperture, AsBuilt
from fabjobs.models.improvement import Improvement
from fabjobs.models.job import Fabrication, Job
from fabjobs.models.logged import StepNote, Tick, TimeCorrection, TimeEntry
from fabjobs.models.metal import BoughtIn, Spoiled, SpoiledWork
from fabjobs.models.people import Invitation, Person, Role
from fabjobs.models.photo import Photo, PhotoImage
from fabjobs.models.planned import Part, Revision, Step
from fabjobs.models.rack import Form, MoveKind, StockItem, StockMove
from fabjobs.models.rates import RateBook, SheetPrice
from fabjobs.models.shop import SetUpCode, ShopSettings

__all__ = [
    "Aperture",
    "AsBuilt",
    "BoughtIn",
    "Fabrication",
    "Form",
    "Improvement",
    "Invitation",
    "Job",
    "MoveKind",
    "Part",
    "Person",
    "Photo",
    "PhotoImage",
    "RateBook",
    "Revision",
    "Role",
    "SetUpCode",
    "SheetPrice",
    "ShopSettings",
    "Spoiled",
    "SpoiledWork",
    "Step",
    "StepNote",
    "StockItem",
    "StockMove",
    "Tick",
    "TimeCorrection",
    "TimeEntry",
]
