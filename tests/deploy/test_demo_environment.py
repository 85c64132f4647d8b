"""The demo keeps off the book and files of an installation on the same machine."""

from types import SimpleNamespace

from deploy import demo

OF_ANOTHER = {
    "DATABASE_URL_FILE": "/etc/book/database", "OWNER_DATABASE_URL_FILE": "/etc/book/owner",
    "OWNER_DATABASE_URL": "postgresql://theirs", "QUEUE_URL_FILE": "/etc/book/queue",
    "FILES_S3_BUCKET": "theirs", "FILES_S3_SECRET_KEY_FILE": "/etc/book/key",
    "METRICS_TOKEN_FILE": "/etc/book/metrics", "PROMETHEUS_MULTIPROC_DIR": "/run/book",
    "BACKUP_STATE_FILE": "/srv/book/last", "MAIL_HOST": "mail.example", "PGPASSWORD": "theirs",
    "STATIC_ROOT": "/srv/book/static", "BEHIND_PROXY": "1", "TRUSTED_ORIGINS": "https://theirs",
}  # fmt: skip


def test_nothing_that_an_installation_says_of_its_own_reaches_it(monkeypatch, tmp_path):
    for name, value in OF_ANOTHER.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setenv("LOG_LEVEL", "WARNING")
    postgres = SimpleNamespace(
        url=lambda user, database: f"postgresql://{user}@embedded/{database}"
    )
    told = demo.Demo(tmp_path)._environment(postgres)
    assert not OF_ANOTHER.keys() & told.keys()
    assert told["DATABASE_URL"] == "postgresql://stationbook_login@embedded/stationbook"
    assert told["FILES_ROOT"] == str(tmp_path / "files")
    assert told["LOG_LEVEL"] == "WARNING"
