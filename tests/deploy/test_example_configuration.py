"""The example configuration explains every variable that the code reads, and no other."""

import ast
import re

from tests.database import PROJECT

EXAMPLES = ("stationbook.env.example", "operator.env.example")
READERS = {"words", "switch", "whole_number", "one_of", "secret", "getenv"}
# Of the system, of the tests, of the demo; and what one process tells the next.
OTHERS = {"PATH", "PGPASSWORD", "DJANGO_SETTINGS_MODULE", "STATIONBOOK_SETTINGS", "LISTEN_PID"}
NAME = re.compile(r"[A-Z][A-Z0-9_]+")
LINE = re.compile(r"^#?([A-Z][A-Z0-9_]+)=(.*)$", re.MULTILINE)


def read_in(source: str) -> set[str]:
    """The variables that a module reads by their name."""
    return {
        name.value
        for node in ast.walk(ast.parse(source))
        if (name := _name_in(node)) is not None and NAME.fullmatch(str(name.value))
    }


def _name_in(node: ast.AST) -> ast.Constant | None:
    given: ast.expr | None = None
    if isinstance(node, ast.Call) and node.args:
        function = node.func
        name = function.id if isinstance(function, ast.Name) else getattr(function, "attr", "")
        if name in READERS or (name == "get" and _is_environment(function)):
            given = node.args[0]
    if isinstance(node, ast.Subscript) and _is_environ(node.value):
        given = node.slice
    return given if isinstance(given, ast.Constant) else None


def _is_environment(function: ast.expr) -> bool:
    return isinstance(function, ast.Attribute) and _is_environ(function.value)


def _is_environ(node: ast.expr) -> bool:
    return isinstance(node, ast.Attribute) and node.attr == "environ"


def read_by_the_code() -> set[str]:
    files = [f for part in ("deploy", "records") for f in (PROJECT / part).rglob("*.py")]
    found = {name for file in files for name in read_in(file.read_text(encoding="utf-8"))}
    from deploy.roles import PASSWORDS

    return (found | set(PASSWORDS.values())) - OTHERS


def explained() -> dict[str, str]:
    text = "".join((PROJECT / "deploy" / name).read_text(encoding="utf-8") for name in EXAMPLES)
    return dict(LINE.findall(text))


def plain(names: set[str]) -> set[str]:
    """NAME_FILE stands for NAME, but where a file is all that can be meant."""
    read = read_by_the_code()
    return {n if n in read else n.removesuffix("_FILE") for n in names}


def test_every_variable_is_explained_and_no_other():
    assert plain(set(explained())) == plain(read_by_the_code())


def test_a_variable_that_is_read_would_be_seen():
    source = 'import os\nA = os.environ["ONE_A"]\nB = secret("ONE_B")\nC = os.getenv("ONE_C")\n'
    assert read_in(source + 'D = os.environ.get("ONE_D", "")\nE = {}.get("ONE_E")') == {
        "ONE_A", "ONE_B", "ONE_C", "ONE_D",
    }  # fmt: skip


def test_values_read_alike_by_a_shell_systemd_and_compose():
    for name, value in explained().items():
        assert not re.search(r"[\s\"'$`\\\\;&|<>()]", value), name


def test_no_secret_stands_in_it():
    secrets = {
        n
        for n in explained()
        if re.search(r"PASSWORD|SECRET|TOKEN|MFA|(?<!ADMIN)_DATABASE_URL$", n)
    }
    assert secrets
    assert all(
        name.endswith("_FILE") or name == "ADMIN_DATABASE_URL"
        for name in secrets - {"SECOND_FACTOR"}
    )
