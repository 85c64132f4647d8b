"""The keys of an installation: made once, kept, and readable by nobody else."""

import stat
import subprocess
import sys
from datetime import UTC, datetime

import pytest
from cryptography import x509
from cryptography.fernet import Fernet
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import load_pem_private_key

from deploy.keys import (
    DOCUMENT_KEY,
    MFA_KEY,
    SECRET_KEY,
    SIGNING_KEY,
    YEARS,
    make_missing_keys,
)
from tests.database import PROJECT


def test_they_are_made_for_this_user_only(tmp_path):
    make_missing_keys(tmp_path)
    modes = {file.name: stat.S_IMODE(file.stat().st_mode) for file in tmp_path.iterdir()}
    assert modes == dict.fromkeys((SECRET_KEY, SIGNING_KEY, MFA_KEY, DOCUMENT_KEY), 0o600)


def test_they_are_keys(tmp_path):
    make_missing_keys(tmp_path)
    signing_key = load_pem_private_key((tmp_path / SIGNING_KEY).read_bytes(), password=None)
    assert isinstance(signing_key, Ed25519PrivateKey)
    Fernet((tmp_path / MFA_KEY).read_bytes())
    assert len((tmp_path / SECRET_KEY).read_text()) >= 50


def test_what_is_there_is_kept_and_what_is_missing_is_made(tmp_path):
    make_missing_keys(tmp_path)
    kept = (tmp_path / SIGNING_KEY).read_bytes()
    secret = (tmp_path / SECRET_KEY).read_bytes()
    (tmp_path / SECRET_KEY).unlink()

    make_missing_keys(tmp_path)

    assert (tmp_path / SIGNING_KEY).read_bytes() == kept
    assert (tmp_path / SECRET_KEY).read_bytes() != secret


def test_the_key_for_documents_comes_with_its_certificate(tmp_path):
    make_missing_keys(tmp_path)
    pem = (tmp_path / DOCUMENT_KEY).read_bytes()
    key, certificate = load_pem_private_key(pem, None), x509.load_pem_x509_certificate(pem)
    assert certificate.public_key() == key.public_key()
    assert certificate.not_valid_before_utc <= datetime.now(UTC)
    assert certificate.not_valid_after_utc.year == datetime.now(UTC).year + YEARS
    usage = certificate.extensions.get_extension_for_class(x509.KeyUsage).value
    assert usage.content_commitment


@pytest.mark.parametrize("words", [[], ["nowhere"], ["one", "two"]])
def test_where_they_shall_lie_has_to_be_said(words):
    command = [sys.executable, "-m", "deploy.keys", *words]
    ran = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True, check=False)
    said = "expected a directory that is there: python -m deploy.keys DIRECTORY\n"
    assert (ran.returncode, ran.stderr) == (1, said)
