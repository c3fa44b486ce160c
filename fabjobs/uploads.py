"""Files that are sent: taken where a photo is asked for, and no more of them in memory than a photo may be."""

import contextlib
from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import InMemoryUploadedFile
from django.core.files.uploadhandler import FileUploadHandler, SkipFile
from django.urls import Resolver404, resolve

from fabjobs.pictures import LARGEST_SENT

TAKEN_BY = frozenset({"add_photo", "add_step_photo"})  # names of the addresses


class PhotoUpload(FileUploadHandler):
    """Keeps a photo's bytes; of a file that is too large only how large it is, of one sent elsewhere, or by nobody who
    is signed in, nothing."""

    def handle_raw_input(self, *_: Any, **__: Any) -> None:
        self.is_wanted = False
        if self.request is not None and self.request.user.is_authenticated:
            with contextlib.suppress(Resolver404):
                self.is_wanted = resolve(self.request.path_info).url_name in TAKEN_BY

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        if not self.is_wanted:
            raise SkipFile
        self.kept = BytesIO()

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        if start + len(raw_data) <= LARGEST_SENT:
            self.kept.write(raw_data)

    def file_complete(self, file_size: int) -> InMemoryUploadedFile:
        self.kept.seek(0)
        said = (self.field_name, self.file_name or "", self.content_type, file_size, self.charset)
        return InMemoryUploadedFile(self.kept, *said, self.content_type_extra)
