"""What a web server calls: ``gunicorn checklists.site.wsgi:application``."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "checklists.site.settings")

application = get_wsgi_application()
