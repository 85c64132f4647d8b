"""The web server's worker: one that has more to do leaves a new connection to another."""

import socket
import time

from gunicorn.workers.gthread import ThreadWorker

HESITATION = 0.0005  # s, for each connection that is held


class SharingWorker(ThreadWorker):  # type: ignore[misc]
    """Hesitates before it takes a connection, the longer the more it holds.

    All workers wait for the same socket, and whichever wakes first takes what has come: of eight
    connections made at once, which their callers keep, one worker had all in six of twenty times,
    and the other core stood idle. With as many as it has threads a worker is busy in any case.
    """

    def accept(self, listener: socket.socket) -> None:
        """Take a connection, if no other worker has."""
        time.sleep(HESITATION * min(self.nr_conns, self.cfg.threads))
        super().accept(listener)
