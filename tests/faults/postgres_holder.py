"""A process that holds an embedded PostgreSQL until its standard input closes or it is killed."""

import sys
from pathlib import Path

from deploy.embedded_postgres import EmbeddedPostgres

if __name__ == "__main__":
    data, durability = sys.argv[1:]
    with EmbeddedPostgres(Path(data), durable=durability == "durable") as postgres:
        assert postgres.process is not None
        print(postgres.process.pid, postgres.dsn(), flush=True)
        sys.stdin.read()
