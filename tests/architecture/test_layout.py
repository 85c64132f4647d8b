"""The tree stays readable, and speaks of the project alone."""

import ast
import re
import subprocess
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
TOP = {
    "README.md", "DEVELOPERS.md", "LICENSE", "manage.py", "pyproject.toml",
    "records", "calculations", "tests", "fixtures", "deploy",
}  # fmt: skip
VENDOR = PROJECT / "records/static/field/vendor"
ELSEWHERE = re.compile(r"(?<![\w.])/(?:work|root)/[\w.]|https?://[^/\s]*(?:pypi|pythonhosted)")


def tracked(pattern: str = "") -> list[Path]:
    ran = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", pattern or "."],
        cwd=PROJECT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    found = [PROJECT / line for line in ran.stdout.splitlines()]
    if ran.returncode:  # a copy without its history
        found = [p for p in PROJECT.rglob(pattern or "*") if not _aside(p.relative_to(PROJECT))]
    return [path for path in found if path.is_file()]


def _aside(path: Path) -> bool:
    return any(part.startswith(".") or part == "__pycache__" for part in path.parts)


def test_the_top_level_holds_what_was_agreed():
    names = {path.relative_to(PROJECT).parts[0] for path in tracked()}
    assert {name for name in names if not name.startswith(".")} <= TOP


def test_no_module_is_much_longer_than_400_lines():
    modules = [path for path in tracked("*.py") if "migrations" not in path.parts]
    lengths = {path: len(path.read_text().splitlines()) for path in modules}
    most = {path: 460 if "tests" in path.parts else 400 for path in modules}
    assert not {str(path): lengths[path] for path in modules if lengths[path] > most[path]}


def test_no_function_outside_of_tests_and_demo_documents_is_longer_than_60_lines():
    long = []
    for path in tracked("*.py"):
        if {"migrations", "tests", "fixtures"} & set(path.parts):
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.FunctionDef) and node.end_lineno - node.lineno > 60:
                long.append(f"{path}:{node.lineno} {node.name}")
    assert not long


def test_what_the_business_does_knows_no_requests():
    inside = [*tracked("records/services/*.py"), *tracked("records/selectors/*.py")]
    assert len(inside) > 50
    web = re.compile(r"^(?:from|import) (?:django\.http|rest_framework)\b", re.MULTILINE)
    assert [str(path) for path in inside if web.search(path.read_text())] == []


def test_nothing_names_a_place_of_one_machine_or_a_registry():
    me = Path(__file__).resolve()
    for path in tracked():
        if path.suffix in (".otf", ".ttf", ".png") or path.resolve() == me:
            continue
        if path.is_relative_to(VENDOR):  # by others, as they published it: held by digest
            continue
        found = ELSEWHERE.search(path.read_text(encoding="utf-8", errors="replace"))
        assert not found, f"{path}: {found.group()}"
