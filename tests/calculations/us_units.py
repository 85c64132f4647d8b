"""US units of the published examples, by their definitions, independent of the code under test."""

FOOT = 0.3048
INCH = 0.0254
POUND = 0.45359237
GRAVITY = 9.80665
PSI = POUND * GRAVITY / INCH**2
GALLON = 231 * INCH**3
GPM = GALLON / 60
HORSEPOWER = 550 * POUND * GRAVITY * FOOT


def kelvin(celsius: float) -> float:
    return celsius + 273.15


def kelvin_from_fahrenheit(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8 + 273.15
