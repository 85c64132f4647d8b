"""The parts of the app as they lie with us: what a device fetches once, and how it names them."""

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.urls import reverse

from records.pages.field import runtime
from records.pages.field.description import described

APP = Path(__file__).resolve().parents[2] / "static" / "field"
WORKERS = APP / "workers"
SUFFIXES = (".js", ".css", ".svg", ".png")


def static_address(name: str) -> str:
    """Where a file of the app is served: by its own name, since modules name each other."""
    return f"{settings.STATIC_URL}field/{name}"


def app_files() -> dict[str, bytes]:
    """The app's own files by name."""
    found = sorted(path for path in APP.iterdir() if path.suffix in SUFFIXES)
    return {path.name: path.read_bytes() for path in found}


def _own() -> dict[str, str]:
    """SHA-256 in hex of the app's own files by their address."""
    return {static_address(name): _hex(content) for name, content in app_files().items()}


def app_parts() -> dict[str, Any]:
    """What the first screen needs, under a version that follows from its contents."""
    told = {**_own(), reverse("field-description"): described().digest}
    told |= {f"workers/{path.name}": _hex(path.read_bytes()) for path in WORKERS.iterdir()}
    files = [reverse("field"), reverse("field-worker"), *(n for n in told if n.startswith("/"))]
    return {"version": _hex(json.dumps(told, sort_keys=True).encode())[:16], "files": files}


def runtime_parts() -> dict[str, Any]:
    """What judging needs: addresses, with the digest of each."""
    files = dict(_runtime_files())
    version = _hex(json.dumps(files, sort_keys=True).encode())[:16]
    return {"version": version, "files": files, "vendor": static_address("vendor/"),
            "rules": rules_address()}  # fmt: skip


def all_parts() -> dict[str, Any]:
    """App and runtime."""
    return {"app": app_parts(), "runtime": runtime_parts()}


def rules_address() -> str:
    """Where the archive of pure Python is: another one has another address."""
    return reverse("field-rules", args=[runtime.archive().digest])


def _runtime_files() -> Iterator[tuple[str, str]]:
    for name, digest in runtime.vendored_files().items():
        yield static_address(f"vendor/{name}"), digest
    yield rules_address(), runtime.archive().digest


def _hex(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
