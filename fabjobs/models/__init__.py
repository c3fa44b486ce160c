"""The rows of the shop: people, settings, jobs, and what was planned for them."""

from fabjobs.models.job import Fabrication, Job
from fabjobs.models.people import Person
from fabjobs.models.planned import Part, Revision, Step
from fabjobs.models.shop import SetUpCode, ShopSettings

__all__ = ["Fabrication", "Job", "Part", "Person", "Revision", "SetUpCode", "ShopSettings", "Step"]
