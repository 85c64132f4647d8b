"""Files in a folder of this machine: whole, or not there."""

import os
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from django.core.files.base import File
from django.core.files.storage import FileSystemStorage

from records.whole_files import synchronize_folder

UNFINISHED = ".unfinished"
LONGEST_WRITTEN = 24 * 60 * 60  # s


class LocalFiles(FileSystemStorage):
    """A folder in which a file has its name only when all of it is on the disk.

    It is written under another name, synchronized and renamed. What a killed process leaves lies
    in `.unfinished`, where nothing is ever read. The same name again replaces the file by a whole
    one: a name is the digest of the bytes.
    """

    def __init__(self, **options: Any) -> None:
        super().__init__(**options, allow_overwrite=True)

    def _save(self, name: str, content: "File[bytes]") -> str:
        unfinished = Path(self.path(UNFINISHED))
        place = Path(self.path(name))
        for folder in (unfinished, place.parent):
            folder.mkdir(parents=True, exist_ok=True)
            self._hand_over(folder)
        handle, written = tempfile.mkstemp(dir=unfinished)
        try:
            with os.fdopen(handle, "wb") as file:
                self._write(file, content)
            self._hand_over(Path(written))
            Path(written).replace(place)
        except BaseException:
            with suppress(OSError):
                Path(written).unlink()
            raise
        for folder in (place.parent, place.parent.parent):  # the first one may be new itself
            synchronize_folder(folder)
        return name

    def _hand_over(self, path: Path) -> None:
        """What root writes, by a command of the operator, is the service's as the folder is."""
        if os.geteuid() == 0:
            whose = Path(self.location).stat()
            os.chown(path, whose.st_uid, whose.st_gid)

    def _write(self, file: Any, content: "File[bytes]") -> None:
        for piece in content.chunks():
            file.write(piece)
        file.flush()
        if self.file_permissions_mode is not None:
            os.fchmod(file.fileno(), self.file_permissions_mode)
        os.fsync(file.fileno())

    def forget_unfinished(self) -> None:
        """Drop what nobody has written to for a day."""
        for left in Path(self.path(UNFINISHED)).glob("*"):
            with suppress(OSError):
                if time.time() - left.stat().st_mtime > LONGEST_WRITTEN:
                    left.unlink()
