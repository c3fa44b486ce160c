from collections.abc import Sequence
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet

from fabjobs.requests import ShopRequest


def page_of(rows: QuerySet[Any] | Sequence[Any], request: ShopRequest, size: int) -> Page[Any]:
    """The page that `?page=` asks for; anything else than a page that exists is the nearest one."""
    return Paginator(rows, size).get_page(request.GET.get("page"))
