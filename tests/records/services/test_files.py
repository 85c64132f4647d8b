"""Files under their digest."""

from django.core.files.storage import default_storage

from records.services import files


def test_what_is_there_already_is_written_like_what_is_new(monkeypatch):
    """Else the time that an answer takes tells whether another has sent these very bytes."""
    steps, save = [], default_storage.save

    def noted(name, content):
        steps.append(name)
        return save(name, content)

    monkeypatch.setattr(default_storage, "save", noted)
    digests = [files.store(b"Sent by two."), files.store(b"Sent by two.")]
    assert steps == [files.stored_name(digest) for digest in digests]
    assert digests[0] == digests[1]
    assert default_storage.open(steps[0]).read() == b"Sent by two."
