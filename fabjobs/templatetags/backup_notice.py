"""What home says of the shop's backups: nothing while all is well."""

from django import template
from django.conf import settings
from django.utils import timezone

from fabjobs.safekeeping import backups

register = template.Library()


@register.inclusion_tag("in_hand/_backup.html")
def backup_notice() -> dict[str, object]:
    """No backup, an old one, or one that failed, and what to do. The demo has nothing to lose."""
    return {"standing": None if settings.DEMO else backups.standing(timezone.now())}
