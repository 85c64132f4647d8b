"""Exceptions of the engineering package, under one root."""


class CalculationError(Exception):
    """Root of everything that `calculations` raises on purpose."""

    code = "calculation-error"


class InvalidInput(CalculationError, ValueError):
    """An argument lies outside what the equation is valid for."""

    code = "invalid-input"

    def __init__(self, argument: str, message: str) -> None:
        super().__init__(f"{argument}: {message}")
        self.argument = argument
        self.message = message


class UnitError(InvalidInput):
    """A unit is unknown, or belongs to another kind of quantity than expected."""

    code = "wrong-unit"


class Beyond(InvalidInput):
    """What is given overflows or cancels out: no machine has such numbers."""

    def __init__(self) -> None:
        super().__init__("numbers", "too large or too small to be computed with")
