"""Whether the web process on this machine lives, for a container's health check."""

import http.client
import os
import sys

PORT = 8000


def main() -> int:
    """0 where it answers."""
    host = os.environ.get("ALLOWED_HOSTS", "localhost").split(",")[0].strip()
    connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=4)
    try:
        connection.request("GET", "/livez", headers={"Host": host})
        return int(connection.getresponse().status != 200)
    except (OSError, http.client.HTTPException):
        return 1
    finally:
        connection.close()


if __name__ == "__main__":
    sys.exit(main())
