"""Papers in one file."""

import io
import zipfile
from collections.abc import Iterable

LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the first day that a zip can hold: the papers' own day is printed on them
READABLE = 0o644 << 16
UNIX = 3


def zipped(files: Iterable[tuple[str, bytes]]) -> bytes:
    """Files, by name, as a zip; the same files give the same bytes on every computer and day."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for name, content in files:
            entry = zipfile.ZipInfo(name, LONG_AGO)
            entry.compress_type, entry.external_attr, entry.create_system = zipfile.ZIP_DEFLATED, READABLE, UNIX
            archive.writestr(entry, content)
    return whole.getvalue()
