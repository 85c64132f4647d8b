"""A bundle against the Data Package standard, by its validator."""

import pytest

from tests.records.api.test_bundles import opened, render, sealed  # noqa: F401

frictionless = pytest.importorskip("frictionless")
pytestmark = pytest.mark.oracle


def test_a_bundle_is_a_valid_data_package(cleo, sealed, tmp_path):  # noqa: F811
    render()
    opened(cleo.get("/records/bundle?files=true")).extractall(tmp_path)
    report = frictionless.validate(str(tmp_path / "datapackage.json"))
    assert report.valid, report.flatten(["name", "message"])
    checked = {task.name for task in report.tasks}
    assert any(name.startswith("readings-") for name in checked)


def test_the_validator_sees_a_changed_byte(cleo, sealed, tmp_path):  # noqa: F811
    opened(cleo.get("/records/bundle")).extractall(tmp_path)
    file = tmp_path / "records" / "B-01-000001.json"
    file.write_bytes(file.read_bytes().replace(b"start_up", b"start_in"))
    assert not frictionless.validate(str(tmp_path / "datapackage.json")).valid
