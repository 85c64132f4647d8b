"""Puts a mutant into this process: its function's code anew, or the whole module read from it.

The quick way leaves all modules as they are, and gives the function that holds the change the
code of the mutant. It is no way for what runs while a module is imported (tables, declarations
of rules, classes): there everything is imported again.
"""

import ast
import functools
import gc
import importlib.abc
import importlib.util
import sys
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

from tests.mutation.mutants import Mutant, Span


def code_of(source: str, path: Path) -> CodeType:
    """As the import compiles it."""
    return compile(source, str(path), "exec", dont_inherit=True)


def is_in_function(mutant: Mutant, source: str) -> bool:
    """Whether the change is in what runs when a function is called."""
    return any(start <= mutant.span[0] and mutant.span[1] <= end for start, end in _bodies(source))


class Living:
    """All functions of `calculations` in this process by the code that they were compiled from."""

    def __init__(self) -> None:
        self._functions: dict[Any, list[FunctionType]] = {}
        self._cached = []
        for each in gc.get_objects():
            if type(each) is FunctionType and _is_ours(each):
                key = each.__code__.co_filename, _identity(each.__code__)
                self._functions.setdefault(key, []).append(each)
            elif type(each) is functools._lru_cache_wrapper and _is_ours(each):
                self._cached.append(each)

    def of(self, code: CodeType) -> list[FunctionType]:
        """The functions that run this code."""
        return self._functions.get((code.co_filename, _identity(code)), [])

    def plant(self, sound: CodeType, mutant: CodeType) -> bool:
        """Give each function that differs the mutant's code; False where this is no way."""
        old, new = list(codes(sound)), list(codes(mutant))
        if len(old) != len(new):
            return False
        planted = False
        for was, is_now in zip(old, new, strict=True):
            for function in self.of(was) if was != is_now else ():
                if len(is_now.co_freevars) != len(was.co_freevars):
                    return False
                function.__code__ = is_now
                planted = True
        for each in self._cached:
            each.cache_clear()
        return planted


def import_from(mutant: CodeType, module: str, forget: tuple[str, ...]) -> None:
    """Forget modules of these packages, and read one of them from this code when it comes back."""
    for name in [each for each in sys.modules if each.startswith(forget)]:
        del sys.modules[name]
    sys.meta_path.insert(0, _Finder(module, mutant))


class _Finder(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    def __init__(self, module: str, code: CodeType) -> None:
        self.module, self.code = module, code

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> Any:
        if fullname != self.module:
            return None
        packaged = Path(self.code.co_filename).name == "__init__.py"
        return importlib.util.spec_from_loader(
            fullname, self, origin=self.code.co_filename, is_package=packaged
        )

    def exec_module(self, module: ModuleType) -> None:
        module.__file__ = self.code.co_filename
        if Path(self.code.co_filename).name == "__init__.py":
            module.__path__ = [str(Path(self.code.co_filename).parent)]
        exec(self.code, module.__dict__)  # noqa: S102 - the project's own text, changed in one place


def _bodies(source: str) -> Iterator[Span]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            last = node.body[-1]
            yield (node.body[0].lineno, 0), (last.end_lineno or 0, last.end_col_offset or 0)
        if isinstance(node, ast.Lambda):
            body = node.body
            start, end = (body.lineno, body.col_offset), (body.end_lineno, body.end_col_offset)
            yield start, (end[0] or 0, end[1] or 0)


def codes(code: CodeType) -> Iterator[CodeType]:
    """A code and all that it holds, in one order."""
    yield code
    for each in code.co_consts:
        if isinstance(each, CodeType):
            yield from codes(each)


def _identity(code: CodeType) -> tuple[str, int, tuple[Any, ...]]:
    """Two lambdas of one line differ by their columns alone."""
    return code.co_qualname, code.co_firstlineno, tuple(code.co_positions())


def _is_ours(each: Any) -> bool:
    return str(getattr(each, "__module__", "")).startswith("calculations")
