"""Fills the disk that database and files are on, posts, and reads; prints what came of it as JSON.

Runs in a namespace of mounts of its own, with a small disk in memory that is gone with it:

    unshare --mount --propagation private python -m tests.faults.full_disk FOLDER
"""

import json
import os
import subprocess
import sys
import uuid
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path

import psycopg

from deploy.roles import DATABASE
from tests.benchmarks.servers import RemoteApi
from tests.faults.acknowledged import Installation
from tests.records import stations
from tests.records.cast import Person
from tests.records.stations import Station

SIZE = "320m"
LEFT = 600_000  # bytes that stay free; the log of the database has its next piece already
MOST = 400


def post(api: RemoteApi, station: Station) -> tuple[int, str]:
    """One event; its status and id."""
    identity = str(uuid.uuid4())
    return api.post("/events", {**station.event(), "id": identity}).status, identity


class Sender(RemoteApi):
    """The API over a socket, with files."""

    def send_file(self, event: str, content: bytes) -> int:
        """One file of an event, its status."""
        path = f"/api/v1/events/{event}/attachments?purpose=settings_file&name=drive.bin"
        headers = {
            "Authorization": f"Bearer {self.person.secret}",
            "Content-Type": "application/octet-stream",
        }
        with closing(HTTPConnection(self.address, timeout=60)) as connection:
            connection.request("POST", path, content, headers)
            return connection.getresponse().status


def fill(folder: Path) -> Path:
    """Take what is free but for a little."""
    ballast = folder / "ballast"
    free = os.statvfs(folder).f_bavail * os.statvfs(folder).f_frsize
    with ballast.open("wb") as file:
        os.posix_fallocate(file.fileno(), 0, free - LEFT)
    return ballast


def run(folder: Path) -> dict[str, object]:
    """Before, while and after the disk is full."""
    made = Installation(folder)
    try:
        made.prepare()
        cast = made.people()
        known = stations.register(RemoteApi(made.address, cast.orla), cast.client, code="F-1")
        return scenario(made, folder, cast.teo, known)
    finally:
        made.stop()


def scenario(made: Installation, folder: Path, teo: Person, known: Station) -> dict[str, object]:
    """Post until it is refused, read, make room, post again."""
    api = Sender(made.address, teo)
    sent = [post(api, known) for _ in range(5)]
    with psycopg.connect(made.database.dsn(), autocommit=True) as admin:
        admin.execute("SELECT pg_switch_wal()")
        admin.execute("CHECKPOINT")
    ballast = fill(folder)
    refused: list[int] = []
    files = [api.send_file(sent[0][1], os.urandom(2_000_000)) for _ in range(2)]
    for _ in range(MOST):
        sent.append(post(api, known))
        if sent[-1][0] != 201:
            refused.append(sent[-1][0])
        if len(refused) == 5:
            break
    reads = [api.get("/events").status, api.get(f"/events/{sent[0][1]}").status]
    ballast.unlink()
    after = [post(api, known) for _ in range(3)]
    acknowledged = [identity for status, identity in (*sent, *after) if status == 201]
    with psycopg.connect(made.database.dsn(database=DATABASE)) as admin:
        there = {i for (i,) in admin.execute("SELECT id::text FROM records_event")}
    return {
        "refused": refused, "files": files, "reads": reads,
        "after": [status for status, _ in after], "acknowledged": len(acknowledged),
        "lost": len(set(acknowledged) - there),
        "statuses": sorted({status for status, _ in sent} | set(files)),
    }  # fmt: skip


def main() -> None:
    """Mount the small disk, where nobody else sees it."""
    folder = Path(sys.argv[1])
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={SIZE}", "small", folder], check=True)
    print(json.dumps(run(folder)))


if __name__ == "__main__":
    main()
