"""The program is one file that needs nothing of the project, and the service hands it out."""

import ast
import subprocess
import sys

import pytest

from records.verifier import joined
from tests.records.verifier.making import content, sealed

NOBODY = {"PATH": "/nowhere", "PYTHONDONTWRITEBYTECODE": "1"}


def run(program_file, *words, folder):
    return subprocess.run(
        [sys.executable, "-I", program_file, *words],
        cwd=folder, env=NOBODY, capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_it_imports_the_standard_library_and_one_package():
    tree = ast.parse(joined.program())
    found = {
        (each.module if isinstance(each, ast.ImportFrom) else name.name).split(".")[0]
        for each in ast.walk(tree)
        if isinstance(each, ast.Import | ast.ImportFrom)
        for name in each.names
    }
    assert found - set(sys.stdlib_module_names) == {"cryptography"}


def test_no_name_stands_for_two_things():
    names = [name for each in ast.parse(joined.program()).body for name in _defined(each)]
    assert sorted(names) == sorted(set(names))


def _defined(node):
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return [node.name]
    if isinstance(node, ast.Assign):
        return [each.id for target in node.targets for each in ast.walk(target)
                if isinstance(each, ast.Name)]  # fmt: skip
    return []


def test_every_part_is_in_it():
    parts = {path.stem for path in joined.FOLDER.glob("*.py")} - {"__init__", "joined"}
    assert set(joined.PARTS) == parts


def test_it_runs_alone(program_file, keys_file, key, put, tmp_path):
    file = put("record.json", sealed(content(1, None), key))
    ran = run(program_file, "--keys", keys_file.name, file.name, folder=tmp_path)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.endswith("All that was checked is right.\n")
    file.write_bytes(file.read_bytes().replace(b"Tresk", b"Fresk"))
    ran = run(program_file, "--keys", keys_file.name, file.name, folder=tmp_path)
    assert ran.returncode == 1
    assert ran.stdout.startswith("FAILED  record.json: its text has the digest ")


def test_it_says_which_package_it_needs(program_file, put, tmp_path):
    put("cryptography.py", b"raise ImportError")
    ran = subprocess.run(
        [sys.executable, program_file, "record.json"],
        cwd=tmp_path, env={**NOBODY, "PYTHONPATH": str(tmp_path)},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "pip install cryptography" in ran.stderr


def test_it_says_how_it_is_used(program_file, tmp_path):
    ran = run(program_file, "--help", folder=tmp_path)
    assert ran.returncode == 0
    assert "python verify.py --keys KEYS FILE" in ran.stdout
    assert run(program_file, folder=tmp_path).returncode == 2


def test_it_says_what_a_terminal_cannot_write(program_file, keys_file, key, put, tmp_path):
    document = content(1, None)
    document["event"]["remarks"] = "Changed."
    document["signatures"][0]["by"]["name"] = "Ωmega Šárka"
    put("record.json", sealed(document, key))
    ran = subprocess.run(
        [sys.executable, program_file, "--keys", keys_file.name, "record.json"],
        cwd=tmp_path, env={**NOBODY, "PYTHONIOENCODING": "ascii"}, capture_output=True, check=False,
    )  # fmt: skip
    assert (ran.returncode, ran.stderr) == (1, b"")
    assert b"what \\u03a9mega \\u0160\\xe1rka signed as performed is not this" in ran.stdout


@pytest.mark.django_db
def test_the_service_hands_it_out_to_anybody(client):
    answer = client.get("/verify.py")
    assert answer.status_code == 200
    assert answer.content == joined.program()
    assert answer["Content-Disposition"] == 'attachment; filename="verify.py"'
    assert client.post("/verify.py").status_code == 405
