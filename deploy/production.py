"""What a serving process refuses to start with."""

import os
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

from cryptography.fernet import Fernet
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from joserfc.errors import JoseError
from joserfc.jwk import OKPKey

from deploy.environment import secret
from deploy.static_files import LIST
from records.documents.document_key import DocumentKey
from records.whole_files import may_write

REQUIRED = {
    "SECRET_KEY or SECRET_KEY_FILE": ("SECRET_KEY", "SECRET_KEY_FILE"),
    "DATABASE_URL": ("DATABASE_URL", "DATABASE_URL_FILE"),
    "QUEUE_URL": ("QUEUE_URL", "QUEUE_URL_FILE"),
    "ALLOWED_HOSTS": ("ALLOWED_HOSTS",),
    "SIGNING_KEY_FILE": ("SIGNING_KEY_FILE",),
    "DOCUMENT_KEY_FILE": ("DOCUMENT_KEY_FILE",),
    "FILES_ROOT or FILES_S3_BUCKET": ("FILES_ROOT", "FILES_S3_BUCKET"),
    "MFA_KEY or MFA_KEY_FILE": ("MFA_KEY", "MFA_KEY_FILE"),
}
SHORTEST_SECRET = 32


def refuse_defaults() -> None:
    """Raise unless the environment says everything that must not be left to a default."""
    if settings.DEBUG:
        return
    if found := faults():
        left_out = set(found) <= {_left_out(what) for what in REQUIRED}
        hint = " DEBUG=1 does without, on your own machine." if left_out else ""
        raise ImproperlyConfigured(f"Not started: {'; '.join(found)}.{hint}")


def refuse_without_static_files() -> None:
    """Raise where each page would fail for want of its style; the first run gathers it."""
    root = settings.STATIC_ROOT
    if root and not settings.DEBUG and not os.path.isfile(Path(root) / LIST):
        raise ImproperlyConfigured(
            f"Not started: STATIC_ROOT: {root} holds no static files; run manage.py collectstatic"
        )


def faults() -> list[str]:
    """What is left to a default, and what is no good."""
    found = [_left_out(what) for what, names in REQUIRED.items() if not any(map(os.getenv, names))]
    if len(settings.SECRET_KEY) < SHORTEST_SECRET:
        found.append(f"SECRET_KEY needs {SHORTEST_SECRET} characters or more")
    if 0 < len(settings.METRICS_TOKEN) < SHORTEST_SECRET:
        found.append(f"METRICS_TOKEN needs {SHORTEST_SECRET} characters or more, or none")
    if "*" in settings.ALLOWED_HOSTS:
        found.append("ALLOWED_HOSTS must name the hosts")
    found += _faults_of_storage()
    found += _faults_of_folders()
    found += _faults_of_signing_key()
    found += _faults_of_document_key()
    found += [f"MFA_KEY: {fault}" for fault in _faults_of_keys(settings.MFA_KEYS)]
    if settings.SECOND_FACTOR != "required" and not settings.PLAIN_HTTP:
        found.append("SECOND_FACTOR=offered is for one machine's own loopback")
    return found


def _left_out(what: str) -> str:
    return f"set {what}"


def _faults_of_storage() -> Iterator[str]:
    """Of a bucket: its client is missing, others can read along on the way, half a key."""
    if not os.getenv("FILES_S3_BUCKET"):
        return
    if find_spec("storages") is None or find_spec("boto3") is None:
        yield "FILES_S3_BUCKET needs deploy/requirements-s3.lock to be installed"
    endpoint = os.getenv("FILES_S3_ENDPOINT")
    if endpoint and not endpoint.startswith("https://") and not settings.PLAIN_HTTP:
        yield "FILES_S3_ENDPOINT must begin with https://"
    if bool(secret("FILES_S3_ACCESS_KEY")) != bool(secret("FILES_S3_SECRET_KEY")):
        yield "FILES_S3_ACCESS_KEY and FILES_S3_SECRET_KEY are set both, or neither"


def _faults_of_folders() -> Iterator[str]:
    root: Path = settings.FILES_ROOT
    if not os.getenv("FILES_ROOT"):
        return
    if os.path.isfile(root):
        yield f"FILES_ROOT: {root} is no folder"
    elif not os.getenv("FILES_S3_BUCKET") and not may_write(root):
        yield f"FILES_ROOT: who runs this may not write to {root}: make it theirs, or name another"


def _faults_of_signing_key() -> Iterator[str]:
    if not os.getenv("SIGNING_KEY_FILE"):
        return
    try:
        OKPKey.import_key(settings.SIGNING_KEY_FILE.read_bytes())
    except (OSError, ValueError, JoseError) as error:
        yield f"SIGNING_KEY_FILE: {settings.SIGNING_KEY_FILE} is no key that can be read ({error})"


def _faults_of_document_key() -> Iterator[str]:
    if settings.DOCUMENT_KEY_FILE is None:
        return
    try:
        DocumentKey.read(settings.DOCUMENT_KEY_FILE.read_bytes())
    except (OSError, ValueError) as error:
        yield f"DOCUMENT_KEY_FILE: {error}"


def _faults_of_keys(keys: list[str]) -> Iterator[str]:
    for number, key in enumerate(keys, 1):
        try:
            Fernet(key)
        except ValueError:
            yield f"key {number} is not 32 bytes in URL-safe base64"
