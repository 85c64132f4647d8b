"""The mutants of a module: one small change each, made by the operators of cosmic-ray.

Of its operators those that a careful test can miss are taken: what turns arithmetic into a type
error (a float shifted by bits) would be noticed by any test at all, and only flatter the figure.
Left out besides: annotations, which nothing computes with; decorators, since what is kept with
`@once` is the same value as what is computed again; the bare star of a signature; and one more or
less on numbers of a million and above (an elastic modulus), which no published value can tell.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import parso
from cosmic_ray.operators.provider import OperatorProvider

ARITHMETIC = "Add_Sub Sub_Add Mul_Div Div_Mul Pow_Mul FloorDiv_Div Mod_Mul BitOr_BitAnd"
COMPARISONS = "Lt_LtE LtE_Lt Gt_GtE GtE_Gt Eq_NotEq NotEq_Eq Is_IsNot IsNot_Is"
OPERATORS = (
    *(f"ReplaceBinaryOperator_{each}" for each in ARITHMETIC.split()),
    *(f"ReplaceComparisonOperator_{each}" for each in COMPARISONS.split()),
    "ReplaceUnaryOperator_Delete_USub",
    "ReplaceUnaryOperator_Delete_Not",
    "AddNot",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "ExceptionReplacer",
    "NumberReplacer",
    "ZeroIterationForLoop",
)

MILLION = 1e6

Span = tuple[tuple[int, int], tuple[int, int]]
"""Line and column of the start and of the end, lines from 1, columns from 0."""


@dataclass(frozen=True)
class Mutant:
    """One change of one file: which operator, at its which place of all in the file."""

    file: str
    operator: str
    occurrence: int
    span: Span

    def __str__(self) -> str:
        """Where it is and what it does, in one line."""
        (line, column), _ = self.span
        return f"{self.file}:{line}:{column} {self.operator} {self.occurrence}"


def mutants_of(file: str, source: str) -> list[Mutant]:
    """All mutants of a file, in the order of its lines."""
    unseen = list(_unseen(source))
    nodes = list(_nodes(parso.parse(source)))
    found = []
    for name in OPERATORS:
        operator = _operator(name)
        spans = [span for node in nodes for span in operator.mutation_positions(node)]
        found += [
            Mutant(file, name, occurrence, span)
            for occurrence, span in enumerate(spans)
            if not any(start <= span[0] and span[1] <= end for start, end in unseen)
        ]
    return sorted(found, key=lambda each: (each.span, each.operator, each.occurrence))


def mutated(mutant: Mutant, source: str) -> str:
    """The file's text with the change in it."""
    tree = parso.parse(source)
    operator, before = _operator(mutant.operator), 0
    for node in _nodes(tree):
        here = len(list(operator.mutation_positions(node)))
        if mutant.occurrence < before + here:
            changed = operator.mutate(node, mutant.occurrence - before)
            if changed is not node:
                siblings = node.parent.children
                siblings[siblings.index(node)] = changed
            return tree.get_code()
        before += here
    raise ValueError(f"there is no such place: {mutant}")


def shown(mutant: Mutant, source: str) -> str:
    """The lines before and after, for a person."""
    old, new = source.splitlines(), mutated(mutant, source).splitlines()
    (first, _), (last, _) = mutant.span
    after = new[first - 1 : len(new) - (len(old) - last)]
    return (
        f"{' '.join(map(str.strip, old[first - 1 : last]))}  ->  {' '.join(map(str.strip, after))}"
    )


@cache
def _operator(name: str) -> Any:
    return OperatorProvider()[name]()


def _nodes(node: Any) -> Iterator[Any]:
    yield node
    for child in getattr(node, "children", ()):
        yield from _nodes(child)


def _unseen(source: str) -> Iterator[Span]:
    """Where no change is made: see at the top."""
    yield from _stars(source)
    tree = ast.parse(source)
    for node in ast.walk(tree):
        types = [getattr(node, "annotation", None), getattr(node, "returns", None)]
        yield from (_span(each) for each in types if each is not None)
        yield from map(_span, getattr(node, "decorator_list", ()))
        if isinstance(node, ast.Constant) and _is_large(node.value):
            yield _span(node)
        if isinstance(node, ast.Call) and getattr(node.func, "id", None) == "cast":
            yield _span(node.args[0])
    for statement in tree.body:  # X = A | B
        if isinstance(statement, ast.Assign) and _names_types(statement.value):
            yield _span(statement.value)


def _stars(source: str) -> Iterator[Span]:
    """The stars of signatures, which are taken for a multiplication."""
    for node in _nodes(parso.parse(source)):
        if node.type == "operator" and node.parent.type in ("parameters", "param", "lambdef"):
            yield node.start_pos, node.end_pos


def _is_large(value: Any) -> bool:
    return isinstance(value, int | float) and abs(value) >= MILLION


def _names_types(node: ast.expr) -> bool:
    if not (isinstance(node, ast.BinOp) and isinstance(node.op, ast.BitOr)):
        return False
    return all(each.id[:1].isupper() for each in ast.walk(node) if isinstance(each, ast.Name))


def _span(node: ast.expr) -> Span:
    """Columns of `ast` count bytes; the lines of types hold letters of one byte alone."""
    return (node.lineno, node.col_offset), (node.end_lineno or 0, node.end_col_offset or 0)
