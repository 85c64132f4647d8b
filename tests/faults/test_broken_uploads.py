"""Uploads over a connection that breaks, at a web server with several processes."""

import hashlib
import http.client
import json
import os
import random
import signal
import socket
import struct
import subprocess
from contextlib import closing, suppress
from pathlib import Path

import pytest

from deploy import processes
from records.services import uploads
from tests.database import PROJECT
from tests.faults.test_embedded_postgres import wait_for
from tests.records import visits
from tests.records.client import Api
from tests.records.conftest import cast, signing_key, stage, station  # noqa: F401
from tests.records.world import PARTIAL

pytestmark = pytest.mark.slow

SEED = 2619
CONTENT = random.Random(SEED).randbytes(3_000_000)
CUTS = sorted(random.Random(SEED + 1).sample(range(1, len(CONTENT)), 20))
WORKERS = 2


class Server:
    """The web server's processes, and one person's requests to them."""

    def __init__(self, environment: dict[str, str], secret: str) -> None:
        with socket.socket() as taken:
            taken.bind(("127.0.0.1", 0))
            self.port = taken.getsockname()[1]
        self.secret = secret
        self.process = subprocess.Popen(
            processes.web(f"127.0.0.1:{self.port}", workers=WORKERS, threads=4),
            cwd=PROJECT, env=os.environ | environment,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        wait_for(self._listens)

    def _listens(self) -> bool:
        with suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 1):
            return True
        return False

    def stop(self) -> None:
        """End the processes that were started here."""
        self.process.terminate()
        self.process.wait(30)

    def workers(self) -> list[int]:
        """The processes that answer."""
        children = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return [int(each) for each in children.read_text().split()]

    def call(self, method: str, path: str, body: bytes = b"", **headers: str):
        """One request; answers with status, headers and body."""
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)) as connection:
            connection.request(method, path, body, self._headers(headers))
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read()

    def _headers(self, headers: dict[str, str]) -> dict[str, str]:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return {"Authorization": f"Bearer {self.secret}", "Content-Type": PARTIAL} | named

    def begin(self, event: dict, content: bytes) -> str:
        """The address of an upload that was begun."""
        announced = {
            "kind": "attachment", "purpose": "settings_file", "name": "drive.bin",
            "size": len(content), "sha256": hashlib.sha256(content).hexdigest(),
        }  # fmt: skip
        path = f"/api/v1/events/{event['id']}/uploads"
        text = json.dumps(announced).encode()
        status, headers, _ = self.call("POST", path, text, Content_Type="application/json")
        assert status == 201
        return str(headers["Location"])

    def offset(self, path: str) -> int:
        """How much has come."""
        status, headers, _ = self.call("HEAD", path)
        assert status == 204
        return int(headers["Upload-Offset"])

    def append(self, path: str, offset: int, content: bytes):
        """The rest, over a connection that holds."""
        return self.call("PATCH", path, content[offset:], Upload_Offset=str(offset))

    def start(self, path: str, offset: int, length: int) -> socket.socket:
        """A request that appends, of which nothing but the head was sent."""
        line = socket.create_connection(("127.0.0.1", self.port), 30)
        headers = self._headers({"Upload_Offset": str(offset), "Content_Length": str(length)})
        written = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
        line.sendall(f"PATCH {path} HTTP/1.1\r\nHost: 127.0.0.1\r\n{written}\r\n".encode())
        return line


def reset(line: socket.socket) -> None:
    """Break off without a goodbye (RST), as a device does that changes its network."""
    line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    line.close()


@pytest.fixture
def event(cast, station, transactional_db):  # noqa: F811
    return visits.post(Api(cast.teo), station)


@pytest.fixture
def server(event, cast, service_environment):  # noqa: F811
    running = Server(service_environment, cast.teo.secret)
    yield running
    running.stop()


def assert_made(server: Server, answer, content: bytes) -> None:
    status, headers, body = answer
    assert status == 201, body
    assert json.loads(body)["sha256"] == hashlib.sha256(content).hexdigest()
    status, _, kept = server.call("GET", headers["Location"])
    assert (status, hashlib.sha256(kept).digest()) == (200, hashlib.sha256(content).digest())


def test_cut_at_twenty_places_and_resumed_it_is_the_same_file(server, event):
    path = server.begin(event, CONTENT)
    for cut in CUTS:
        offset = server.offset(path)
        line = server.start(path, offset, len(CONTENT) - offset)
        line.sendall(CONTENT[offset:cut])
        line.close()
        wait_for(lambda cut=cut: server.offset(path) == cut)  # not a byte is lost
    assert_made(server, server.append(path, CUTS[-1], CONTENT), CONTENT)


def test_reset_at_twenty_places_and_resumed_it_is_the_same_file(server, event):
    path = server.begin(event, CONTENT)
    for cut in CUTS:
        offset = server.offset(path)
        if offset < cut:
            line = server.start(path, offset, len(CONTENT) - offset)
            line.sendall(CONTENT[offset:cut])
            reset(line)
        assert offset <= server.offset(path) <= cut
    while True:
        status, headers, body = server.append(path, server.offset(path), CONTENT)
        if status != 409:  # the last connection's bytes were still on their way
            break
    assert_made(server, (status, headers, body), CONTENT)


def test_of_two_that_append_at_once_one_goes_on(server, event):
    path = server.begin(event, CONTENT)
    slow = server.start(path, 0, len(CONTENT))
    slow.sendall(CONTENT[: uploads.PART + 1000])
    wait_for(lambda: server.offset(path) == uploads.PART)  # it is still sending
    reached = 3 * uploads.PART
    status, _, _ = server.append(path, uploads.PART, CONTENT[:reached])
    assert status == 204
    slow.sendall(CONTENT[uploads.PART + 1000 :])
    answer = http.client.HTTPResponse(slow)
    answer.begin()
    assert answer.status == 409
    assert answer.headers["Upload-Offset"] == str(reached)
    slow.close()
    assert_made(server, server.append(path, reached, CONTENT), CONTENT)


def test_a_caller_who_can_still_listen_is_told_what_was_kept(server, event):
    path = server.begin(event, CONTENT)
    line = server.start(path, 0, len(CONTENT))
    line.sendall(CONTENT[:70_001])
    line.shutdown(socket.SHUT_WR)
    answer = http.client.HTTPResponse(line)
    answer.begin()
    assert (answer.status, answer.headers["Upload-Offset"]) == (400, "70001")
    assert answer.headers["Content-Type"] == "application/problem+json"
    line.close()


@pytest.mark.fault
def test_what_came_before_the_process_was_killed_is_kept(server, event):
    path = server.begin(event, CONTENT)
    line = server.start(path, 0, len(CONTENT))
    line.sendall(CONTENT[: 4 * uploads.PART + 77])
    wait_for(lambda: server.offset(path) == 4 * uploads.PART)
    killed = server.workers()
    for worker in killed:
        os.kill(worker, signal.SIGKILL)
    line.close()
    wait_for(lambda: not set(killed) & set(server.workers()))
    assert server.offset(path) == 4 * uploads.PART
    assert_made(server, server.append(path, 4 * uploads.PART, CONTENT), CONTENT)
