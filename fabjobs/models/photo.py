"""Photos of the work, on a job or on one of its steps. They are kept in the database, so that a backup has them whole."""

from django.db import models
from django.db.models import Q

from fabjobs.models.job import Job
from fabjobs.models.logged import StrikeableLine
from fabjobs.models.planned import Step

LONGEST_CAPTION = 200


class Photo(StrikeableLine):
    """A photo of a job, or of one of its steps: what is said of it. `digest`: SHA-256 of the file as it was sent."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="photos")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="photos", null=True, blank=True)
    caption = models.CharField(max_length=LONGEST_CAPTION, blank=True, default="")
    width = models.PositiveIntegerField("width, pixels")
    height = models.PositiveIntegerField("height, pixels")
    size = models.PositiveIntegerField("bytes kept")
    digest = models.CharField(max_length=64)

    class Meta:
        ordering = ["job", "pk"]
        indexes = [models.Index(fields=["job", "struck_at"], name="photos_of_a_job")]
        constraints = [
            models.CheckConstraint(
                condition=Q(width__gte=1, height__gte=1, size__gte=1),
                name="photo_has_a_size",
                violation_error_message="A photo is at least one pixel wide and high.",
            ),
            models.CheckConstraint(
                condition=Q(struck_at=None, struck_by=None, struck_why="")
                | Q(struck_at__isnull=False, struck_by__isnull=False) & ~Q(struck_why=""),
                name="photo_struck_for_a_reason",
                violation_error_message="A photo that is struck out says by whom and why.",
            ),
        ]

    def __str__(self) -> str:
        return f"photo: {self.caption}" if self.caption else f"photo by {self.by}"


class PhotoImage(models.Model):
    """The pictures of a photo, JPEG without metadata: apart from it, so that a list of photos never loads them.

    The small one stands first: SQLite would have to read through the large one to come to it.
    """

    photo = models.OneToOneField(Photo, on_delete=models.PROTECT, primary_key=True, related_name="image")
    small = models.BinaryField()
    large = models.BinaryField()

    def __str__(self) -> str:
        return f"pictures of {self.photo}"
