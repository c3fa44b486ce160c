"""A photo as it was sent, made anew: turned upright, brought down to size, and written as JPEG with nothing but the picture in
it, so that neither the place where it was taken nor what the camera knew of its owner is kept.
"""

import contextlib
import io
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from threading import Lock

from PIL import Image, ImageFile, ImageOps, UnidentifiedImageError

READ = ("JPEG", "PNG", "WEBP")
LARGEST_SENT = 15_000_000  # bytes
MOST_PIXELS = 65_000_000  # more than a telephone's camera takes, and what this computer has room to unfold
LARGE, SMALL = 1600, 320  # [pixels] of the longer side
QUALITY = 75  # of JPEG: a quarter smaller than at 82, and no seam or mark looks otherwise
# Every way in which reading an image that is not whole goes wrong.
DAMAGE = (
    *(OSError, SyntaxError, ValueError, TypeError, LookupError, EOFError, OverflowError, AttributeError),
    *(MemoryError, RuntimeError, ZeroDivisionError, struct.error, zlib.error),
)
HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif", b"avis")
WHAT_WOULD_DO = "Send it as JPEG, PNG or WebP: a camera's settings offer JPEG; a screenshot of the photo does as well."
_one_at_a_time = Lock()  # an image unfolds to some hundred megabytes; eight at once might be more than there is


class PhotoRefused(Exception):
    """The file can't be kept as a photo; the text says why, and what would do."""


@dataclass(frozen=True, slots=True)
class Pictures:
    """A photo large and small, both JPEG; width and height of the large one [pixels]."""

    large: bytes
    small: bytes
    width: int
    height: int


def pictures_of(sent: bytes) -> Pictures:
    """A file that was sent, as the pictures that are kept. Raises `PhotoRefused`.

    >>> file = io.BytesIO()
    >>> Image.new("RGB", (4000, 1000), "white").save(file, "PNG")
    >>> made = pictures_of(file.getvalue())
    >>> made.width, made.height, made.large[:2] == made.small[:2] == bytes([255, 216])
    (1600, 400, True)
    """
    if not sent:
        raise PhotoRefused("That file is empty. Take or choose the photo again.")
    if len(sent) > LARGEST_SENT:
        raise PhotoRefused(too_large(len(sent)))
    with _one_at_a_time:
        try:
            with _whole_files_only():
                large = _drawn(sent)
        except (Image.DecompressionBombError, Image.DecompressionBombWarning):
            raise PhotoRefused(_too_many_pixels()) from None
        except DAMAGE:
            raise PhotoRefused(
                "That photo is not whole: it was cut short or damaged on its way. Take or choose it again."
            ) from None
        small = large.copy()
        small.thumbnail((SMALL, SMALL), Image.Resampling.LANCZOS)
        return Pictures(_jpeg(large), _jpeg(small), large.width, large.height)


@contextlib.contextmanager
def _whole_files_only() -> Iterator[None]:
    """What prints papers lets Pillow, for the whole process, fill in grey what a file that is cut short lacks."""
    lenient = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = lenient


def too_large(size: int) -> str:
    """What to say of a file of so many bytes.

    >>> too_large(23_400_000).split("; ")[0]
    'That file is 23.4 MB'
    """
    return (
        f"That file is {size / 1e6:.1f} MB; a photo may be up to {LARGEST_SENT / 1e6:.0f} MB."
        " Set the camera to a smaller size, or send a screenshot of the photo."
    )


def _drawn(sent: bytes) -> Image.Image:
    """The picture upright on white, at the size that is kept, in an image of its own that carries nothing else."""
    image = _opened(sent)
    if image.width * image.height > MOST_PIXELS:
        raise PhotoRefused(_too_many_pixels())
    if image.mode in {"1", "P", "PA"}:  # colours that can't be blended as they are
        image = image.convert("RGBA")
    image.thumbnail((LARGE, LARGE), Image.Resampling.LANCZOS, reducing_gap=3.0)  # of a JPEG only what is needed is read
    image.load()
    with contextlib.suppress(*DAMAGE):  # a mark of how it was held that makes no sense turns nothing
        image = ImageOps.exif_transpose(image)
    clean = Image.new("RGB", image.size, "white")
    if image.has_transparency_data:
        seen = image.convert("RGBA")
        clean.paste(seen, mask=seen.getchannel("A"))
    else:
        clean.paste(image.convert("RGB"))
    return clean


def _opened(sent: bytes) -> Image.Image:
    """The image, its head read. Raises `PhotoRefused` for what is none of the kinds that are read."""
    try:
        return Image.open(io.BytesIO(sent), formats=READ)
    except UnidentifiedImageError:
        if sent[4:8] == b"ftyp" and sent[8:12] in HEIF_BRANDS:
            raise PhotoRefused(f"That photo is HEIC or AVIF, which can't be read here. {WHAT_WOULD_DO}") from None
        raise PhotoRefused(f"That file can't be read as a photo. {WHAT_WOULD_DO}") from None


def _too_many_pixels() -> str:
    most = f"{MOST_PIXELS / 1e6:.0f} million"
    return (
        f"That photo has more than {most} pixels. Set the camera to a smaller size, or send a screenshot of the photo."
    )


def _jpeg(image: Image.Image) -> bytes:
    file = io.BytesIO()
    image.save(file, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    return file.getvalue()
