"""A request as it arrives at a view: past the middleware, so signed in and known to be htmx or not."""

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from fabjobs.models import Person


class ShopRequest(HttpRequest):
    user: Person
    htmx: HtmxDetails
