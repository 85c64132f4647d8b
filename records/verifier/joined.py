"""The verifying program as one file that needs nothing of the project."""

import ast
from functools import cache
from pathlib import Path

NAME = "verify.py"
FOLDER = Path(__file__).parent
# Each knows only those before it.
PARTS = (
    "telling", "canonical", "keys", "devices", "sealed", "pdf_objects", "pdfs", "looking", "book",
    "zip_places", "zips", "sharing", "bundles", "program",
)  # fmt: skip
OURS, OTHERS = "records.verifier", "cryptography"
WITHOUT = """\
    print("This needs the package cryptography: pip install cryptography", file=sys.stderr)
    sys.exit(2)
"""


@cache
def program() -> bytes:
    """Its text: what it is for, what it imports, and its parts one after the other."""
    plain: set[str] = set()
    named: dict[str, set[str]] = {}
    bodies = []
    for part in PARTS:
        source = (FOLDER / f"{part}.py").read_text(encoding="utf-8")
        about, *rest = ast.parse(source).body
        first = next(at for at, each in enumerate(rest) if not _imports(each, plain, named))
        lines = source.splitlines(keepends=True)
        body = "".join(lines[rest[first - 1].end_lineno :]).strip()
        bodies.append(f"# --- {part} {'-' * (92 - len(part))}\n\n{body}\n")
    head = "".join(lines[: about.end_lineno])
    known = [f"import {each}" for each in sorted(plain)]
    known += [each for each in _written(named) if OTHERS not in each]
    others = "".join(f"    {each}\n" for each in _written(named) if OTHERS in each)
    top = "\n".join(known) + f"\n\ntry:\n{others}except ImportError:\n{WITHOUT}"
    return "\n\n".join([f"{head}\n{top}", *bodies]).encode()


def _imports(node: ast.stmt, plain: set[str], named: dict[str, set[str]]) -> bool:
    """Whether it imports something, which is kept unless it is a part of ours."""
    if isinstance(node, ast.Import):
        plain |= {each.name for each in node.names}
    elif isinstance(node, ast.ImportFrom):
        if not str(node.module).startswith(OURS):
            names = named.setdefault(str(node.module), set())
            names |= {each.name for each in node.names}
    else:
        return False
    return True


def _written(named: dict[str, set[str]]) -> list[str]:
    return [f"from {each} import {', '.join(sorted(named[each]))}" for each in sorted(named)]
