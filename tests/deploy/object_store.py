"""A small S3-compatible store on loopback: the calls that files need, and ways to fail."""

import hashlib
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, unquote, urlsplit

ACCESS_KEY, SECRET_KEY, BUCKET = "of-the-tests", "secret-of-the-tests", "files"
_ERROR = "<Error><Code>{code}</Code><Message>{code}</Message></Error>"


@dataclass
class Store:
    """What is kept, by key; what was asked; and what the next writes answer."""

    endpoint: str = ""
    objects: dict[str, bytes] = field(default_factory=dict)
    parts: dict[str, dict[int, bytes]] = field(default_factory=dict)
    asked: list[tuple[str, str]] = field(default_factory=list)
    failure: tuple[int, str] | None = None  # of every write, from now on
    breaks_off: bool = False  # in the middle of what is read


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    store: Store

    def log_message(self, *_: object) -> None:
        """Say nothing."""

    def _take(self) -> tuple[str, dict[str, list[str]], bytes]:
        split = urlsplit(self.path)
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        self.store.asked.append((self.command, self.path))
        bucket, _, key = unquote(split.path).lstrip("/").partition("/")
        known = f"Credential={ACCESS_KEY}/" in self.headers.get("Authorization", "")
        signed = self.headers.get("x-amz-content-sha256", "")
        if bucket != BUCKET or not known or signed != hashlib.sha256(body).hexdigest():
            raise PermissionError
        return key, parse_qs(split.query, keep_blank_values=True), body

    def _answer(self, status: int, body: bytes = b"", **headers: str) -> None:
        self.send_response(status)
        for name, value in ({"Content_Length": str(len(body))} | headers).items():
            self.send_header(name.replace("_", "-"), value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body[: len(body) // 2] if self._breaks_off() else body)
        if self._breaks_off():
            self.close_connection = True

    def _breaks_off(self) -> bool:
        return self.store.breaks_off and self.command == "GET"

    def _refuse(self, status: int, code: str) -> None:
        self._answer(status, _ERROR.format(code=code).encode(), Content_Type="application/xml")

    def do_HEAD(self) -> None:
        key, _, _ = self._take()
        if key not in self.store.objects:
            return self._answer(404)
        size = {"Content_Length": str(len(self.store.objects[key]))}
        return self._answer(200, b"", **size, ETag=f'"{key}"')

    def do_GET(self) -> None:
        key, _, _ = self._take()
        content = self.store.objects.get(key)
        if content is None:
            return self._refuse(404, "NoSuchKey")
        wanted = re.fullmatch(r"bytes=([0-9]+)-([0-9]*)", self.headers.get("Range", ""))
        if wanted is None:
            return self._answer(200, content, ETag=f'"{key}"')
        first, last = int(wanted[1]), int(wanted[2] or len(content) - 1)
        place = f"bytes {first}-{min(last, len(content) - 1)}/{len(content)}"
        part = content[first : last + 1]
        return self._answer(206, part, Content_Range=place, ETag=f'"{key}"')

    def do_PUT(self) -> None:
        key, query, body = self._take()
        if self.store.failure:
            return self._refuse(*self.store.failure)
        if "uploadId" in query:
            self.store.parts[query["uploadId"][0]][int(query["partNumber"][0])] = body
        else:
            self.store.objects[key] = body
        return self._answer(200, ETag=f'"{hashlib.sha256(body).hexdigest()}"')

    def do_POST(self) -> None:
        key, query, _ = self._take()
        if "uploads" in query:
            name = f"upload-{len(self.store.parts)}"
            self.store.parts[name] = {}
            told = f"<InitiateMultipartUploadResult><UploadId>{name}</UploadId>"
            return self._answer(200, f"{told}</InitiateMultipartUploadResult>".encode())
        parts = self.store.parts.pop(query["uploadId"][0])
        self.store.objects[key] = b"".join(parts[number] for number in sorted(parts))
        told = f"<Key>{key}</Key><ETag>{key}</ETag>"
        whole = f"<CompleteMultipartUploadResult>{told}</CompleteMultipartUploadResult>"
        return self._answer(200, whole.encode())

    def do_DELETE(self) -> None:
        key, query, _ = self._take()
        if "uploadId" in query:
            self.store.parts.pop(query["uploadId"][0], None)
        else:
            self.store.objects.pop(key, None)
        return self._answer(204)


@contextmanager
def running() -> Iterator[Store]:
    """A store that answers while this lasts."""
    store = Store()
    handler = type("Handler", (_Handler,), {"store": store})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    store.endpoint = f"http://127.0.0.1:{server.server_address[1]}"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield store
    finally:
        server.shutdown()
        server.server_close()
