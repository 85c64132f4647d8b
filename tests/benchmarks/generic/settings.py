"""Settings as a new project has them, with the same pool of connections as the service."""

import os

import dj_database_url

SECRET_KEY = os.environ["SECRET_KEY"]
ALLOWED_HOSTS = ["127.0.0.1"]
ROOT_URLCONF = "tests.benchmarks.generic.urls"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
USE_TZ = True

DATABASES = {
    "default": {
        **dj_database_url.parse(os.environ["DATABASE_URL"], conn_health_checks=True),
        "OPTIONS": {"pool": {"min_size": 1, "max_size": 8, "timeout": 5}},
        "ATOMIC_REQUESTS": True,
    }
}

INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "django.contrib.messages",
    "rest_framework",
    "rest_framework.authtoken",
    "tests.benchmarks.generic",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.TokenAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
}
