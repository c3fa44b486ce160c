"""Photos: made anew without metadata, of a job or a step, sent once, served to who may see the job, struck out."""

import contextlib
import io
import re
import shutil
import uuid
from types import SimpleNamespace
from typing import Any, NamedTuple

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, connection, transaction
from django.test import Client
from hypothesis import given
from hypothesis import settings as trials
from hypothesis import strategies as st
from PIL import ExifTags, Image, ImageFile, PngImagePlugin
from pytest_django import DjangoAssertNumQueries

import calc
from fabjobs.models import Job, Person, Photo, PhotoImage, Step
from fabjobs.photos import STRIP
from fabjobs.pictures import LARGE, LARGEST_SENT, SMALL, PhotoRefused, pictures_of
from fabjobs.planning import store
from fabjobs.safekeeping import backups
from fabjobs.services import NoRoomForPhotos, SentBefore, job_create, line_strike, photo_add
from fabjobs.views.photos import PHOTOS_A_PAGE
from tests.conftest import SHEET
from tests.photographed import OWNER_OF_CAMERA, file_of, photo_file

BLUE, WHITE = (20, 40, 160), (255, 255, 255)


@pytest.fixture
def step(job: Job) -> Step:
    return Step.objects.filter(fabrication__job=job, kind="cut")[0]


def sent(content: bytes | None = None, **given: Any) -> dict[str, Any]:
    """What the form sends."""
    file = SimpleUploadedFile("IMG_0001.JPG", photo_file() if content is None else content, "image/jpeg")
    return {"form_key": uuid.uuid4(), "taken": file, "caption": "", **given}


def is_near(pixel: Any, colour: tuple[int, int, int]) -> bool:
    return all(abs(one - other) < 12 for one, other in zip(pixel, colour, strict=True))


# The pictures


def test_nothing_is_left_of_what_the_camera_wrote() -> None:
    file = photo_file()
    before = Image.open(io.BytesIO(file))
    assert before.getexif().get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] == (47.0, 22.0, 7.0)
    assert OWNER_OF_CAMERA.encode() in file
    made = pictures_of(file)
    for content in (made.large, made.small):
        after = Image.open(io.BytesIO(content))
        assert after.format == "JPEG"
        assert not after.getexif()
        assert not {"exif", "xmp", "icc_profile", "comment", "photoshop", "mp"} & set(after.info)
        # JPEG, ISO/IEC 10918-1 annex B: all metadata stand in APPn and COM segments; JFIF's own APP0 says only the density
        assert re.findall(rb"\xff([\xe1-\xef\xfe])", content[: content.index(b"\xff\xda")]) == []
        assert OWNER_OF_CAMERA.encode() not in content


def test_it_is_turned_upright_and_made_smaller() -> None:
    # Orientation 6 (Exif 2.32, table 5): the 0th row is the right hand side, so it is turned a quarter clockwise
    made = pictures_of(photo_file(size=(4000, 3000), orientation=6))
    assert (made.width, made.height) == (LARGE * 3 // 4, LARGE)
    large, small = Image.open(io.BytesIO(made.large)), Image.open(io.BytesIO(made.small))
    assert (large.size, small.size) == ((1200, LARGE), (SMALL * 3 // 4, SMALL))
    # the file's left half is blue: a quarter clockwise brings it to the top
    assert is_near(large.getpixel((600, 100)), BLUE)
    assert is_near(large.getpixel((600, 1500)), WHITE)


def test_a_small_photo_stays_as_large_as_it_is() -> None:
    made = pictures_of(photo_file(size=(300, 200)))
    assert (made.width, made.height) == (300, 200)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16", "CMYK"])
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_images_of_any_kind_of_colour(mode: str, kind: str) -> None:
    image = Image.new(mode, (40, 30))
    try:
        content = file_of(image, kind)
    except OSError:
        pytest.skip(f"no {kind} of {mode}")
    assert pictures_of(content).width == 40


def test_what_shows_through_is_white() -> None:
    image = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    image.paste((*BLUE, 255), (0, 0, 40, 20))
    seen = Image.open(io.BytesIO(pictures_of(file_of(image, "PNG")).large))
    assert is_near(seen.getpixel((20, 5)), BLUE)
    assert is_near(seen.getpixel((20, 35)), WHITE)


HEIC = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(
    200
)  # ISO/IEC 14496-12, 4.3: brand in the file type box


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (HEIC, "HEIC or AVIF, which can't be read here. Send it as JPEG, PNG or WebP"),
        (b"%PDF-1.7 no photo", "can't be read as a photo. Send it as JPEG, PNG or WebP"),
        (b"GIF89a" + bytes(60), "can't be read as a photo"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "can't be read as a photo"),
        (photo_file()[:20_000], "not whole"),
        (photo_file() + bytes(LARGEST_SENT), r"15\.\d MB; a photo may be up to 15 MB"),
    ],
)
def test_what_is_refused_says_what_would_do(content: bytes, words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)  # as it is once a paper was printed
    with pytest.raises(PhotoRefused, match=words):
        pictures_of(content)


@pytest.mark.parametrize("side", [8100, 9500, 14000])  # more than is taken; than warns; than Pillow itself refuses
def test_a_small_file_that_unfolds_to_far_too_many_pixels(side: int) -> None:
    content = file_of(Image.new("1", (side, side)), "PNG")
    assert len(content) < 200_000
    with pytest.raises(PhotoRefused, match="more than 65 million pixels"):
        pictures_of(content)


@trials(max_examples=120)
@given(place=st.floats(0, 1, exclude_max=True), flip=st.integers(1, 255), cut=st.floats(0.01, 1))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_damaged_file_is_read_or_refused_in_words(kind: str, place: float, flip: int, cut: float) -> None:
    damaged = bytearray(WHOLE[kind])
    damaged[int(place * len(damaged))] ^= flip
    with contextlib.suppress(PhotoRefused):
        assert pictures_of(bytes(damaged[: int(cut * len(damaged)) + 1])).width >= 1


WHOLE = {kind: file_of(Image.effect_noise((90, 60), 40).convert("RGB"), kind) for kind in ("JPEG", "PNG", "WEBP")}


def test_what_a_picture_says_in_words_is_not_kept_either() -> None:
    said = PngImagePlugin.PngInfo()
    said.add_text("Author", OWNER_OF_CAMERA)
    made = pictures_of(file_of(Image.new("RGB", (40, 30)), "PNG", pnginfo=said))
    commented = pictures_of(file_of(Image.new("RGB", (40, 30)), "JPEG", comment=OWNER_OF_CAMERA.encode()))
    assert OWNER_OF_CAMERA.encode() not in made.large + made.small + commented.large + commented.small


# The pages


def test_a_photo_of_a_step_shows_on_its_page_and_the_jobs(signed_in: Client, job: Job, step: Step) -> None:
    path = f"/jobs/1/steps/{step.pk}/"
    page = signed_in.get(path).content.decode()
    assert 'type="file" name="taken" accept="image/*" capture="environment"' in page
    assert "up to 15 MB" in page
    answer = signed_in.post(f"{path}photo", sent(caption="Nick in the long edge"))
    assert answer["Location"] == f"{path}#photos"
    photo = Photo.objects.get()
    assert (photo.step, photo.job, photo.by.username) == (step, job, "edda")
    assert len(photo.image.large) + len(photo.image.small) == photo.size
    for where in (path, "/jobs/1/", "/jobs/1/photos/", f"/jobs/1/photos/{photo.pk}/"):
        assert 'alt="Nick in the long edge"' in signed_in.get(where).content.decode(), where


def test_the_size_that_is_told_is_that_of_the_file_that_is_shown(signed_in: Client, job: Job) -> None:
    signed_in.post("/jobs/1/photos/add", sent())
    photo = Photo.objects.get()
    picture = signed_in.get(f"/jobs/1/photos/{photo.pk}/large.jpg").content
    page = signed_in.get(f"/jobs/1/photos/{photo.pk}/").content.decode()
    assert f"1600 x 1067, {len(picture) / 1000:.1f} kB." in page


def test_a_photo_without_a_caption_has_words_all_the_same(signed_in: Client, job: Job, step: Step) -> None:
    signed_in.post(f"/jobs/1/steps/{step.pk}/photo", sent())
    signed_in.post("/jobs/1/photos/add", sent(photo_file(size=(300, 300))))
    page = signed_in.get("/jobs/1/photos/").content.decode()
    assert re.findall('alt="(Photo of [^"]*) by edda, at ', page) == [
        "Photo of the job",
        f"Photo of step {step.position}",
    ]


@pytest.mark.parametrize("field", ["taken", "chosen"])
def test_taken_now_or_before(signed_in: Client, job: Job, field: str) -> None:
    form = sent()
    form[field] = form.pop("taken")
    assert signed_in.post("/jobs/1/photos/add", form)["Location"] == "/jobs/1/photos/"
    assert Photo.objects.count() == 1


def test_sent_twice_it_is_one(signed_in: Client, job: Job) -> None:
    key = uuid.uuid4()
    for _ in range(2):
        assert signed_in.post("/jobs/1/photos/add", sent(form_key=key)).status_code == 302
    assert Photo.objects.count() == PhotoImage.objects.count() == 1
    other = signed_in.post("/jobs/1/photos/add", sent(photo_file(size=(90, 90)), form_key=key, caption="x"))
    assert other.status_code == 409
    assert "This form was sent already" in other.content.decode()
    again = signed_in.post("/jobs/1/photos/add", sent(caption="typed"))
    assert again.status_code == 409
    page = again.content.decode()
    assert "This photo is here already: edda sent it at" in page
    assert 'value="typed"' in page
    assert Photo.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"taken": HEIC}, "HEIC or AVIF"),
        ({"taken": b""}, "That file is empty."),
        ({"taken": ""}, "No photo came with the form."),
        ({"taken": bytes(LARGEST_SENT + 1)}, "That file is 15.0 MB; a photo may be up to"),
        ({"caption": "two\nlines"}, "must be one line of plain text"),
        ({"caption": "x" * 201}, "at most 200 characters"),
        ({"chosen": b"b"}, "Two photos were given."),
        ({"form_key": "x"}, "That form was not whole."),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_kept(
    signed_in: Client, job: Job, step: Step, change: dict[str, Any], words: str
) -> None:
    for path in ("/jobs/1/photos/add", f"/jobs/1/steps/{step.pk}/photo"):
        files = {name: SimpleUploadedFile("a", given) for name, given in change.items() if isinstance(given, bytes)}
        answer = signed_in.post(path, sent(**change | files))
        assert answer.status_code == 422
        page = answer.content.decode()
        assert words in page
        if "caption" not in change:
            continue
        assert f'value="{change["caption"]}"' in page.replace("\r", "")
    assert not Photo.objects.exists()


def test_the_picture_comes_as_what_it_is_to_who_may_see_the_job(signed_in: Client, job: Job, owner: Person) -> None:
    photo = photo_add(job=job, sent=photo_file(), by=owner, form_key=uuid.uuid4())
    for size, longest in (("large", LARGE), ("small", SMALL)):
        answer = signed_in.get(f"/jobs/1/photos/{photo.pk}/{size}.jpg")
        assert answer["Content-Type"] == "image/jpeg"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["Cache-Control"] == "private, max-age=86400"
        assert "Cookie" in answer["Vary"]
        assert max(Image.open(io.BytesIO(answer.content)).size) == longest


def test_only_of_its_own_job_and_only_signed_in(signed_in: Client, job: Job, owner: Person, plan: calc.Plan) -> None:
    photo = photo_add(job=job, sent=photo_file(), by=owner, form_key=uuid.uuid4())
    job_create(plan=plan, due_day=None, by=owner)
    for rest in ("", "large.jpg", "small.jpg"):
        assert signed_in.get(f"/jobs/1/photos/{photo.pk}/{rest}").status_code == 200
        for path in (f"/jobs/2/photos/{photo.pk}/{rest}", f"/jobs/1/photos/{photo.pk + 9}/{rest}"):
            assert signed_in.get(path).status_code == 404
        assert Client().get(f"/jobs/1/photos/{photo.pk}/{rest}").status_code == 302
    assert signed_in.post(f"/jobs/2/photos/{photo.pk}/strike", {"why": "x"}).status_code == 404
    for path in ("/jobs/9/photos/", "/jobs/1/photos/99/"):
        assert signed_in.get(path).status_code == 404
    for path in ("/jobs/9/photos/add", "/jobs/1/steps/9999999/photo"):
        assert signed_in.post(path, sent()).status_code == 404


def test_what_somebody_sends_who_is_not_signed_in_is_not_even_looked_at(client: Client, job: Job) -> None:
    answer = client.post("/jobs/1/photos/add", sent())
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in")
    assert not answer.wsgi_request.FILES


def test_a_file_sent_to_another_page_is_not_taken(signed_in: Client, job: Job, step: Step) -> None:
    form = {"text": "a note", "form_key": uuid.uuid4(), "taken": SimpleUploadedFile("a.jpg", bytes(5_000_000))}
    answer = signed_in.post(f"/jobs/1/steps/{step.pk}/note", form)
    assert answer.status_code == 302
    assert not answer.wsgi_request.FILES
    many = {f"file{place}": SimpleUploadedFile("a.jpg", b"a") for place in range(3)}
    assert signed_in.post("/jobs/1/photos/add", sent(**many)).status_code == 400


@pytest.mark.parametrize("path", ["/jobs/1/photos/", "/jobs/1/photos/1/", "/jobs/1/photos/1/large.jpg"])
def test_looked_at_only(signed_in: Client, job: Job, path: str) -> None:
    assert signed_in.post(path).status_code == 405


@pytest.mark.parametrize("path", ["photos/add", "photos/1/strike", "steps/1/photo"])
def test_sent_only(signed_in: Client, job: Job, path: str) -> None:
    assert signed_in.get(f"/jobs/1/{path}").status_code == 405


# Struck out


def test_struck_out_it_shows_no_more_and_stays(signed_in: Client, job: Job, step: Step, owner: Person) -> None:
    photo = photo_add(job=job, step=step, sent=photo_file(), by=owner, form_key=uuid.uuid4(), caption="Wrong tray")
    path = f"/jobs/1/photos/{photo.pk}/"
    unsaid = signed_in.post(f"{path}strike", {"why": " "})
    assert unsaid.status_code == 422
    assert "Say why the line is struck out." in unsaid.content.decode()
    for _ in range(2):
        assert signed_in.post(f"{path}strike", {"why": "of another job"}).status_code == 302
    other = Client()
    other.force_login(Person.objects.create_user("bo", role="owner"))
    late = other.post(f"{path}strike", {"why": "mine"})
    assert late.status_code == 409
    assert "edda struck that photo out at" in late.content.decode()
    for where in ("/jobs/1/", f"/jobs/1/steps/{step.pk}/", "/jobs/1/photos/", path):
        page = signed_in.get(where).content.decode()
        assert "<img" not in page, where
    assert "edda struck it out" in signed_in.get("/jobs/1/photos/").content.decode()
    for size in ("large", "small"):
        assert signed_in.get(f"{path}{size}.jpg").status_code == 404
    photo.refresh_from_db()
    assert (photo.struck_why, photo.struck_by) == ("of another job", owner)
    assert photo.image.large
    again = photo_add(job=job, step=step, sent=photo_file(), by=owner, form_key=uuid.uuid4())
    assert again.pk != photo.pk


def test_the_rows_keep_their_rules(job: Job, owner: Person) -> None:
    photo = photo_add(job=job, sent=photo_file(), by=owner, form_key=uuid.uuid4())
    for change in ({"width": 0}, {"struck_why": "no person"}, {"struck_at": photo.at}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Photo.objects.filter(pk=photo.pk).update(**change)
    line_strike(line=photo, why="blurred", by=owner)
    with pytest.raises(IntegrityError), transaction.atomic():
        Photo.objects.filter(pk=photo.pk).update(struck_why="")


# What goes wrong


class Usage(NamedTuple):
    total: int
    used: int
    free: int


def test_where_the_disk_is_nearly_full_photos_stand_back(
    signed_in: Client, job: Job, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.DATA.mkdir()
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(10**12, 10**12 - 10**8, 10**8))
    answer = signed_in.post("/jobs/1/photos/add", sent(caption="typed"))
    assert answer.status_code == 507
    assert "nearly full, so the photo was not kept. Ticks and times still are." in answer.content.decode()
    assert 'value="typed"' in answer.content.decode()
    assert not Photo.objects.exists()


@pytest.mark.parametrize(("elsewhere", "status"), [(False, 507), (True, 302)])
def test_photos_leave_room_for_the_nights_backup(
    signed_in: Client, job: Job, settings: Any, monkeypatch: pytest.MonkeyPatch, elsewhere: bool, status: int
) -> None:
    """Of a database of 1 GB it writes a copy and a file of up to 1 GB more; a disk of its own leaves 2 GB to photos."""
    settings.DATA.mkdir()
    file = settings.DATA / "large.sqlite3"
    with file.open("wb") as sparse:
        sparse.truncate(10**9)
    monkeypatch.setattr(backups, "database_file", lambda: file)
    if elsewhere:
        other_disk = SimpleNamespace(st_dev=settings.DATA.stat().st_dev + 1)
        monkeypatch.setattr(backups, "folder", lambda: SimpleNamespace(exists=lambda: True, stat=lambda: other_disk))
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(10**12, 10**12 - 2 * 10**9, 2 * 10**9))
    assert signed_in.post("/jobs/1/photos/add", sent()).status_code == status


@pytest.mark.django_db(transaction=True)  # SQLite itself takes the whole transaction back
def test_a_disk_that_fills_meanwhile_keeps_none_of_it(job: Job, owner: Person) -> None:
    noise = file_of(Image.effect_noise((1600, 1200), 90), "JPEG", quality=95)
    with connection.cursor() as rows:
        usual = rows.execute("PRAGMA max_page_count").fetchone()[0]
        (pages,) = rows.execute("PRAGMA page_count").fetchone()
        rows.execute(f"PRAGMA max_page_count = {pages + 20}")
        try:
            with pytest.raises(NoRoomForPhotos):
                photo_add(job=job, sent=noise, by=owner, form_key=uuid.uuid4())
        finally:
            rows.execute(f"PRAGMA max_page_count = {usual}")
    assert not Photo.objects.exists()


def test_a_step_that_went_meanwhile_leaves_its_photo_to_the_job(
    signed_in: Client, job: Job, step: Step, owner: Person
) -> None:
    first = job.fabrications.get()
    store(fabrication=first, plan=calc.plan({**SHEET, "shape": {**SHEET["shape"], "depth": 60}}), by=owner)
    gone = Step.objects.order_by("-pk")[0].pk + 1
    answer = signed_in.post(f"/jobs/1/steps/{gone}/photo", sent(caption="kept"))
    assert answer["Location"] == "/jobs/1/photos/?step-went"
    assert "The photo was kept on the job." in signed_in.get(answer["Location"]).content.decode()
    assert Photo.objects.get().step is None


def test_a_step_with_a_photo_stays_when_the_plan_changes(job: Job, step: Step, owner: Person) -> None:
    photo_add(job=job, step=step, sent=photo_file(), by=owner, form_key=uuid.uuid4())
    store(
        fabrication=job.fabrications.get(),
        plan=calc.plan({**SHEET, "shape": {**SHEET["shape"], "depth": 60}}),
        by=owner,
    )
    assert Photo.objects.get().step_id in Step.objects.values_list("pk", flat=True)


def test_the_same_photo_may_stand_on_two_steps_but_once_on_each(job: Job, owner: Person) -> None:
    first, second, *_ = Step.objects.filter(fabrication__job=job)
    for place in (first, second, None):
        photo_add(job=job, step=place, sent=photo_file(), by=owner, form_key=uuid.uuid4())
    with pytest.raises(SentBefore):
        photo_add(job=job, step=first, sent=photo_file(), by=owner, form_key=uuid.uuid4())
    assert Photo.objects.count() == 3


def many(job: Job, owner: Person, count: int, step: Step | None = None) -> None:
    """So many photos, their pictures of a few bytes."""
    rows = [
        Photo(job=job, step=step, by=owner, width=4, height=3, size=2, digest=str(place), caption=f"Photo {place}")
        for place in range(count)
    ]
    images = [PhotoImage(photo=photo, large=b"l", small=b"s") for photo in Photo.objects.bulk_create(rows)]
    PhotoImage.objects.bulk_create(images)


def test_thousands_of_photos_come_a_page_at_a_time(signed_in: Client, job: Job, step: Step, owner: Person) -> None:
    many(job, owner, 3000, step)
    page = signed_in.get("/jobs/1/photos/", {"page": 2}).content.decode()
    assert page.count("<img") == PHOTOS_A_PAGE
    assert "3000 photos" in page
    assert "2 of 63" in page
    for path in ("/jobs/1/", f"/jobs/1/steps/{step.pk}/"):
        assert signed_in.get(path).content.decode().count("<img") == STRIP
    assert "All 3000 photos, or one more" in signed_in.get("/jobs/1/").content.decode()


@pytest.mark.parametrize("count", [1, 40])
def test_a_list_asks_as_often_however_many_and_loads_no_picture(
    signed_in: Client, job: Job, owner: Person, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    many(job, owner, count)
    # session, person, job, how many, photos, struck ones, the running timer, shop
    with django_assert_num_queries(8) as asked:
        signed_in.get("/jobs/1/photos/")
    assert not any("photoimage" in query["sql"] for query in asked.captured_queries)
