"""An upgrade in steps that add, exchange and drop is noticed by no caller; one that renames is."""

import pytest

from tests.faults import migrating

pytestmark = [pytest.mark.slow, pytest.mark.fault]


def test_nobody_notices_an_upgrade():
    told = migrating.run()
    assert told["acknowledged"] >= 4 * migrating.CLIENTS * migrating.AT_LEAST
    assert not migrating.noticed(told), told


def test_what_breaks_is_noticed():
    told = migrating.run(breaking=True)
    assert told["acknowledged"]
    assert migrating.noticed(told), told
