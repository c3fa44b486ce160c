from django.db import transaction

from fabjobs.models import Person, SetUpCode, ShopSettings


class ShopIsTaken(Exception):
    """Someone else claimed the shop first."""


@transaction.atomic
def shop_claim(*, shop: ShopSettings, username: str, password: str) -> Person:
    """Make the first owner and keep the shop's settings; the set-up code is spent. Raises `ShopIsTaken`."""
    if Person.objects.exists():
        raise ShopIsTaken
    owner = Person.objects.create_superuser(username=username, password=password)
    shop.pk = 1
    shop.save()
    SetUpCode.objects.all().delete()
    return owner
