"""Django's settings: everything that differs between machines comes from the environment.

Where the environment says nothing there is a value good enough to look at the code with;
deploy/production.py keeps a serving process from starting on it.
"""

import os
from pathlib import Path
from typing import Any

import dj_database_url
from cryptography.fernet import Fernet
from django.core.management.utils import get_random_secret_key

from deploy.broker import EXPECTED, broker_settings
from deploy.environment import BadVariableError, one_of, secret, switch, whole_number, words
from deploy.file_storage import file_storage
from deploy.logs import clean_every_record, logging_settings
from records.api.settings import REST_FRAMEWORK as REST_FRAMEWORK
from records.api.settings import SPECTACULAR_SETTINGS as SPECTACULAR_SETTINGS
from records.pages.entrance.settings import ENTRANCE
from records.services.links import INVITATION_SECONDS

BASE_DIR = Path(__file__).resolve().parent.parent

# --- This machine -------------------------------------------------------------------------------

DEBUG = switch("DEBUG")
SECRET_KEY = secret("SECRET_KEY") or get_random_secret_key()
ALLOWED_HOSTS = words("ALLOWED_HOSTS")
CSRF_TRUSTED_ORIGINS = words("TRUSTED_ORIGINS")
SIGNING_KEY_FILE = Path(
    os.environ.get("SIGNING_KEY_FILE") or BASE_DIR / ".data" / "signing_key.pem"
)
# Documents are left unsigned without it; a serving process asks for it (deploy/production.py).
DOCUMENT_KEY_FILE = (
    Path(os.environ["DOCUMENT_KEY_FILE"]) if os.environ.get("DOCUMENT_KEY_FILE") else None
)
FILES_ROOT = Path(os.environ.get("FILES_ROOT") or BASE_DIR / ".data" / "files")
PLAIN_HTTP = switch("PLAIN_HTTP")  # for one machine's own loopback; elsewhere HTTPS stands in front

# --- Database -----------------------------------------------------------------------------------


# A statement asked so often on a connection is planned once; 0 behind a pooler that hands
# connections on after each transaction and does not keep prepared statements.
PREPARE_AFTER = whole_number("DATABASE_PREPARE_AFTER", 3)


def _database(name: str, url: str, *, pool_size: int = 0) -> dict[str, Any]:
    try:
        database: dict[str, Any] = {**dj_database_url.parse(url, conn_health_checks=True)}
    except ValueError:  # whose words may hold a part of the password
        raise BadVariableError(name, EXPECTED) from None
    if not database["ENGINE"].endswith(".postgresql"):
        raise BadVariableError(name, EXPECTED)
    options = {"connect_timeout": 5, **database.get("OPTIONS", {})}
    if PREPARE_AFTER:
        options |= {"server_side_binding": True, "prepare_threshold": PREPARE_AFTER}
    if pool_size:
        options["pool"] = {"min_size": 1, "max_size": pool_size, "timeout": 5}
    return {**database, "OPTIONS": options, "ATOMIC_REQUESTS": True}


DATABASE_URL = secret("DATABASE_URL") or "postgresql://stationbook_login@localhost/stationbook"
OWNER_DATABASE_URL = secret("OWNER_DATABASE_URL")  # for migrations, and only while they run

DATABASES = {
    "default": _database(
        "DATABASE_URL", DATABASE_URL, pool_size=whole_number("DATABASE_POOL_SIZE", 8)
    ),
    **(
        {"owner": _database("OWNER_DATABASE_URL", OWNER_DATABASE_URL)} if OWNER_DATABASE_URL else {}
    ),
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# Counters and locks belong in the database or in a shared server: a cache of one process would
# look like one and guard nothing.
CACHES = {"default": {"BACKEND": "django.core.cache.backends.dummy.DummyCache"}}

# --- Queue --------------------------------------------------------------------------------------

TASK_SECONDS = 300  # the longest that a task may take
# Not BROKER_URL: Celery's command line takes a variable of that name for its own option.
QUEUE_URL = secret("QUEUE_URL") or "postgresql://stationbook_queue@localhost/stationbook"
QUEUE_VISIBILITY_SECONDS = whole_number("QUEUE_VISIBILITY_SECONDS", 2 * TASK_SECONDS, least=1)

# --- Application --------------------------------------------------------------------------------

INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "records",  # before the entrance's library: its mails are in our words
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "deploy",
]

MIDDLEWARE = [
    "deploy.watching.RequestsMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "deploy.headers.SecurityHeadersMiddleware",  # outside of whatever answers by itself
    "records.api.problems.ProblemsMiddleware",
    "records.api.token_uses.TokenUsesMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"
AUTH_USER_MODEL = "records.User"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

# --- The API ------------------------------------------------------------------------------------

# REST_FRAMEWORK and SPECTACULAR_SETTINGS stand beside the API, in records/api/settings.py.

# --- Language and time --------------------------------------------------------------------------

LANGUAGE_CODE = "en"
USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"

# --- Static files -------------------------------------------------------------------------------

STATIC_URL = "static/"
STATIC_ROOT = os.environ.get("STATIC_ROOT") or None  # where collectstatic has gathered them
WHITENOISE_USE_FINDERS = STATIC_ROOT is None  # else they are served from where they lie
STATICFILES_STORAGE_CLASS = (
    "whitenoise.storage.CompressedManifestStaticFilesStorage"
    if STATIC_ROOT
    else "django.contrib.staticfiles.storage.StaticFilesStorage"
)
STORAGES = {
    "default": file_storage(FILES_ROOT),
    "staticfiles": {"BACKEND": STATICFILES_STORAGE_CLASS},
}

# --- Security -----------------------------------------------------------------------------------

PASSWORD_CHECKS = "django.contrib.auth.password_validation."  # noqa: S105
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": PASSWORD_CHECKS + "UserAttributeSimilarityValidator"},
    {"NAME": PASSWORD_CHECKS + "MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": PASSWORD_CHECKS + "CommonPasswordValidator"},
]

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = not PLAIN_HTTP
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "records.pages.errors.outdated_form"
SESSION_COOKIE_AGE = 12 * 60 * 60  # a working day
LOGIN_URL, LOGIN_REDIRECT_URL, LOGOUT_REDIRECT_URL = "account_login", "stations", "account_login"

# --- People -------------------------------------------------------------------------------------

globals().update(ENTRANCE)  # what stands beside the entrance, in records/pages/entrance/settings.py
AUTHENTICATION_BACKENDS = ["records.services.sign_in.PersonBackend"]
# Of the office and of whoever signs; `offered` is for one machine's own loopback.
SECOND_FACTOR = one_of("SECOND_FACTOR", ("required", "offered"))
CONFIRMED_MINUTES = whole_number("CONFIRMED_MINUTES", 15, least=1)
ACCOUNT_REAUTHENTICATION_TIMEOUT = CONFIRMED_MINUTES * 60
PASSWORD_RESET_TIMEOUT = INVITATION_SECONDS
# The first encrypts second factors, all of them decrypt: a new one goes in front.
MFA_KEYS = secret("MFA_KEY").split() or [Fernet.generate_key().decode()]

# --- Mail ---------------------------------------------------------------------------------------

NO_MAIL = "django.core.mail.backends.dummy.EmailBackend"
EMAIL_HOST = os.environ.get("MAIL_HOST") or ""
EMAIL_FILE_PATH = os.environ.get("MAIL_FOLDER") or None  # in place of a server, for trying
EMAIL_BACKEND = NO_MAIL
if EMAIL_FILE_PATH or EMAIL_HOST:
    EMAIL_BACKEND = (
        f"django.core.mail.backends.{'filebased' if EMAIL_FILE_PATH else 'smtp'}.EmailBackend"
    )
EMAIL_PORT = whole_number("MAIL_PORT", 587)
EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = os.environ.get("MAIL_USER", ""), secret("MAIL_PASSWORD")
EMAIL_USE_TLS = not switch("MAIL_PLAIN")
EMAIL_TIMEOUT = 5  # s
DEFAULT_FROM_EMAIL = SERVER_EMAIL = os.environ.get("MAIL_FROM") or "stationbook@localhost"

SECURE_SSL_REDIRECT = False  # the proxy in front redirects; behind it there is plain HTTP
SECURE_HSTS_SECONDS = 0 if PLAIN_HTTP else 365 * 24 * 60 * 60
# Of `check --deploy`: what other hosts of the domain do is its owner's to say (W005, W021), and
# the proxy redirects (W008).
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W008", "security.W021"]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# Only where the proxy sets X-Forwarded-Proto and -For itself on every request.
BEHIND_PROXY = switch("BEHIND_PROXY")
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

DATA_UPLOAD_MAX_MEMORY_SIZE = 2_621_440

# --- Background work ----------------------------------------------------------------------------

CELERY: dict[str, Any] = {
    **broker_settings(QUEUE_URL, visibility_timeout=QUEUE_VISIBILITY_SECONDS),
    "broker_connection_retry_on_startup": True,
    "broker_connection_max_retries": None,  # a worker waits for its broker as long as it takes
    "task_default_queue": "stationbook",
    "task_ignore_result": True,
    "task_acks_late": True,  # a message is done when its work is done
    # And comes back when the process doing it dies: once, behind all others. What kills its process
    # each time, as a document that needs more memory than there is, would keep the queue to itself;
    # the relay asks for it again, ever more seldom. Rejected where that cannot be sent.
    "task_retry_on_worker_lost": True,
    "task_reject_on_worker_lost": True,
    "task_annotations": {"*": {"max_retries": 1, "default_retry_delay": 0}},
    "task_time_limit": TASK_SECONDS,
    "task_publish_retry": False,  # the relay comes round again
    "worker_prefetch_multiplier": 1,
    "worker_enable_remote_control": False,
    "worker_send_task_events": False,
    "worker_hijack_root_logger": False,
    "timezone": "UTC",
}

# --- Logging ------------------------------------------------------------------------------------

LOG_LEVEL = one_of("LOG_LEVEL", ("info", "debug", "warning", "error", "critical")).upper()
LOGGING = logging_settings(one_of("LOG_FORMAT", ("line", "json")), LOG_LEVEL)
clean_every_record()  # of the web server and of the queue, too: whoever serves reads this file

# --- Watching -----------------------------------------------------------------------------------

LOG_REQUESTS = switch("LOG_REQUESTS")
METRICS_TOKEN = secret("METRICS_TOKEN")
BACKUP_STATE_FILE = (
    Path(os.environ["BACKUP_STATE_FILE"]) if os.environ.get("BACKUP_STATE_FILE") else None
)
