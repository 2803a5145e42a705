"""Django's settings in one file; the environment says what differs from site to site.

``COUNTERDRAW_DATA``        folder for all that this installation writes; ``.data`` beside manage.py if absent
``COUNTERDRAW_SECRET_KEY``  signs sessions; without it a key is made once and kept in the data folder
``COUNTERDRAW_HOSTS``       names the site answers to, separated by commas
``COUNTERDRAW_HTTPS``       1 when devices come by https only, through a proxy that sets X-Forwarded-Proto;
                           own when the program itself shows the certificate
``COUNTERDRAW_TIME_ZONE``   zone in which people read times; they are stored in UTC
``COUNTERDRAW_PIN_DIGITS``  fewest digits of a new PIN; 4 if absent
``COUNTERDRAW_PIN_DAYS``    days after which a PIN must be changed; 180 if absent, 0 for never
``COUNTERDRAW_REQUESTS``    requests a minute that one signed-in device may make; 3000 if absent, 0 for any
``COUNTERDRAW_CLOCK_LEAP``  seconds that the clock may leap before it is said; 120 if absent, 0 for never
``COUNTERDRAW_DEBUG``       1 for a developer's error pages, never where there are patients
``DATABASE_URL``            ``postgres://…``; SQLite in the data folder if absent
"""

import contextlib
import os
import secrets
from pathlib import Path
from urllib.parse import quote

import dj_database_url


def _is_on(name: str) -> bool:
    return os.environ.get(name, "").strip().lower() in {"1", "true", "yes", "on", "own"}


def _kept_secret(path: Path) -> str:
    """Read this installation's key; the first process to come makes it, and any other keeps that one."""
    if not path.exists():
        draft = path.with_name(f"{path.name}.{os.getpid()}")
        draft.touch(mode=0o600)
        draft.write_text(secrets.token_urlsafe(50), encoding="ascii")
        with contextlib.suppress(FileExistsError):
            os.link(draft, path)
        draft.unlink()
    return path.read_text(encoding="ascii")


ROOT = Path(__file__).resolve().parents[2]
DATA = Path(os.environ.get("COUNTERDRAW_DATA") or ROOT / ".data").resolve()
STATIC_ROOT = DATA / "static"
LAN = DATA / "lan"  # the local certificate authority and what it signed
MEDIA_ROOT = DATA / "photographs"  # nothing serves it but a view that asks who is looking
DATA.mkdir(mode=0o700, parents=True, exist_ok=True)
STATIC_ROOT.mkdir(exist_ok=True)

DEBUG = _is_on("COUNTERDRAW_DEBUG")
SECRET_KEY = os.environ.get("COUNTERDRAW_SECRET_KEY") or _kept_secret(DATA / "secret_key")
ALLOWED_HOSTS = [
    name.strip()
    for name in os.environ.get("COUNTERDRAW_HOSTS", "127.0.0.1,localhost,[::1]").split(",")
    if name.strip()
]

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "compounding.formulary",
    "checklists",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "checklists.site.middleware.ContentSecurityPolicyMiddleware",
    "checklists.site.middleware.NoStoreMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "checklists.site.bounds.BoundsMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "checklists.site.middleware.IdleLockMiddleware",
    "checklists.site.middleware.PinDueMiddleware",
    "checklists.site.middleware.RefusalMiddleware",
]
ROOT_URLCONF = "checklists.site.urls"
WSGI_APPLICATION = "checklists.site.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [ROOT / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "checklists.site.middleware.idle",
            ],
        },
    },
]

DATABASES = {
    "default": dj_database_url.parse(
        os.environ.get("DATABASE_URL") or f"sqlite:///{quote(str(DATA / 'counterdraw.sqlite3'))}",
        conn_max_age=None,
        conn_health_checks=True,
    ),
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # IMMEDIATE: a deferred transaction that reads before it writes is refused as "locked" at once, whatever
    # the timeout. FULL: an acknowledged step must survive a power cut.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=-20000;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "checklists.Person"
IS_HTTPS = _is_on("COUNTERDRAW_HTTPS")
# Without a proxy nobody but the other end sets these headers.
IS_BEHIND_PROXY = IS_HTTPS and os.environ["COUNTERDRAW_HTTPS"].strip().lower() != "own"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = IS_HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if IS_BEHIND_PROXY else None
SECURE_SSL_REDIRECT = IS_HTTPS
# A device that does not know the certificate yet has to come for it by http.
SECURE_REDIRECT_EXEMPT = [r"^install/$", r"^authority\.crt$", r"^static/"]
SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60 if IS_HTTPS else 0
# Other hosts beneath this name are not ours to force, and nobody's browser ships with a pharmacy's name.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
SESSION_COOKIE_NAME = "counterdraw"
SESSION_COOKIE_AGE = 12 * 60 * 60  # a long shift; the idle lock comes much earlier
X_FRAME_OPTIONS = "DENY"

PIN_DIGITS = int(os.environ.get("COUNTERDRAW_PIN_DIGITS") or 4)
PIN_DAYS = int(os.environ.get("COUNTERDRAW_PIN_DAYS") or 180)

# Bounds no honest device comes near. Site habit, no source.
REQUESTS_A_MINUTE = int(os.environ.get("COUNTERDRAW_REQUESTS") or 3000)
REQUESTS_A_MINUTE_SIGNED_OUT = min(REQUESTS_A_MINUTE, 600)
CLOCK_LEAP_SECONDS = int(os.environ.get("COUNTERDRAW_CLOCK_LEAP") or 120)
LARGEST_REQUEST = 16 * 1024 * 1024  # a photograph as some cameras make it, with room
DATA_UPLOAD_MAX_MEMORY_SIZE = 512 * 1024  # a form without its files
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2000  # the upkeep page of a long formulation
DATA_UPLOAD_MAX_NUMBER_FILES = 4

LANGUAGE_CODE = "en"
USE_I18N = True
TIME_ZONE = os.environ.get("COUNTERDRAW_TIME_ZONE") or "UTC"
USE_TZ = True

STATIC_URL = "/static/"
STATICFILES_DIRS = [ROOT / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    # Django's own handlers would send mail; propagation alone reaches stderr.
    "loggers": {"django": {"handlers": [], "level": "INFO", "propagate": True}},
}
