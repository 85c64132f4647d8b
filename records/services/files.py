"""Files of the book, kept under the digest of their bytes."""

import hashlib
from typing import IO

from django.core.files.base import ContentFile, File
from django.core.files.storage import default_storage

# How a name may end by what the file is, the usual ending first.
_ENDINGS = {
    "image/jpeg": (".jpg", ".jpeg"),
    "image/png": (".png",),
    "application/pdf": (".pdf",),
    "text/csv": (".csv",),
    "text/plain": (".txt", ".csv", ".log", ".md"),
}
# What a reader's system runs, or a browser does, when it is opened: common practice, no source.
_RUN = {
    ".app", ".bat", ".cmd", ".com", ".cpl", ".dll", ".exe", ".hta", ".htm", ".html", ".jar", ".js",
    ".jse", ".lnk", ".mht", ".mhtml", ".mjs", ".msi", ".pif", ".ps1", ".reg", ".scr", ".sh",
    ".shtml", ".svg", ".svgz", ".url", ".vbe", ".vbs", ".wsf", ".wsh", ".xht", ".xhtml",
}  # fmt: skip


def saved_as(name: str, content_type: str) -> str:
    """The name that a file is saved under: it ends as what the file is, whatever it was called.

    Bytes that nobody here knows keep their ending, but for one that would run at a reader's.
    """
    # Some systems drop dots and spaces at the end, and open what is called by an ending alone.
    ending = "".join(name.rstrip(" .").rpartition(".")[1:]).lower()
    usual = _ENDINGS.get(content_type.partition(";")[0])
    if usual:
        return name if ending in usual else name + usual[0]
    return f"{name}.bin" if ending in _RUN else name


def store(content: bytes) -> bytes:
    """Keep bytes under their digest; the same bytes again are the same file."""
    digest = hashlib.sha256(content).digest()
    keep(digest, ContentFile(content))
    return digest


def store_file(content: IO[bytes]) -> tuple[bytes, int]:
    """The same of an open file, from its beginning: its digest and its size."""
    size = content.tell()
    content.seek(0)
    digest = hashlib.file_digest(content, "sha256").digest()  # type: ignore[arg-type]
    content.seek(0)
    keep(digest, File(content))
    return digest, size


def keep(digest: bytes, content: "File[bytes]") -> None:
    """Keep bytes under the digest that they are known to have.

    Written whether they are there or not: the time that it takes tells nobody what others sent.
    """
    default_storage.save(stored_name(digest), content)


def forget_unfinished() -> None:
    """Drop what killed processes left half-written, where the storage keeps such things."""
    forget = getattr(default_storage, "forget_unfinished", None)
    if forget is not None:
        forget()


def stored_name(digest: bytes) -> str:
    """Where bytes of this digest are kept."""
    text = digest.hex()
    return f"{text[:2]}/{text}"
