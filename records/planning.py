"""Statements that the database plans each time, for the values that they are asked with."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection


@contextmanager
def planned_for_what_is_asked() -> Iterator[None]:
    """Statements in here are planned each time.

    Once for all values, the planner counts on the usual ones: it takes the newest rows of all and
    leaves out what does not fit, down to the first row of the table where the value is seldom.
    """
    connection.ensure_connection()
    driver: Any = connection.connection
    threshold, driver.prepare_threshold = driver.prepare_threshold, None
    try:
        yield
    finally:
        driver.prepare_threshold = threshold
