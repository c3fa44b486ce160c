"""What is said of a photo: what it shows, in words, for who does not see it, and how large its file is."""

from django import template

from fabjobs.models import Photo
from fabjobs.moments import moment

register = template.Library()
MEGABYTE = 1_000_000


@register.filter
def file_size(count: int) -> str:
    """How large a file is [bytes].

    >>> file_size(105_579), file_size(1_240_000)
    ('105.6 kB', '1.2 MB')
    """
    return f"{count / 1e6:.1f} MB" if count >= MEGABYTE else f"{count / 1e3:.1f} kB"


@register.filter
def shows(photo: Photo) -> str:
    """Its caption; without one, what it is of, whose it is and from when."""
    if photo.caption:
        return photo.caption
    of = f"step {photo.step.position}" if photo.step is not None else "the job"
    return f"Photo of {of} by {photo.by}, {moment(photo.at)}"
