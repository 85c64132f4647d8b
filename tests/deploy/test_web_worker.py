"""A web worker that holds connections lets another take a new one first."""

import socket

import pytest
from gunicorn.config import Config
from gunicorn.workers.gthread import ThreadWorker

from deploy import processes, web_worker
from deploy.web_worker import HESITATION, SharingWorker


@pytest.fixture
def worker():
    told = Config()
    told.set("threads", 4)
    made = SharingWorker(1, 1, [], None, 30, told, None)
    yield made
    made.tmp.close()


@pytest.mark.parametrize(("held", "counted"), [(0, 0), (1, 1), (3, 3), (4, 4), (900, 4)])
def test_it_hesitates_for_what_it_holds_and_then_takes_what_is_there(
    worker, monkeypatch, held, counted
):
    done = []
    monkeypatch.setattr(web_worker.time, "sleep", lambda seconds: done.append(seconds))
    monkeypatch.setattr(ThreadWorker, "accept", lambda _, listener: done.append(listener))
    worker.nr_conns = held
    with socket.create_server(("127.0.0.1", 0)) as listener:
        worker.accept(listener)
        assert done == [pytest.approx(counted * HESITATION), listener]
    assert counted * HESITATION <= 0.002


def test_where_another_was_faster_it_takes_nothing(worker):
    with socket.create_server(("127.0.0.1", 0)) as listener:
        listener.setblocking(False)
        worker.accept(listener)
    assert worker.nr_conns == 0


def test_web_processes_run_it():
    told = Config()
    [named] = [word for word in processes.web("", workers=2, threads=4) if "worker-class" in word]
    told.set("worker_class", named.partition("=")[2])
    assert told.worker_class is SharingWorker
