"""What a photo shows, in words, for who does not see it."""

from django import template

from fabjobs.models import Photo
from fabjobs.moments import moment

register = template.Library()


@register.filter
def shows(photo: Photo) -> str:
    """Its caption; without one, what it is of, whose it is and from when."""
    if photo.caption:
        return photo.caption
    of = f"step {photo.step.position}" if photo.step is not None else "the job"
    return f"Photo of {of} by {photo.by}, {moment(photo.at)}"
