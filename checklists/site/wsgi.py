"""What a web server calls: ``gunicorn checklists.site.wsgi:application``."""

import os
import re
from collections.abc import Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "checklists.site.settings")

_django = get_wsgi_application()
_CHARSET = re.compile(r";\s*charset\s*=[^;]*", re.IGNORECASE)


def without_charset(content_type: str) -> str:
    """Return the content type without a charset: our pages send UTF-8, and Django tries any codec named."""
    return _CHARSET.sub("", content_type)


def application(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """Answer a request, which is read as UTF-8 whatever it says."""
    environ["CONTENT_TYPE"] = without_charset(environ.get("CONTENT_TYPE", ""))
    return _django(environ, start_response)
