"""What the fuzzer is told beside the OpenAPI document: ids that exist, and how bytes are sent.

Loaded by the fuzzer itself, in an environment of its own: it imports nothing of the project.
"""

import json
import os
from hashlib import sha256
from pathlib import Path
from typing import Any

import schemathesis
from schemathesis import HookContext, SerializationContext

KNOWN: dict[str, list[dict[str, str]]] = json.loads(Path(os.environ["FUZZ_KNOWN"]).read_text())
REVISIONS = ('"1"', '"2"', '"1.0"')


def _number(given: Any) -> int:
    """The same for the same: the fuzzer must be able to do it again."""
    return int.from_bytes(sha256(repr(given).encode()).digest()[:4])


@schemathesis.hook
def map_path_parameters(
    context: HookContext, path_parameters: dict[str, Any] | None
) -> dict[str, Any] | None:
    """Three times of four what is there: behind an id that nobody has, nothing is tried."""
    known = KNOWN.get(context.operation.path.rpartition("/api/v1")[2], [])
    number = _number(path_parameters)
    if path_parameters is None or not known or number % 4 == 0:
        return path_parameters
    return path_parameters | known[number // 4 % len(known)]


@schemathesis.hook
def map_headers(context: HookContext, headers: dict[str, Any] | None) -> dict[str, Any] | None:
    """Every other time a revision that a row may have."""
    if headers is None or "If-Match" not in headers or (number := _number(headers)) % 2:
        return headers
    return {**headers, "If-Match": REVISIONS[number // 2 % len(REVISIONS)]}


@schemathesis.serializer("application/partial-upload")
def _bytes(context: SerializationContext, value: Any) -> bytes:
    return value if isinstance(value, bytes) else str(value).encode("utf-8", "replace")
