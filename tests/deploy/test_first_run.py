"""The first run, on an empty server: done again it makes nothing anew, and no secret is printed."""

import os
import subprocess
import sys
from pathlib import Path

import psycopg
import pytest

from deploy.embedded_postgres import EmbeddedPostgres
from deploy.first_run import connection_url
from records import roles
from tests.database import PROJECT

FIRST = (
    *("--email", "orla@office.example", "--name", "Orla Brandt"),
    *("--organization", "Brandt Pump Service", "--address", "https://book.example"),
)


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("server")
    with EmbeddedPostgres(folder / "postgres", durable=False) as running:
        yield running


def run(server: EmbeddedPostgres, folder: Path, *words: str, **said: str):
    variables = {
        "PATH": os.environ["PATH"],
        "ADMIN_DATABASE_URL": server.url(user="postgres", database="postgres"),
        "ALLOWED_HOSTS": "book.example",
        "FILES_ROOT": str(folder / "files"),
        "STATIC_ROOT": str(folder / "static"),
    }
    return subprocess.run(
        [sys.executable, "-m", "deploy.first_run", "--keys", folder / "keys",
         "--operator", folder / "operator", *words],
        cwd=PROJECT, env={**variables, **said}, capture_output=True, text=True, check=False,
    )  # fmt: skip


def kept(folder: Path) -> dict[str, bytes]:
    return {
        str(f): f.read_bytes()
        for part in ("keys", "operator")
        for f in folder.joinpath(part).iterdir()
    }


@pytest.mark.slow
def test_it_makes_all_once_and_prints_no_secret(server, tmp_path):
    begun = run(server, tmp_path, *FIRST)
    assert begun.returncode == 0, begun.stderr
    before = kept(tmp_path)
    assert all(os.stat(file).st_mode & 0o077 == 0 for file in before)
    again = run(server, tmp_path, *FIRST)
    assert again.returncode == 0, again.stderr
    assert kept(tmp_path) == before
    assert "keys and passwords: were there" in again.stdout
    assert "nobody else was invited" in again.stdout
    printed = begun.stdout + begun.stderr + again.stdout + again.stderr
    for file, content in before.items():
        for line in content.decode().splitlines():
            assert line not in printed, file
    link = (tmp_path / "operator" / "first_office_link").read_text()
    assert link.startswith("https://book.example/password/choose/")
    url = (tmp_path / "operator" / "backup_database_url").read_text()
    with psycopg.connect(url) as backup:
        (count,) = backup.execute("SELECT count(*) FROM records_membership").fetchone()
    assert count == 1
    assert list((tmp_path / "static").rglob("*.css"))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"ADMIN_DATABASE_URL": ""}, "set ADMIN_DATABASE_URL"),
        ({"ADMIN_DATABASE_URL": "postgresql://x@%2Fnowhere/x"}, "does not let us in"),
    ],
)
def test_what_is_missing_is_told_with_what_to_do(server, tmp_path, said, words):
    ran = run(server, tmp_path, **said)
    assert ran.returncode == 1
    assert words in ran.stderr
    assert "run the same command again" in ran.stderr
    assert not (tmp_path / "keys").exists()


def test_the_administrators_server_is_kept_and_its_password_is_not():
    admin = {
        "host": "/run/pg",
        "port": "6432",
        "user": "boss",
        "password": "hers",
        "sslmode": "require",
    }
    url = connection_url(admin, roles.LOGIN, "a/b:c@d")
    assert url == (
        "postgresql://stationbook_login:a%2Fb%3Ac%40d@%2Frun%2Fpg:6432/stationbook?sslmode=require"
    )
    assert "sslmode" not in connection_url(admin, roles.QUEUE, "x")
