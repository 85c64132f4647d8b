"""What the web server is told beside its command line: `--config python:deploy.web_server`."""

import socket
import struct
from typing import Any

from deploy import garbage
from deploy.children import die_with
from records.limits import LARGEST_BODY

# Long addresses are refused by the service itself, in its own form; the largest the server takes.
limit_request_line = 8190
# The server would take scheme and root of every address from whoever calls over the loopback, and
# with a proxy on this machine everybody does. `BEHIND_PROXY` alone says what is believed.
forwarded_allow_ips = ""
logger_class = "deploy.web_log.ServerLog"

# Longer than a proxy keeps its own (upstream.conf): a post that meets a connection which the server
# is just closing is lost, and a proxy sends none twice.
keepalive = 75  # s without a request

LONGEST_SILENCE = 60  # s in which nothing comes of a body: then it counts as broken off


def post_fork(server: Any, worker: Any) -> None:
    """A worker whose server is killed would hold the port as long as a caller keeps it waiting."""
    die_with(server.pid)


def post_worker_init(worker: Any) -> None:
    """Leave what the code is made of out of the search for garbage, and search less often."""
    garbage.look_seldom()


def pre_request(worker: Any, request: Any) -> None:
    """Wait for no silent caller; close the connection after a body that may not be read to its end.

    Where the next request begins is then unknown, and the caller must be told in the answer. A file
    that is longer than a document may be is taken, and closes its connection as well.
    """
    _wait_no_longer(request.unreader.sock)
    if _is_too_long(dict(request.headers)):
        request.headers.append(("CONNECTION", "close"))


def _wait_no_longer(line: socket.socket) -> None:
    """A phone that has lost its signal says no goodbye: a thread would wait for it for hours.

    Of what is received alone: whoever reads slowly may take as long as it takes.
    """
    silence = struct.pack("ll", int(LONGEST_SILENCE), int(LONGEST_SILENCE % 1 * 1e6))
    line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVTIMEO, silence)


def _is_too_long(headers: dict[str, str]) -> bool:
    length = headers.get("CONTENT-LENGTH", "0")
    return "TRANSFER-ENCODING" in headers or not length.isdigit() or int(length) > LARGEST_BODY
