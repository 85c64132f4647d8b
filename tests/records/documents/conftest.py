"""What tests of documents share."""

import pytest

from tests.records.documents import sample


@pytest.fixture(scope="session")
def ordinary() -> bytes:
    """The PDF of an ordinary record."""
    return sample.printed(sample.record())
