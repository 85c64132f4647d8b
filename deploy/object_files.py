"""Files in an S3-compatible store: whole, or not there, as a PUT is; needs the extra `s3`."""

import errno
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from boto3.exceptions import Boto3Error
from boto3.s3.transfer import TransferConfig
from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from django.core.files.base import File
from s3transfer.exceptions import RetriesExceededError
from storages.backends.s3 import S3Storage

from records.errors import Unavailable
from records.limits import IN_MEMORY

log = logging.getLogger(__name__)

FULL = {"InsufficientCapacity", "QuotaExceeded", "StorageFull"}


class ObjectFiles(S3Storage):  # type: ignore[misc]
    """A bucket; what goes wrong is told as where the database is away, or the disk full."""

    def __init__(self, **options: Any) -> None:
        # Each thread has a client; one that does not answer is not waited for long. Checksums of
        # its own kind are left to stores that ask for them.
        client = Config(
            connect_timeout=5,
            read_timeout=30,
            retries={"max_attempts": 3, "mode": "standard"},
            s3={"addressing_style": "path" if options.get("endpoint_url") else "auto"},
            signature_version="s3v4",
            request_checksum_calculation="when_required",
            response_checksum_validation="when_required",
        )
        super().__init__(
            **options,
            client_config=client,
            transfer_config=TransferConfig(use_threads=False),
            max_memory_size=IN_MEMORY,
            file_overwrite=True,
            default_acl=None,
        )

    @property
    def bucket(self) -> Any:
        """The bucket by this thread's own connection: such objects are not for several."""
        return self.connection.Bucket(self.bucket_name)

    def exists(self, name: str) -> bool:
        """Whether there is a file of this name."""
        with _told():
            return bool(super().exists(name))

    def _open(self, name: str, mode: str = "rb") -> "File[bytes]":
        """The file, all of it at hand before an answer begins with it."""
        with _told():
            file: File[bytes] = super()._open(name, mode)
            file.open()
            return file

    def _save(self, name: str, content: "File[bytes]") -> str:
        with _told():
            return str(super()._save(name, content))


@contextmanager
def _told() -> Iterator[None]:
    try:
        yield
    except (BotoCoreError, Boto3Error, ClientError, RetriesExceededError) as error:
        log.warning("the store of files: %s", error)
        if _is_full(error) or _is_full(error.__cause__ or error.__context__):
            raise OSError(errno.ENOSPC, "the store of files is full") from error
        raise Unavailable("the files cannot be reached at the moment: try again") from error


def _is_full(error: BaseException | None) -> bool:
    if not isinstance(error, ClientError):
        return False
    said = error.response
    status = said.get("ResponseMetadata", {}).get("HTTPStatusCode")
    return status == 507 or said.get("Error", {}).get("Code") in FULL
