"""The field-app demonstration is a stranger: it imports the standard library only."""

import ast
import sys

from tests.database import PROJECT


def imported(source: str) -> set[str]:
    """Answer the top-level names of every module that a source imports, wherever it does."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {name.name.split(".")[0] for name in node.names}
        if isinstance(node, ast.ImportFrom):
            found.add("." * node.level + (node.module or "").split(".")[0])
    return found


def test_it_imports_the_standard_library_only():
    source = (PROJECT / "deploy" / "demo_visit.py").read_text()
    assert imported(source) - sys.stdlib_module_names == set()


def test_an_import_of_the_project_would_be_seen():
    source = "def late():\n    from records.models import Event\nfrom . import x\nimport json"
    assert imported(source) - sys.stdlib_module_names == {"records", "."}
