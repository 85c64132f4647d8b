"""What is taken as a PDF: whole ones of several writers, nothing that only begins like one."""

import io

import pypdf
import pytest

from records.errors import Invalid
from records.services import pdf_files
from tests.records import pdfs
from tests.records.documents import sample


def rewritten() -> bytes:
    """The smallest one as another library writes it."""
    file = io.BytesIO()
    pypdf.PdfWriter(clone_from=io.BytesIO(pdfs.smallest())).write(file)
    return file.getvalue()


def updated() -> bytes:
    """With an update behind its first end, as signing programs append one."""
    writer = pypdf.PdfWriter(io.BytesIO(pdfs.smallest()), incremental=True)
    writer.add_metadata({"/Title": "Certificate"})
    written = io.BytesIO()
    writer.write(written)
    return written.getvalue()


WHOLE = {
    "smallest": pdfs.smallest,
    "rewritten": rewritten,
    "updated": updated,
    "with a stream of objects": lambda: sample.printed(sample.record()),
    "blanks at its end": lambda: pdfs.smallest() + b"\r\n" * 40,
}


@pytest.mark.parametrize("name", WHOLE)
def test_whole_ones_are_taken(name):
    content = WHOLE[name]()
    assert pypdf.PdfReader(io.BytesIO(content), strict=True).pages  # another reader agrees
    pdf_files.refuse_broken(io.BytesIO(content))


SMALLEST = pdfs.smallest()
AT = SMALLEST.index(b"xref\n0 4")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"%PDF-1.4\nMZ", "its end is missing"),
        (SMALLEST.removeprefix(b"%PDF-1.7"), "names no version"),
        (SMALLEST.replace(b"%PDF-1.7", b"%PDF-x.7"), "names no version"),
        (SMALLEST[:-20], "its end is missing"),
        (SMALLEST + b"MZ" * 600, "its end is missing"),
        (SMALLEST.replace(b"startxref\n%d" % AT, b"startxref\n9"), "does not lead"),
        (SMALLEST.replace(b"startxref\n%d" % AT, b"startxref\n999999"), "does not lead"),
        (SMALLEST.replace(b"trailer", b"tr41ler"), "does not lead"),
        (SMALLEST.replace(b"/Root", b"/Rout"), "does not lead"),
        (b"%PDF-1.4\nMZ\nstartxref\n0\n%%EOF\n", "does not lead"),
    ],
)
def test_what_only_begins_like_one_is_refused(content, words):
    with pytest.raises(Invalid) as refused:
        pdf_files.refuse_broken(io.BytesIO(content))
    [problem] = refused.value.problems
    assert words in problem.detail
    assert "send it again, or save it as PDF anew" in problem.detail
