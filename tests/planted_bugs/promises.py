"""What is promised of reliability and security, by number; each breaks by the bugs named here.

A number stays with its promise for good: what is written of one elsewhere goes by it. Those that
are left out are of other kinds, such as loss, tampering, restoring; their bugs stand by subject.
"""

from collections.abc import Mapping
from typing import NamedTuple


class Promise(NamedTuple):
    """A promise with its figure, and the bugs (by their words) that its tests have to notice."""

    words: str
    bugs: tuple[str, ...]


PROMISES: Mapping[int, Promise] = {
    5: Promise(
        "A database that is away: 503 with Retry-After, never 500",
        ("A database that is away is told as 503 with Retry-After",),
    ),
    6: Promise(
        "One event from fifty callers at once is one row, a hundred times",
        ("One event from many phones is one row",),
    ),
    7: Promise(
        "The same id with other content: 409, and the first stays",
        ("The same id with other content is refused, and the first stays",),
    ),
    8: Promise(
        "An id that another contractor uses answers like a fresh one",
        ("An id that another contractor uses is a fresh one",),
    ),
    9: Promise(
        "Of sixteen writers of a revision one wins, in each of twenty rounds",
        ("Of many that change one revision one wins",),
    ),
    10: Promise("A change without If-Match: 428", ("Nobody changes what they have not read",)),
    11: Promise(
        "A hundred in a batch, three bad: each has its result, and all may be sent again",
        ("A bad member of a batch stops no other", "What writes and then fails leaves nothing"),
    ),
    12: Promise(
        "Every route for every person with another's id: 404; nothing of others in lists, counts,"
        " files, exports, words, time",
        (
            "The first wall holds alone",
            "A report is of nobody else's client",
            "What another has sent already is written like what is new",
            "No cache that is shared keeps what one person was shown",
        ),
    ),
    13: Promise(
        "Where the first wall was forgotten the database shows nothing of others",
        ("The second wall holds where the first was forgotten",),
    ),
    14: Promise(
        "A route that is in no table fails",
        (
            "A route that is in no table of routes and people is noticed",
            "A page that is in no table of routes and people is noticed",
        ),
    ),
    15: Promise(
        "Tests for leaks see a leak", ("A test for leaks that sees none is found out",)
    ),
    16: Promise(
        "Each field that is only read: 400 by its name",
        ("What is only read is refused by its name",),
    ),
    17: Promise(
        "200 drawn requests of each operation for each role (`python -m tests.fuzz`): no 5xx, no"
        " answer that the OpenAPI document does not describe",
        (
            "An answer that the document does not describe is noticed",
            "A file that comes with a session is no fault of ours",
        ),
    ),
    18: Promise(
        "JSON made to harm: never 5xx",
        (
            "What a database cannot keep is told with its place",
            "NaN is no number",
            "However deep, a document is answered",
        ),
    ),
    19: Promise(
        "Every error of the API is a problem document, with every header that guards",
        (
            "Every error of the API is a problem document",
            "What guards an answer stands on those of errors",
        ),
    ),
    20: Promise("The limit and one byte: 413", ("One byte more than the limit is too large",)),
    21: Promise(
        "What unpacks to 300 times its size is refused before it is unpacked",
        (
            "A bomb in an archive is refused before it is unpacked",
            "A bomb in a workbook is refused before it is unpacked",
        ),
    ),
    22: Promise("Pictures of more than 50 million pixels are refused",
                ("A bomb of pixels is refused",)),
    23: Promise(
        "What is sent runs at no reader's: known by content, drawn anew, saved and not shown",
        (
            "A page behind a picture is gone",
            "Markup is no text",
            "A download is saved and never shown",
            "A download is called what it is",
        ),
    ),
    24: Promise(
        "A name decides nothing: what is kept is called by its digest",
        ("A name decides nothing of where a file is kept",),
    ),
    25: Promise(
        "A text that looks like a formula stays a text, a negative number a number",
        ("No text is a formula in a CSV", "No text is a formula in a workbook"),
    ),
    26: Promise(
        "Cut at twenty places and taken up again, a file is the same",
        (
            "An upload that broke off goes on where it stopped",
            "A file is what was announced",
        ),
    ),
    27: Promise(
        "A million values of a trace come back equal", ("A trace comes back as it was sent",)
    ),
    28: Promise(
        "A device's clock may be a day off: both times are kept",
        ("A device's clock may be a day off, and is kept",),
    ),
    30: Promise(
        "What was found and sealed is changed and removed by nobody",
        ("What was found and sealed is rewritten by nobody",),
    ),
    42: Promise(
        "What was revoked is refused with the next request",
        (
            "A token that was revoked is refused with the next request",
            "A revoked calendar is gone with the next request",
            "A device that was revoked signs no more",
            "What spoke for who left does not come back with them",
        ),
    ),
    43: Promise(
        "The table of tokens lets nobody in", ("Whoever has the table of tokens has no token",)
    ),
    44: Promise(
        "Of a thousand guesses at once no more than the limit are compared",
        ("Of a thousand guesses at once no more than the limit are compared",),
    ),
    45: Promise(
        "Pages of a list skip and repeat nothing while 10,000 rows are added",
        ("Pages of a list neither skip nor repeat while rows are added",),
    ),
    46: Promise(
        "A hundred rows ask the database no more than one",
        ("More rows ask no more of the database",),
    ),
    48: Promise("No secret stands in a log", ("No secret stands in a log",)),
}  # fmt: skip
