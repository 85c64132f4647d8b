"""A mail server on the loopback that takes messages, slowly or not at all, as a test wants."""

import socketserver
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager


class _Server(socketserver.ThreadingTCPServer):
    allow_reuse_address = True
    daemon_threads = True


class _Dialogue(socketserver.StreamRequestHandler):
    def handle(self) -> None:
        server: MailServer = self.server.told  # type: ignore[attr-defined]
        if server.silent:
            server.released.wait(300)
            return
        self._say("220 here")
        while line := self.rfile.readline():
            word = line.split()[0].upper() if line.split() else b""
            if word == b"DATA":
                self._say("354 go on")
                self._take(server)
            elif word == b"QUIT":
                self._say("221 bye")
                return
            else:
                self._say("250 yes")

    def _take(self, server: "MailServer") -> None:
        text = b""
        while (line := self.rfile.readline()) not in (b".\r\n", b""):
            text += line
        server.taken.append(text)
        time.sleep(server.thinks)
        self._say(server.answer)

    def _say(self, words: str) -> None:
        self.wfile.write(f"{words}\r\n".encode())


class MailServer:
    """What was taken, and how it behaves."""

    def __init__(self) -> None:
        self.taken: list[bytes] = []
        self.silent = False
        self.thinks = 0.0  # s, before it answers a whole message
        self.answer = "250 taken"
        self.released = threading.Event()


@contextmanager
def serving() -> Iterator[tuple[MailServer, int]]:
    """Run one; answers it and its port."""
    told = MailServer()
    with _Server(("127.0.0.1", 0), _Dialogue) as server:
        server.told = told  # type: ignore[attr-defined]
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield told, server.server_address[1]
        told.released.set()
        server.shutdown()
