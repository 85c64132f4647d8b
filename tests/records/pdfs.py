"""The smallest PDF that is whole: one empty page (ISO 32000-2, 7.5)."""

OBJECTS = (
    b"<</Type/Catalog/Pages 2 0 R>>",
    b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
    b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 72 72]>>",
)


def smallest() -> bytes:
    """Its bytes, every object at the place that the table says."""
    text, places = b"%PDF-1.7\n", []
    for number, content in enumerate(OBJECTS, 1):
        places.append(len(text))
        text += b"%d 0 obj\n%s\nendobj\n" % (number, content)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    return text + (
        b"xref\n0 4\n0000000000 65535 f \n%strailer\n<</Size 4/Root 1 0 R>>\n"
        b"startxref\n%d\n%%%%EOF\n" % (table, len(text))
    )
