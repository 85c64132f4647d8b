"""The program as it is handed out: one file, and what it says when it is run."""

import importlib.util
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest

from records.verifier import joined
from tests.records.verifier.making import SealingKey, published


@dataclass(frozen=True)
class Said:
    """What the program said, and its exit status."""

    status: int
    words: str

    @property
    def failed(self) -> list[str]:
        """What it names as failed."""
        lines = self.words.splitlines()
        return [line.removeprefix("FAILED  ") for line in lines if line.startswith("FAILED  ")]

    def __contains__(self, words: str) -> bool:
        return words in " ".join(self.words.split())


@pytest.fixture(scope="session")
def program_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file that is handed out."""
    file = tmp_path_factory.mktemp("program") / joined.NAME
    file.write_bytes(joined.program())
    return file


@pytest.fixture(scope="session")
def program(program_file: Path) -> ModuleType:
    """The same, as a module."""
    spec = importlib.util.spec_from_file_location("verifying_program", program_file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def verify(program: ModuleType, capsys: pytest.CaptureFixture[str]) -> Callable[..., Said]:
    """Runs it with the words of a command line."""

    def run(*words: object) -> Said:
        capsys.readouterr()
        status = program.main([str(word) for word in words])
        return Said(status, capsys.readouterr().out)

    return run


@pytest.fixture
def key() -> SealingKey:
    """The service's key."""
    return SealingKey()


@pytest.fixture
def keys_file(key: SealingKey, tmp_path: Path) -> Path:
    """The list of keys that a client kept."""
    file = tmp_path / "keys.json"
    file.write_bytes(published(key))
    return file


@pytest.fixture
def put(tmp_path: Path) -> Callable[[str, bytes], Path]:
    """Writes a file."""

    def write(name: str, content: bytes) -> Path:
        file = tmp_path / name
        file.write_bytes(content)
        return file

    return write
