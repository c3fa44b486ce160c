"""Photos of a job and of its steps: looked at, added, struck out. Their pictures come by views of their own."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models.functions import Length
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from fabjobs import services
from fabjobs.forms import PhotoForm, StrikeForm
from fabjobs.models import Job, Photo, PhotoImage, Step
from fabjobs.moments import moment
from fabjobs.photos import STRUCK_SHOWN, photos_of
from fabjobs.pictures import PhotoRefused
from fabjobs.requests import ShopRequest
from fabjobs.views.gone_step import StepIsGone
from fabjobs.views.guards import for_hands
from fabjobs.views.job import job_for
from fabjobs.views.pages import page_of
from fabjobs.views.steps import NOT_WHOLE, step_for

PHOTOS_A_PAGE = 48
KEPT_BY_THE_BROWSER = "private, max-age=86400"  # a photo never changes; cookies tell one person's from another's
STATUS: dict[type[Exception], int] = {PhotoRefused: 422, services.SentBefore: 409, services.NoRoomForPhotos: 507}
STEP_WENT = "The step was planned anew meanwhile and is no longer made. The photo was kept on the job."


def photo_for(job: Job, photo: int) -> Photo:
    """A photo of a job that this person may see."""
    found = photos_of(job).filter(pk=photo).first()
    if found is None:
        raise Http404(f"Job {job.number} has no such photo.")
    return found


@for_hands
@require_safe
def list_photos(request: ShopRequest, number: int) -> HttpResponse:
    """All photos of a job, and a form for one more."""
    said = STEP_WENT if "step-went" in request.GET else ""
    return _page(request, job_for(request.user, number), said=said)


@for_hands
@require_safe
def show_photo(request: ShopRequest, number: int, photo: int) -> HttpResponse:
    """One photo, large."""
    job = job_for(request.user, number)
    return _one(request, job, photo_for(job, photo))


@for_hands
@require_safe
def send_picture(request: ShopRequest, number: int, photo: int, *, size: str) -> HttpResponse:
    """The picture itself, JPEG, while it is not struck out."""
    job = job_for(request.user, number)
    of = PhotoImage.objects.filter(photo__pk=photo, photo__job=job, photo__struck_at=None)
    content = of.values_list(size, flat=True).first()
    if content is None:
        raise Http404(f"Job {job.number} has no such photo.")
    response = HttpResponse(bytes(content), content_type="image/jpeg")
    response["Content-Disposition"] = f'inline; filename="job-{job.number}-photo-{photo}.jpg"'
    response["Cache-Control"] = KEPT_BY_THE_BROWSER
    response["X-Content-Type-Options"] = "nosniff"
    return response


@for_hands
@require_POST
def add_photo(request: ShopRequest, number: int) -> HttpResponse:
    """A photo of a job."""
    return _add(request, job_for(request.user, number), None)


@for_hands
@require_POST
def add_step_photo(request: ShopRequest, number: int, step: int) -> HttpResponse:
    """A photo of a step; where that was planned away meanwhile, of the job, since nobody takes a photo twice gladly."""
    try:
        return _add(request, *step_for(request.user, number, step))
    except StepIsGone as gone:
        return _add(request, gone.job, None, step_went=True)


@for_hands
@require_POST
def strike_photo(request: ShopRequest, number: int, photo: int) -> HttpResponse:
    """Strike a photo out, one's own or for an owner any, with the reason: it shows no more, and stays."""
    job = job_for(request.user, number)
    found, form = photo_for(job, photo), StrikeForm(request.POST)
    if not _may_strike(request, found):
        raise PermissionDenied
    if not form.is_valid():
        said = " ".join(str(text) for errors in form.errors.values() for text in errors)
        return _one(request, job, found, said=said, status=422)
    try:
        services.line_strike(line=found, why=form.cleaned_data["why"], by=request.user)
    except services.LineIsStruck:
        when = f" {moment(found.struck_at)}" if found.struck_at else ""
        said = f"{found.struck_by} struck that photo out{when}: {found.struck_why}"
        return _one(request, job, found, said=said, status=409)
    return redirect("photos", number)


def _may_strike(request: ShopRequest, photo: Photo) -> bool:
    return request.user.is_owner or photo.by_id == request.user.pk


def _add(request: ShopRequest, job: Job, step: Step | None, *, step_went: bool = False) -> HttpResponse:
    form = PhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, job, step, form=form, said="" if form.is_whole else NOT_WHOLE, status=422)
    given = form.cleaned_data
    again = PhotoForm(initial={"caption": given["caption"]})
    kept = {"sent": form.sent, "caption": given["caption"], "form_key": given["form_key"]}
    try:
        services.photo_add(job=job, step=step, by=request.user, **kept)
    except (PhotoRefused, services.SentBefore, services.NoRoomForPhotos) as error:
        return _page(request, job, step, form=again, said=str(error), status=STATUS[type(error)])
    except services.StepChanged:
        return _add(request, job, None, step_went=True)
    if step is not None:
        return redirect(f"{reverse('step', args=[job.number, step.pk])}#photos")
    path = reverse("photos", args=[job.number])
    return redirect(f"{path}?step-went" if step_went else path)


def _one(request: ShopRequest, job: Job, photo: Photo, *, said: str = "", status: int = 200) -> HttpResponse:
    standing = Photo.objects.filter(job=job, struck_at=None).order_by("pk").values_list("pk", flat=True)
    own_size = PhotoImage.objects.filter(photo=photo).values_list(Length("large"), flat=True).first()
    context = {
        "job": job,
        "photo": photo,
        "bytes": own_size,  # `photo.size` is what both its pictures take
        "may_strike": _may_strike(request, photo),
        "said": said,
        "newer": standing.filter(pk__gt=photo.pk).first(),
        "older": standing.filter(pk__lt=photo.pk).last(),
    }
    return render(request, "photos/photo.html", context, status=status)


def _page(
    request: ShopRequest,
    job: Job,
    step: Step | None = None,
    *,
    form: PhotoForm | None = None,
    said: str = "",
    status: int = 200,
) -> HttpResponse:
    photos = photos_of(job, step)
    context: dict[str, Any] = {
        "job": job,
        "step": step,
        "page": page_of(photos.filter(struck_at=None), request, PHOTOS_A_PAGE),
        "struck": photos.exclude(struck_at=None)[:STRUCK_SHOWN],
        "form": form or PhotoForm(),
        "said": said,
    }
    return render(request, "photos/page.html", context, status=status)
