"""Static files of the pages: gathered where the service looks for them."""

from pathlib import Path

from records.whole_files import may_write

LIST = "staticfiles.json"


def gather() -> str:
    """Gather those of this version; answers where they are, "" where no place is set.

    An image brings its own, in its folder of the project, where nobody writes. Anywhere else they
    may be of another version, and a folder that is closed is a mistake: `PermissionError` says so.
    """
    from django.conf import settings
    from django.core.management import call_command

    if not settings.STATIC_ROOT:
        return ""
    root = Path(settings.STATIC_ROOT)
    if not may_write(root):
        if root.is_relative_to(settings.BASE_DIR) and (root / LIST).is_file():
            return f"in {root}, as they came with this version"
        raise PermissionError(
            f"STATIC_ROOT: the static files of this version cannot be written to {root}: let who"
            " runs this write there, or name another folder"
        )
    call_command("collectstatic", verbosity=0, interactive=False)
    return f"in {root}"
