"""Settings of a server under test: the site's own, with the test's photographs and quick PINs."""

import os
from pathlib import Path

from checklists.site.settings import *  # noqa: F403
from checklists.site.settings import STORAGES as SITES_OWN

MEDIA_ROOT = Path(os.environ["COUNTERDRAW_PHOTOGRAPHS"])
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = SITES_OWN | {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
