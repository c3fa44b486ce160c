"""What is measured of a welded tray, and the figures by which its opening is set out: lines are added, none is changed.

Every line carries the key of the form that it came by, so a form sent twice makes one line; sent again with other words it is
refused (`SentBefore`).
"""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import transaction

from fabjobs.models import Aperture, AsBuilt, Fabrication, Person
from fabjobs.services.metal import check_seen
from fabjobs.services.once import line_of_form


@transaction.atomic
def as_built_add(
    *,
    fabrication: Fabrication,
    copy: int,
    measured: Mapping[str, float],
    revision: int,
    by: Person,
    form_key: UUID,
    note: str = "",
) -> AsBuilt:
    """Keep what was measured of a tray (lengths [mm] by key): from now on it is what the tray is.

    revision: the number of the one whose sizes the person saw; raises `PlannedAnew` where it is not the newest any more.
    """
    said: dict[str, Any] = {"fabrication": fabrication, "copy": copy, "measured": dict(measured), "note": note}
    before = line_of_form(AsBuilt, form_key, **said)
    if before is not None:
        return before
    check_seen(fabrication, revision)
    newest = fabrication.revisions.only("pk").get(number=revision)
    return AsBuilt.objects.create(**said, revision=newest, by=by, form_key=form_key)


@transaction.atomic
def aperture_set_out(
    *, fabrication: Fabrication, copy: int, figures: Mapping[str, Any], by: Person, form_key: UUID
) -> Aperture:
    """Keep the figures by which a tray's opening is set out, lengths [mm], under the names of the row's fields."""
    said: dict[str, Any] = {"fabrication": fabrication, "copy": copy, **figures}
    before = line_of_form(Aperture, form_key, **said)
    return before or Aperture.objects.create(**said, by=by, form_key=form_key)
