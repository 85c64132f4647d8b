"""Variables of the environment are read strictly: what cannot be meant is a named error."""

import pytest

from deploy.environment import BadVariableError, one_of, secret, switch, whole_number, words


@pytest.mark.parametrize(("text", "meant"), [("1", True), ("yes", True), ("0", False), ("", False)])
def test_a_switch(monkeypatch, text, meant):
    monkeypatch.setenv("DEBUG", text)
    assert switch("DEBUG") is meant


def test_a_switch_that_says_neither(monkeypatch):
    monkeypatch.setenv("DEBUG", "perhaps")
    with pytest.raises(BadVariableError, match="DEBUG: expected 1 or 0"):
        switch("DEBUG")


@pytest.mark.parametrize("text", ["-1", "3.5", "many", "0"])
def test_a_number_out_of_its_range(monkeypatch, text):
    monkeypatch.setenv("POOL", text)
    with pytest.raises(BadVariableError, match="POOL: expected a whole number, 1 or more"):
        whole_number("POOL", 8, least=1)


def test_a_number_that_is_not_said(monkeypatch):
    monkeypatch.delenv("POOL", raising=False)
    assert whole_number("POOL", 8) == 8


def test_one_of_a_few_words(monkeypatch):
    choices = ("required", "offered")
    monkeypatch.delenv("SECOND_FACTOR", raising=False)
    assert one_of("SECOND_FACTOR", choices) == "required"
    monkeypatch.setenv("SECOND_FACTOR", " Offered")
    assert one_of("SECOND_FACTOR", choices) == "offered"
    monkeypatch.setenv("SECOND_FACTOR", "off")
    with pytest.raises(BadVariableError, match="SECOND_FACTOR: expected one of required, offered"):
        one_of("SECOND_FACTOR", choices)


def test_a_list(monkeypatch):
    monkeypatch.setenv("ALLOWED_HOSTS", " a.example , ,b.example")
    assert words("ALLOWED_HOSTS") == ["a.example", "b.example"]


def test_a_secret_is_said_or_stands_in_a_file(monkeypatch, tmp_path):
    file = tmp_path / "key"
    file.write_text("from the file\n")
    monkeypatch.setenv("SECRET_KEY", "from the environment")
    monkeypatch.delenv("SECRET_KEY_FILE", raising=False)
    assert secret("SECRET_KEY") == "from the environment"
    monkeypatch.setenv("SECRET_KEY_FILE", str(file))
    with pytest.raises(BadVariableError, match="SECRET_KEY: expected nothing, where SECRET_KEY_FI"):
        secret("SECRET_KEY")
    monkeypatch.delenv("SECRET_KEY")
    assert secret("SECRET_KEY") == "from the file"


def test_a_secret_whose_file_is_missing_is_no_empty_secret(monkeypatch, tmp_path):
    monkeypatch.delenv("SECRET_KEY", raising=False)
    monkeypatch.setenv("SECRET_KEY_FILE", str(tmp_path / "none"))
    with pytest.raises(BadVariableError, match="SECRET_KEY_FILE: expected a readable file"):
        secret("SECRET_KEY")


def test_a_secret_whose_file_is_no_text(monkeypatch, tmp_path):
    file = tmp_path / "key"
    file.write_bytes(b"\xff\xfe\x00")
    monkeypatch.delenv("SECRET_KEY", raising=False)
    monkeypatch.setenv("SECRET_KEY_FILE", str(file))
    with pytest.raises(BadVariableError, match="a readable file \\(it is no text: "):
        secret("SECRET_KEY")
