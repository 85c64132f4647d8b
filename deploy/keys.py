"""The keys of an installation, made once and readable by their owner only.

python -m deploy.keys DIRECTORY
"""

import os
import secrets
import sys
from pathlib import Path

from cryptography.fernet import Fernet
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

SECRET_KEY = "secret_key"  # noqa: S105  # the file's name
SIGNING_KEY = "signing_key.pem"
MFA_KEY = "mfa_key"


def make_missing_keys(directory: Path) -> None:
    """Make what is not there yet; a key that is there is never touched."""
    makers = {SECRET_KEY: _secret_key, SIGNING_KEY: _signing_key, MFA_KEY: Fernet.generate_key}
    for name, make in makers.items():
        if not (directory / name).exists():
            _write_whole(directory / name, make())


def _secret_key() -> bytes:
    return secrets.token_urlsafe(48).encode()


def _signing_key() -> bytes:
    """Answer an Ed25519 key as PEM (PKCS #8), which other tools read as well."""
    return Ed25519PrivateKey.generate().private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()
    )


def _write_whole(file: Path, content: bytes) -> None:
    """Write a file that is there completely or not at all."""
    unfinished = file.with_name(f".{file.name}.{os.getpid()}")
    handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(handle)
    unfinished.replace(file)


if __name__ == "__main__":
    make_missing_keys(Path(sys.argv[1]))
