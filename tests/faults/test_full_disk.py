"""A full disk: what was acknowledged stays, reading works, the rest is told as 507 or 503."""

import json
import os
import subprocess
import sys

import pytest

from tests.database import PROJECT

pytestmark = [pytest.mark.slow, pytest.mark.fault]

APART = ("unshare", "--mount", "--propagation", "private")
POSSIBLE = (
    os.geteuid() == 0
    and subprocess.run([*APART, "true"], capture_output=True, check=False).returncode == 0
)


@pytest.mark.skipif(not POSSIBLE, reason="needs root, and a namespace of mounts")
def test_what_was_acknowledged_survives_and_reading_works(tmp_path):
    ran = subprocess.run(
        [*APART, sys.executable, "-m", "tests.faults.full_disk", tmp_path],
        cwd=PROJECT, capture_output=True, text=True, check=False, timeout=400,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr[-3000:]
    told = json.loads(ran.stdout.splitlines()[-1])
    assert told["refused"], "the disk was never full: nothing was tried"
    assert set(told["refused"]) <= {503, 507}
    assert 507 in told["refused"]
    assert set(told["files"]) <= {503, 507}
    assert told["reads"] == [200, 200]
    assert told["after"] == [201, 201, 201]
    assert told["lost"] == 0
    assert 500 not in told["statuses"]
