"""Changes to the shop's settings. What someone else changed meanwhile is never overwritten unseen."""

from typing import Any

from django.db import transaction

from fabjobs.models import Person, RateBook, SheetPrice, ShopSettings
from fabjobs.stamps import stamp_of


class SettingsAreStale(Exception):
    """They were changed since the form was opened."""


class SheetIsThere(Exception):
    """That metal has another sheet of this label."""

    def __init__(self) -> None:
        super().__init__("That metal has a sheet of this label already.")


class RatesAreStale(Exception):
    """A newer book of rates is in force; `book` is it."""

    def __init__(self, book: RateBook) -> None:
        self.book = book
        super().__init__(str(book))


@transaction.atomic
def shop_change(*, shop: ShopSettings, seen: str) -> None:
    """Keep the settings. seen: the stamp of those that were changed; raises `SettingsAreStale` if they are others now.

    The same change sent twice is made once.
    """
    now = stamp_of(ShopSettings.current())
    if now == stamp_of(shop):
        return
    if now != seen:
        raise SettingsAreStale
    shop.save()


@transaction.atomic
def rates_set(*, figures: dict[str, Any], seen: int, by: Person) -> RateBook:
    """A new book of rates, from now on; the same figures as those in force make none.

    seen: the key of the book that was before the person, 0 for none. Raises `RatesAreStale`.
    """
    book = RateBook.current()
    if book is not None and all(getattr(book, name) == value for name, value in figures.items()):
        return book
    if book is not None and book.pk != seen:
        raise RatesAreStale(book)
    return RateBook.objects.create(created_by=by, **figures)


@transaction.atomic
def sheet_price_add(*, sheet: SheetPrice) -> None:
    """One more sheet. Raises `SheetIsThere` where its label is taken by another size or price; the same twice is one.

    Asked within the transaction, which writes alone: two forms may have been found right at one moment.
    """
    there = _of_that_label(sheet)
    if there is None:
        sheet.save()
    elif (there.length, there.width, there.price) != (sheet.length, sheet.width, sheet.price):
        raise SheetIsThere


@transaction.atomic
def sheet_price_change(*, sheet: SheetPrice, seen: str) -> None:
    """Keep the price of a sheet. seen: the stamp of what was changed; raises `SettingsAreStale` if it is gone or other
    now, `SheetIsThere` where another has its label.

    The same change sent twice is made once.
    """
    now = SheetPrice.objects.filter(pk=sheet.pk).first()
    if now is not None and stamp_of(now) == stamp_of(sheet):
        return
    if now is None or stamp_of(now) != seen:
        raise SettingsAreStale
    if _of_that_label(sheet) is not None:
        raise SheetIsThere
    sheet.save()


def _of_that_label(sheet: SheetPrice) -> SheetPrice | None:
    """Another row that stands where this one would."""
    same = SheetPrice.objects.filter(alloy=sheet.alloy, thickness=sheet.thickness, label=sheet.label)
    return same.exclude(pk=sheet.pk).first()


@transaction.atomic
def sheet_price_take_out(*, key: int, seen: str) -> None:
    """Take a sheet out; gone already is as well. Raises `SettingsAreStale` if it is another now than was `seen`."""
    now = SheetPrice.objects.filter(pk=key).first()
    if now is None:
        return
    if stamp_of(now) != seen:
        raise SettingsAreStale
    now.delete()
