"""Processes that are started: what killed ones left is put away, or it is said why not."""

import os
import socket

import pytest

from deploy import serve
from deploy.environment import BadVariableError
from deploy.serve import empty_numbers, refuse_bad_address

NAME = "PROMETHEUS_MULTIPROC_DIR"


def test_numbers_of_killed_processes_are_put_away_and_nothing_else(tmp_path, monkeypatch):
    folder = tmp_path / "run" / "numbers"
    monkeypatch.setenv(NAME, str(folder))
    empty_numbers()
    (folder / "counter_7.db").write_bytes(b"7")
    (folder / "note").write_text("stays")
    empty_numbers()
    assert [each.name for each in folder.iterdir()] == ["note"]


def test_a_folder_of_numbers_that_is_none_is_told_by_its_variable(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("no folder")
    for folder in (tmp_path / "file", tmp_path / "file" / "in it"):
        monkeypatch.setenv(NAME, str(folder))
        with pytest.raises(BadVariableError, match=f"{NAME}: expected a folder in which .*file"):
            empty_numbers()


BUSY, FREE = "127.0.0.1:{busy}", "127.0.0.1:0"


@pytest.mark.parametrize(
    ("address", "words"),
    [
        # No name may be so long: nobody is asked where it is.
        (f"{'x' * 64}.example:8000", "an address of this machine, .*xxx.example:8000"),
        ("192.0.2.1:8000", "an address of this machine, .*192.0.2.1:8000"),  # RFC 5737: nobody's
        (
            BUSY,
            "an address of this machine, .* whose port nobody else has .*Address already in use",
        ),
        ("8000", "HOST:PORT"),
        ("127.0.0.1:http", "HOST:PORT"),
        ("[::1]", r"HOST:PORT .*\[::1\]\)"),
        ("[::]", r"HOST:PORT .*\[::\]\)"),
        ("tcp://127.0.0.1:8000", r"HOST:PORT and nothing before it.*tcp://127.0.0.1:8000\)"),
        ("http://[::1]:8000", "HOST:PORT and nothing before it"),
        ("::1:8000", r"an IPv6 address, and no other, in brackets, .*\(got ::1:8000\)"),
        (":::8000", "an IPv6 address, and no other, in brackets"),
        ("[::1:8000", "an IPv6 address, and no other, in brackets"),
        ("[localhost]:8000", "an IPv6 address, and no other, in brackets"),
        ("127.0.0.1:99999", "an address of this machine"),
        (f"{'a' * 70}.example:8000", "an address of this machine"),
    ],
)
def test_an_address_that_cannot_be_listened_at_is_told_by_its_variable(address, words, monkeypatch):
    with socket.create_server(("127.0.0.1", 0)) as held:
        monkeypatch.setenv("WEB_ADDRESS", address.format(busy=held.getsockname()[1]))
        with pytest.raises(BadVariableError, match=f"WEB_ADDRESS: expected {words}"):
            refuse_bad_address()


@pytest.fixture
def listened(monkeypatch):
    """The sockets that were made to see whether an address can be listened at."""
    made, create = [], socket.create_server

    def kept(*words, **options):
        made.append(create(*words, **options))
        return made[-1]

    monkeypatch.setattr(serve.socket, "create_server", kept)
    return made


@pytest.mark.parametrize("address", [FREE, "localhost:0", ":0"])
def test_an_address_that_is_free_is_taken_and_let_go(address, monkeypatch, listened):
    monkeypatch.setenv("WEB_ADDRESS", address)
    refuse_bad_address()
    assert [each.fileno() for each in listened] == [-1]  # closed


@pytest.mark.parametrize(("address", "place"), [("[::1]:8000", "::1"), ("[::]:8000", "::")])
def test_an_ipv6_address_is_tried_as_one(address, place, monkeypatch):
    """On a machine without it, too."""
    tried = []

    def create(where, *, family):
        tried.append((where, family))
        return socket.socket()

    monkeypatch.setattr(serve.socket, "create_server", create)
    monkeypatch.setenv("WEB_ADDRESS", address)
    refuse_bad_address()
    assert tried == [((place, 8000), socket.AF_INET6)]


def test_a_socket_in_the_file_system_is_left_to_the_web_server(monkeypatch, listened):
    monkeypatch.setenv("WEB_ADDRESS", "unix:/run/web.sock")
    refuse_bad_address()
    assert listened == []


def test_where_systemd_listens_the_address_does_not_count(monkeypatch, listened):
    monkeypatch.setenv("WEB_ADDRESS", FREE)
    monkeypatch.setenv("LISTEN_PID", str(os.getpid()))
    refuse_bad_address()
    assert listened == []
