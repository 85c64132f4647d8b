"""The key that documents are signed with, and its certificates, in one file (PEM)."""

from dataclasses import dataclass

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
from cryptography.hazmat.primitives.serialization import load_pem_private_key


@dataclass(frozen=True)
class DocumentKey:
    """An ECDSA key with its own certificate and those of the authorities above it."""

    secret: EllipticCurvePrivateKey
    certificate: x509.Certificate
    authorities: tuple[x509.Certificate, ...]

    @classmethod
    def read(cls, pem: bytes) -> "DocumentKey":
        """What the file says; `ValueError` where there is no key or none that belongs to it."""
        secret = load_pem_private_key(pem, password=None)
        if not isinstance(secret, EllipticCurvePrivateKey):
            raise ValueError("expected an elliptic-curve key to sign documents with")
        own, *others = x509.load_pem_x509_certificates(pem)
        if own.public_key() != secret.public_key():
            raise ValueError("the first certificate is not that of the key for documents")
        return cls(secret, own, tuple(others))
