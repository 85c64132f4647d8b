"""The signature inside a PDF (PAdES B-B, ETSI EN 319 142-1), which leaves it PDF/A-3a and PDF/UA-1.

It shows a reader of PDF that the file is as it was made. What a record says is sealed apart, by
the Ed25519 signature of its text (`services/sealing.py`); the data in the PDF bring that along.
"""

import io
from functools import cache
from typing import Any

from asn1crypto.keys import PrivateKeyInfo
from asn1crypto.x509 import Certificate
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.generic import pdf_name
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter, append_signature_field
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, SimpleSigner
from pyhanko_certvalidator.registry import SimpleCertificateStore

from records.documents.document_key import DocumentKey

FIELD = "Signature"
SPOKEN = "Signature of the service that made this document"
REASON = "Made from the sealed record that is attached to it"


def sign(pdf: bytes, key: DocumentKey) -> bytes:
    """The PDF with one signature that allows no later change; twice is not byte for byte the same.

    The document as it came stands at its beginning, unchanged but for one line end.
    """
    writer = _Writer(io.BytesIO(_ended(pdf)))
    append_signature_field(writer, SigFieldSpec(FIELD, readable_field_name=SPOKEN))
    _put_in_order_of_reading(writer, writer.root["/AcroForm"]["/Fields"].raw_get(0))
    meant = PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm="sha256",
        subfilter=SigSeedSubFilter.PADES,
        reason=REASON,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
    )
    signed = PdfSigner(meant, _signer(key)).sign_pdf(writer)
    content: bytes = signed.getvalue()
    return content


class _Writer(IncrementalPdfFileWriter):
    """Leaves the metadata as they are: rewritten, they lose what PDF/A asks of them."""

    def _update_meta(self) -> None:
        pass


def _ended(pdf: bytes) -> bytes:
    """An object that follows has to begin on a line of its own."""
    return pdf if pdf.endswith(b"\n") else pdf + b"\n"


@cache
def _signer(key: DocumentKey) -> SimpleSigner:
    others = SimpleCertificateStore()
    others.register_multiple(map(_certificate, key.authorities))
    plain = key.secret.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    return SimpleSigner(_certificate(key.certificate), PrivateKeyInfo.load(plain), others)


def _certificate(certificate: x509.Certificate) -> Certificate:
    return Certificate.load(certificate.public_bytes(Encoding.DER))


def _put_in_order_of_reading(writer: IncrementalPdfFileWriter, field: Any) -> None:
    """Into the tree of tags, last of all (PDF/UA-1, 7.18.4: a field is nested in a form tag)."""
    root: Any = writer.root["/StructTreeRoot"]
    key = root["/ParentTreeNextKey"]
    document = root["/K"].raw_get(0)
    tag = generic.DictionaryObject(
        {
            pdf_name("/Type"): pdf_name("/StructElem"),
            pdf_name("/S"): pdf_name("/Form"),
            pdf_name("/P"): document,
            pdf_name("/Alt"): generic.pdf_string(SPOKEN),
            pdf_name("/K"): generic.DictionaryObject(
                {pdf_name("/Type"): pdf_name("/OBJR"), pdf_name("/Obj"): field}
            ),
        }
    )
    added = writer.add_object(tag)
    children = document.get_object()["/K"]
    children.append(added)
    writer.update_container(children)
    numbers = root["/ParentTree"]["/Nums"]
    numbers.extend([key, added])
    writer.update_container(numbers)
    root[pdf_name("/ParentTreeNextKey")] = generic.NumberObject(key + 1)
    writer.update_container(root)
    widget = field.get_object()
    widget[pdf_name("/StructParent")] = generic.NumberObject(key)
    writer.update_container(widget)
