"""A body that is not read to its end: the answer says that the connection closes."""

import http.client
import os
import re
import socket
import subprocess
import time
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace

import pytest
from gunicorn.config import Config

from deploy import processes, web_server
from records.limits import LARGEST_BODY
from tests.faults.test_embedded_postgres import alive, descendants

DEPLOY = Path(web_server.__file__).parent
MEGABYTES = b"x" * (12 * 1024 * 1024)


@pytest.mark.parametrize(
    ("headers", "closes"),
    [
        ({}, False),
        ({"CONTENT-LENGTH": "0"}, False),
        ({"CONTENT-LENGTH": str(LARGEST_BODY)}, False),
        ({"CONTENT-LENGTH": str(LARGEST_BODY + 1)}, True),
        ({"CONTENT-LENGTH": "many"}, True),
        ({"TRANSFER-ENCODING": "chunked"}, True),
    ],
)
def test_what_is_longer_than_a_document_closes_its_connection(headers, closes):
    with socket.socket() as ours:
        request = SimpleNamespace(
            headers=list(headers.items()), unreader=SimpleNamespace(sock=ours)
        )
        web_server.pre_request(None, request)
    assert (("CONNECTION", "close") in request.headers) is closes


def test_a_caller_who_falls_silent_is_not_waited_for(monkeypatch):
    monkeypatch.setattr(web_server, "LONGEST_SILENCE", 0.2)
    theirs, ours = socket.socketpair()
    with theirs, ours:
        request = SimpleNamespace(headers=[], unreader=SimpleNamespace(sock=ours))
        web_server.pre_request(None, request)
        theirs.sendall(b"half")
        assert ours.recv(10) == b"half"
        with pytest.raises(BlockingIOError):
            ours.recv(10)


@pytest.mark.parametrize("folder", ["proxy", "containers"])
def test_a_proxy_closes_its_connections_before_the_server_does(folder):
    """Else a post may meet one that is just being closed, and a proxy sends no post twice."""
    told = (DEPLOY / folder / "upstream.conf").read_text(encoding="utf-8")
    found = re.search(r"^\s*keepalive_timeout (\d+)s;", told, re.MULTILINE)
    assert found is not None
    assert int(found[1]) + 10 <= web_server.keepalive


def test_no_caller_is_taken_for_a_proxy():
    """The server's own default is the loopback, where a proxy on this machine hands all on."""
    told = Config()
    told.set("forwarded_allow_ips", web_server.forwarded_allow_ips)
    assert told.forwarded_allow_ips == []
    assert Config().forwarded_allow_ips != []


@contextmanager
def served(folder):
    """A web process on a free port, which reaches no database: every answer is an error."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        number = taken.getsockname()[1]
    where = {"DEBUG": "1", "PLAIN_HTTP": "1", "ALLOWED_HOSTS": "127.0.0.1",
             "DATABASE_URL": "postgresql://nobody@%2Fnonexistent/none", "DATABASE_POOL_SIZE": "0",
             "FILES_ROOT": str(folder)}  # fmt: skip
    process = subprocess.Popen(
        processes.web(f"127.0.0.1:{number}", workers=1, threads=2),
        env=os.environ | where, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        _wait_for(number)
        yield process, number
    finally:
        process.terminate()
        process.wait(30)


@pytest.fixture(scope="module")
def port(tmp_path_factory):
    with served(tmp_path_factory.mktemp("files")) as (_, number):
        yield number


def _wait_for(number):
    for _ in range(1_200):
        try:
            socket.create_connection(("127.0.0.1", number), 1).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError("the web process does not listen")


def _wait_until_free(number):
    """A process counts as dead from its first thread's end on; the last one closes the socket."""
    for _ in range(600):
        try:
            socket.create_server(("127.0.0.1", number)).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError("something still listens")


@pytest.mark.slow
def test_a_caller_with_a_long_body_reads_its_answer_and_comes_again(port):
    """Four in a row: a connection that ends unannounced fails in some of them only."""
    for _ in range(4):
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        connection.request("POST", "/api/v1/events", MEGABYTES, {"Authorization": "Bearer x"})
        answer = connection.getresponse()
        assert answer.getheader("Connection") == "close"
        assert answer.getheader("Content-Type") == "application/problem+json"
        assert answer.read()
        connection.request("GET", "/api/v1/nothing")  # on a new connection, as it was told to
        assert connection.getresponse().status == 503
        connection.close()


@pytest.mark.slow
def test_a_long_address_is_answered_in_the_services_own_form(port):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    connection.request("GET", "/api/v1/events?site=" + "a" * 7000)
    assert connection.getresponse().getheader("Content-Type") == "application/problem+json"
    connection.close()


@pytest.mark.slow
def test_nobody_moves_the_service_to_another_root(port):
    """Under another root the API's paths would no longer count guesses, nor mails' links lead here.

    Taken, the root would be cut off, and the API be asked, which reaches no database here: 503.
    """
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    for headers in ({}, {"SCRIPT_NAME": "/x"}, {"Script-Name": "/x"}):
        connection.request("GET", "/x/api/v1/nothing", headers=headers)
        answer = connection.getresponse()
        answer.read()
        assert answer.status == 404
    connection.close()


@pytest.mark.slow
def test_a_killed_server_leaves_no_worker_on_its_port(tmp_path):
    """Though a caller is not done: alone, a worker would wait for half a minute."""
    with served(tmp_path) as (process, number):
        workers = descendants(process.pid)
        with socket.create_connection(("127.0.0.1", number)) as caller:
            caller.sendall(b"POST /api/v1/events HTTP/1.1\r\nHost: 127.0.0.1\r\n")
            caller.sendall(b"Content-Length: 2\r\n\r\n{")
            time.sleep(1)  # until a thread waits for the rest
            process.kill()
            process.wait()
            for _ in range(600):
                time.sleep(0.1 * any(map(alive, workers)))
            assert not any(map(alive, workers))
            _wait_until_free(number)
