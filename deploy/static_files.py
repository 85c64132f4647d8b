"""Static files of the pages: gathered where the service looks for them."""

import os
from pathlib import Path

LIST = "staticfiles.json"


def gather() -> str:
    """Gather those of this version; answers where they are, "" where no place is set.

    An image brings its own, in a place where nobody writes.
    """
    from django.conf import settings
    from django.core.management import call_command

    if not settings.STATIC_ROOT:
        return ""
    root = Path(settings.STATIC_ROOT)
    if (root / LIST).is_file() and not os.access(root, os.W_OK):
        return f"in {root}, as they came with this version"
    call_command("collectstatic", verbosity=0, interactive=False)
    return f"in {root}"
