"""Clients that post at the same time, each a process of its own, bounded in count and time."""

import json
import time
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, closing, contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from itertools import cycle
from multiprocessing import get_context
from multiprocessing.queues import Queue
from multiprocessing.synchronize import Barrier
from typing import Any

Post = Callable[[], None]
# Gives the client of that number its way to post; entered in its own process.
Opener = Callable[[int], AbstractContextManager[Post]]

PATIENCE = 60  # s, for anything that should take no time
FORK = get_context("fork")


@dataclass(frozen=True)
class Bounds:
    """When a client stops, whichever comes first."""

    posts: int
    seconds: float
    warm_up: int = 3  # posts before the clock starts


@dataclass(frozen=True)
class Run:
    """What one round of some clients took."""

    durations: list[float]  # s, of every post of every client
    seconds: float  # from the first client's begin to the last one's end

    @property
    def rate(self) -> float:
        """Posts in a second."""
        return len(self.durations) / self.seconds


def run(open_: Opener, clients: int, bounds: Bounds) -> Run:
    """Have `clients` processes post at the same time."""
    start, answers = FORK.Barrier(clients), FORK.Queue()
    processes = [
        FORK.Process(target=_client, args=(open_, number, bounds, start, answers), daemon=True)
        for number in range(clients)
    ]
    for process in processes:
        process.start()
    try:
        told = [answers.get(timeout=bounds.seconds + 2 * PATIENCE) for _ in processes]
    finally:
        for process in processes:
            process.join(PATIENCE)
    for each in told:
        if isinstance(each, str):
            raise RuntimeError(f"a client failed: {each}")
    begun, ended, durations = zip(*told, strict=True)
    return Run([one for many in durations for one in many], max(ended) - min(begun))


def _client(
    open_: Opener, number: int, bounds: Bounds, start: Barrier, answers: "Queue[Any]"
) -> None:
    try:
        with open_(number) as post:
            for _ in range(bounds.warm_up):
                post()
            start.wait(PATIENCE)
            answers.put(_timed(post, bounds))
    except Exception as error:
        start.abort()
        answers.put(repr(error))


def _timed(post: Post, bounds: Bounds) -> tuple[float, float, list[float]]:
    durations = []
    begun = before = time.perf_counter()
    while len(durations) < bounds.posts and before - begun < bounds.seconds:
        post()
        now = time.perf_counter()
        durations.append(now - before)
        before = now
    return begun, before, durations


@contextmanager
def poster(
    address: str, path: str, headers: Mapping[str, str], documents: Iterable[dict[str, Any]]
) -> Iterator[Post]:
    """Post documents in turn, with a new id each time, over one connection that is kept."""
    around = [json.dumps(each).encode().split(each["id"].encode()) for each in documents]
    turns = cycle(around)
    connection = HTTPConnection(address, timeout=PATIENCE)

    def post() -> None:
        before, after = next(turns)
        body = before + str(uuid.uuid4()).encode() + after
        connection.request("POST", path, body, headers)
        answer = connection.getresponse()
        content = answer.read()
        if answer.status != 201:
            raise RuntimeError(f"{path}: {answer.status} {content[:500].decode()}")

    with closing(connection):
        yield post
