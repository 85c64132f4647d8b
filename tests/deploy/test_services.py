"""What holds the processes within bounds, by system services and by containers alike."""

import re
from configparser import RawConfigParser

import pytest

from deploy.settings import TASK_SECONDS
from tests.database import PROJECT

SERVICES = PROJECT / "deploy" / "services"
COMPOSE = PROJECT / "deploy" / "containers" / "compose.yaml"
README = PROJECT / "deploy" / "README.md"
KINDS = ("web", "worker", "relay")
UNITS = {"m": 1, "g": 1024}  # in MB


def unit(kind):
    read = RawConfigParser(strict=False)
    read.optionxform = str
    read.read(SERVICES / f"stationbook-{kind}.service", encoding="utf-8")
    return read


def megabytes(said):
    return int(said[:-1]) * UNITS[said[-1].lower()]


def block_of(kind):
    """What compose.yaml says of a service alone."""
    text = COMPOSE.read_text(encoding="utf-8")
    [block] = re.findall(rf"^  {kind}:\n((?:    .*\n)+)", text, re.MULTILINE)
    return block


def of_container(kind):
    """Limits of a service in compose.yaml: memory and number of processes."""
    block = block_of(kind)
    [memory] = re.findall(r"^    mem_limit: (\w+)", block, re.MULTILINE)
    [number] = re.findall(r"^    pids_limit: (\d+)", block, re.MULTILINE)
    return megabytes(memory), int(number)


@pytest.mark.parametrize("kind", KINDS)
def test_services_and_containers_have_the_same_bounds_as_the_page_says(kind):
    service = unit(kind)["Service"]
    memory, number = megabytes(service["MemoryMax"]), int(service["TasksMax"])
    assert (memory, number) == of_container(kind)
    said = f"{memory // 1024} GB" if memory >= 1024 else f"{memory} MB"
    [row] = re.findall(rf"^\| {kind}\b.*MB.*$", README.read_text(encoding="utf-8"), re.MULTILINE)
    assert re.search(rf"\| {said}, {number}\b", row)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_being_done_may_be_done_to_its_end_in_a_container_too(kind):
    """Killed, a document would be made again only when its message comes back."""
    text = COMPOSE.read_text(encoding="utf-8")
    usual, *_ = re.findall(r"^  stop_grace_period: (\d+)s", text, re.MULTILINE)
    own = re.findall(r"^    stop_grace_period: (\d+)s", block_of(kind), re.MULTILINE)
    assert int(*own or [usual]) >= int(unit(kind)["Service"]["TimeoutStopSec"])
    if kind == "worker":
        assert int(*own) > TASK_SECONDS


def test_nobody_waits_for_ever_for_a_web_process_that_never_starts():
    """Each try takes two seconds of waiting and some of starting: ten have to fit in the time."""
    web = unit("web")
    tries, within = (int(web["Unit"][f"StartLimit{name}"]) for name in ("Burst", "IntervalSec"))
    longest_start = 8  # s, on a slow machine
    assert tries * (int(web["Service"]["RestartSec"]) + longest_start) < within
    assert web["Unit"]["Requires"] == "stationbook-web.socket"  # that a start opens again


@pytest.mark.parametrize("kind", ["worker", "relay"])
def test_what_nobody_waits_for_is_tried_as_long_as_it_takes(kind):
    assert unit(kind)["Unit"]["StartLimitIntervalSec"] == "0"
    assert unit(kind)["Service"]["Restart"] == "always"
