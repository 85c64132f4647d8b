"""What the environment says: lists, switches, numbers, and secrets that may lie in files."""

import os
from pathlib import Path

YES = {"1", "true", "yes", "on"}
NO = {"", "0", "false", "no", "off"}


class BadVariableError(ValueError):
    """A variable of the environment has a value that cannot be meant."""

    def __init__(self, name: str, expected: str) -> None:
        super().__init__(f"{name}: expected {expected}.")


def words(name: str) -> list[str]:
    """Answer a comma-separated list."""
    return [word.strip() for word in os.environ.get(name, "").split(",") if word.strip()]


def switch(name: str) -> bool:
    """Answer whether something is switched on; off where nothing is said."""
    value = os.environ.get(name, "").strip().lower()
    if value not in YES | NO:
        raise BadVariableError(name, "1 or 0")
    return value in YES


def whole_number(name: str, otherwise: int, *, least: int = 0) -> int:
    """Answer a whole number."""
    value = os.environ.get(name, "").strip() or str(otherwise)
    if not value.isdecimal() or int(value) < least:
        raise BadVariableError(name, f"a whole number, {least} or more")
    return int(value)


def one_of(name: str, choices: tuple[str, ...]) -> str:
    """Answer one of a few words; the first where nothing is said."""
    value = os.environ.get(name, "").strip().lower() or choices[0]
    if value not in choices:
        raise BadVariableError(name, f"one of {', '.join(choices)}")
    return value


def secret(name: str) -> str:
    """Answer the variable NAME, or what stands in the file that NAME_FILE names; "" for neither.

    `BadVariableError` for both: nobody could tell which one is meant.
    """
    file, said = os.environ.get(f"{name}_FILE", ""), os.environ.get(name, "")
    if not file:
        return said
    if said:
        raise BadVariableError(name, f"nothing, where {name}_FILE is set: take one of them away")
    try:
        return Path(file).read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is no text"
        raise BadVariableError(f"{name}_FILE", f"a readable file ({why}: {file})") from error
