"""A proxy before the service that can pretend that another version of the sheet was installed."""

import http.client
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

PASSED = ("Authorization", "Content-Type", "If-Match", "If-None-Match", "Accept-Encoding")
VERSIONED = ("/field/sw.js", "/field/parts.json")


class Newer:
    """Hands everything on; once `version` is set, the sheet's parts have that version."""

    def __init__(self, port: int) -> None:
        self.behind, self.version = port, b""
        owner = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def log_message(self, *_: object) -> None:
                """Quiet."""

            def handle_any(self) -> None:
                owner.answer(self)

            do_GET = do_POST = do_PATCH = do_DELETE = handle_any

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.address = f"http://127.0.0.1:{self.server.server_port}"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def answer(self, asked: BaseHTTPRequestHandler) -> None:
        """One request."""
        length = int(asked.headers.get("Content-Length") or 0)
        body = asked.rfile.read(length) if length else None
        connection = http.client.HTTPConnection("127.0.0.1", self.behind, timeout=60)
        given = {name: asked.headers[name] for name in PASSED if asked.headers.get(name)}
        connection.request(asked.command, asked.path, body, given)
        answer = connection.getresponse()
        content = self._as_versioned(asked.path, answer.read())
        asked.send_response(answer.status)
        for name, value in answer.getheaders():
            if name.lower() not in ("content-length", "transfer-encoding", "connection"):
                asked.send_header(name, value)
        asked.send_header("Content-Length", str(len(content)))
        asked.end_headers()
        asked.wfile.write(content)
        connection.close()

    def _as_versioned(self, path: str, content: bytes) -> bytes:
        if not self.version or path.split("?")[0] not in VERSIONED:
            return content
        before, after = content.split(b'"version": "', 1)
        return before + b'"version": "' + self.version + after[len(self.version) :]

    def stop(self) -> None:
        """End it."""
        self.server.shutdown()
        self.server.server_close()
