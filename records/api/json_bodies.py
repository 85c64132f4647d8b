"""Reading and writing JSON: no digit lost, nothing ambiguous, nothing that a database chokes on."""

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import IO, Any, NoReturn

from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer

from calculations.inputs.entered import NumberText
from calculations.inputs.reading import Problem, pointer
from records.errors import TooLarge, Unreadable
from records.json_text import text_of
from records.limits import LARGEST_BODY

_LONGEST_INTEGER = 15
_LONGEST_PLACE = 500
_UNSTORABLE = re.compile("[\0\ud800-\udfff]")
_ESCAPED = re.compile(rb"\\u(0000|[dD][89a-fA-F])")


class JsonParser(BaseParser):
    """`application/json`, guarded."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """The document; `Unreadable` says what is wrong with the text, `TooLarge` its limit."""
        return parse(read_body(stream))


class MergePatchParser(JsonParser):
    """`application/merge-patch+json` (RFC 7396)."""

    media_type = "application/merge-patch+json"


def read_body(stream: IO[bytes]) -> bytes:
    """The body, up to the limit."""
    body = stream.read(LARGEST_BODY + 1)
    if len(body) > LARGEST_BODY:
        raise TooLarge(f"a document may hold {LARGEST_BODY} bytes at most")
    return body


def parse(body: bytes) -> Any:
    """A JSON document whose numbers keep their digits; doubled names and NaN are refused."""
    try:
        document = json.loads(
            body.decode("utf-8"),
            parse_float=NumberText,
            parse_int=_integer,
            parse_constant=_refuse_constant,
            object_pairs_hook=_object,
        )
    except UnicodeDecodeError:
        raise Unreadable("expected UTF-8") from None
    except RecursionError:
        raise Unreadable("the document is nested too deep") from None
    except _DoubledName:
        raise _doubled(body) from None
    except ValueError as error:
        raise Unreadable(f"expected JSON: {error}") from None
    if _ESCAPED.search(body):
        _refuse_unstorable(document)
    return document


def _integer(digits: str) -> int | NumberText:
    return int(digits) if len(digits) <= _LONGEST_INTEGER else NumberText(digits)


def _refuse_constant(name: str) -> NoReturn:
    raise Unreadable(f"{name} is not a number that can be kept")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    document = dict(pairs)
    if len(document) != len(pairs):
        raise _DoubledName
    return document


class _DoubledName(Exception):
    """A name stands twice in one object; where, a second reading tells."""


class _Members(list[Any]):
    """The members of an object, names that stand twice included."""


def _doubled(body: bytes) -> Unreadable:
    """The error that names the first name that stands twice, and its place."""
    for value, place in _values(json.loads(body, object_pairs_hook=_Members)):
        if isinstance(value, _Members):
            times = Counter(name for name, _ in value)
            name = next((name for name, count in times.items() if count > 1), None)
            if name is not None:
                words = f"the name {name[:80]!r} stands twice in one object"
                return _told(words, "doubled", (*place, name))
    raise AssertionError("a name that stood twice stands once")


def _refuse_unstorable(document: Any) -> None:
    for value, place in _values(document):
        texts = value if isinstance(value, dict) else [value] if isinstance(value, str) else []
        if any(_UNSTORABLE.search(text) for text in texts):
            raise _told("text may not hold NUL or half a surrogate pair", "unstorable", place)


def _told(words: str, code: str, place: tuple[str | int, ...]) -> Unreadable:
    shown = pointer(*place).encode("ascii", "backslashreplace").decode().replace("\0", "\\u0000")
    return Unreadable(words, [Problem(shown[:_LONGEST_PLACE], code, words)])


def _values(document: Any) -> Iterator[tuple[Any, tuple[str | int, ...]]]:
    """Every value of a document with its place, in no order that matters."""
    waiting: list[tuple[Any, tuple[str | int, ...]]] = [(document, ())]
    while waiting:
        value, place = waiting.pop()
        yield value, place
        members: Iterable[tuple[str | int, Any]] = ()
        if isinstance(value, _Members):
            members = value
        elif isinstance(value, dict):
            members = value.items()
        elif isinstance(value, list):
            members = enumerate(value)
        waiting += [(each, (*place, name)) for name, each in members]


class JsonRenderer(BaseRenderer):
    """`application/json`, compact, UTF-8."""

    media_type = "application/json"
    format = "json"
    charset = None

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        """The document as bytes."""
        if data is None:
            return b""
        return text_of(data)


class ProblemRenderer(JsonRenderer):
    """`application/problem+json` (RFC 9457)."""

    media_type = "application/problem+json"
    format = "problem"
