"""Photos as a camera writes them: with the place, the time and the owner's name in them."""

import io
from functools import cache
from typing import Any

from PIL import ExifTags, Image

OWNER_OF_CAMERA = "Camera of E. Lindqvist"


def file_of(image: Image.Image, kind: str, **how: Any) -> bytes:
    """The bytes of an image as a file of this kind."""
    file = io.BytesIO()
    image.save(file, kind, **how)
    return file.getvalue()


@cache
def photo_file(size: tuple[int, int] = (1800, 1200), orientation: int = 1) -> bytes:
    """A JPEG with Exif (place, time, camera's owner), XMP and a comment; its left half blue, its right half white."""
    image = Image.effect_noise(size, 8).convert("RGB")
    image.paste((255, 255, 255), (0, 0, *size))
    image.paste((20, 40, 160), (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    exif[ExifTags.Base.Artist] = OWNER_OF_CAMERA
    exif[ExifTags.Base.DateTime] = "2031:05:09 10:42:00"
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(
        {
            ExifTags.GPS.GPSLatitudeRef: "N",
            ExifTags.GPS.GPSLatitude: (47.0, 22.0, 7.0),
            ExifTags.GPS.GPSLongitudeRef: "E",
            ExifTags.GPS.GPSLongitude: (8.0, 32.0, 30.0),
        }
    )
    xmp = f"<x:xmpmeta xmlns:x='adobe:ns:meta/'>{OWNER_OF_CAMERA}</x:xmpmeta>".encode()
    return file_of(image, "JPEG", quality=95, exif=exif, xmp=xmp, comment=OWNER_OF_CAMERA.encode())
