"""Writes that touch more than one row: keyword-only, atomic, named noun_verb."""

from fabjobs.services.job import job_create
from fabjobs.services.shop import ShopIsTaken, shop_claim

__all__ = ["ShopIsTaken", "job_create", "shop_claim"]
