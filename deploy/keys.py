"""The keys of an installation, made once and readable by their owner only.

python -m deploy.keys DIRECTORY
"""

import secrets
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.fernet import Fernet
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID

from records.whole_files import write_whole

SECRET_KEY = "secret_key"  # noqa: S105  # the file's name
SIGNING_KEY = "signing_key.pem"
MFA_KEY = "mfa_key"
DOCUMENT_KEY = "document_key.pem"
YEARS = 10


def make_missing_keys(directory: Path) -> None:
    """Make what is not there yet; a key that is there is never touched."""
    makers = {
        SECRET_KEY: _secret_key,
        SIGNING_KEY: _signing_key,
        MFA_KEY: Fernet.generate_key,
        DOCUMENT_KEY: _document_key,
    }
    for name, make in makers.items():
        if not (directory / name).exists():
            write_whole(directory / name, make())


def _secret_key() -> bytes:
    return secrets.token_urlsafe(48).encode()


def _signing_key() -> bytes:
    """Answer an Ed25519 key as PEM (PKCS #8), which other tools read as well."""
    return Ed25519PrivateKey.generate().private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()
    )


def _document_key() -> bytes:
    """A key (ECDSA, P-256) and a certificate that it gives itself, as PEM.

    Readers of PDF show whose it is once they are told to trust it; one that an authority has given
    takes its place in the same file.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Stationbook documents")])
    usage = x509.KeyUsage(
        digital_signature=True, content_commitment=True, key_encipherment=False,
        data_encipherment=False, key_agreement=False, key_cert_sign=False, crl_sign=False,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip
    begin = datetime.now(UTC) - timedelta(days=1)
    certificate = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(begin)
        .not_valid_after(begin + timedelta(days=366 * YEARS))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .sign(key, hashes.SHA256())
    )
    secret = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return secret + certificate.public_bytes(Encoding.PEM)


if __name__ == "__main__":
    if len(sys.argv) != 2 or not Path(sys.argv[1]).is_dir():
        sys.exit("expected a directory that is there: python -m deploy.keys DIRECTORY")
    make_missing_keys(Path(sys.argv[1]))
