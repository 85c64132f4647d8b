"""Where files are kept, as the environment says: a folder, or a bucket of an object store (S3)."""

import os
from pathlib import Path
from typing import Any

from deploy.environment import secret


def file_storage(root: Path) -> dict[str, Any]:
    """Django's storage of files: the bucket where one is named, else the folder `root`."""
    bucket = os.environ.get("FILES_S3_BUCKET")
    if not bucket:
        return {
            "BACKEND": "deploy.local_files.LocalFiles",
            "OPTIONS": {"location": root, "file_permissions_mode": 0o600},
        }
    return {
        "BACKEND": "deploy.object_files.ObjectFiles",
        "OPTIONS": {
            "bucket_name": bucket,
            "endpoint_url": os.environ.get("FILES_S3_ENDPOINT") or None,
            "region_name": os.environ.get("FILES_S3_REGION") or None,
            "location": os.environ.get("FILES_S3_PREFIX", "").strip("/"),
            "access_key": secret("FILES_S3_ACCESS_KEY") or None,
            "secret_key": secret("FILES_S3_SECRET_KEY") or None,
        },
    }
