"""Settings from the environment, each with a default that is safe on the shop's own network.

FABJOBS_DATA        the one folder that holds everything kept (default: .data beside manage.py)
FABJOBS_BACKUPS     where the daily backups go, on another disk at best (default: backups in the data folder)
FABJOBS_SECRET_KEY  signs sessions (default: made at the first start, kept in the data folder)
FABJOBS_HOSTS       names and addresses the app answers to, separated by commas (default: this machine only)
FABJOBS_TZ          time zone (default: this machine's)
FABJOBS_TLS         1: deployed behind a proxy that speaks TLS and sets X-Forwarded-Proto
FABJOBS_DEBUG       1: for work on fabjobs itself, never in a shop
"""

import os
from datetime import timedelta
from pathlib import Path

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from fabjobs import environment

BASE_DIR = Path(__file__).resolve().parent.parent
DATA = Path(os.environ.get("FABJOBS_DATA") or BASE_DIR / ".data").expanduser().absolute()
BACKUPS = Path(place).expanduser().absolute() if (place := os.environ.get("FABJOBS_BACKUPS")) else None
DEMO = False  # `start --demo` sets it, with a data folder of its own
DEBUG = environment.switch("FABJOBS_DEBUG")
TLS = environment.switch("FABJOBS_TLS")
SECRET_KEY = environment.secret_key(DATA)

THIS_MACHINE = ["localhost", "127.0.0.1", "[::1]"]
ALLOWED_HOSTS = environment.names("FABJOBS_HOSTS") or THIS_MACHINE
if TLS and ALLOWED_HOSTS == THIS_MACHINE:
    raise ImproperlyConfigured("FABJOBS_TLS=1 needs FABJOBS_HOSTS, the names that people type in the browser")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "axes",
    "csp",
    "django_htmx",
    "django_tasks",
    "django_tasks_db",
    "fabjobs",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "fabjobs.middleware.kept_taps",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "fabjobs.middleware.vary_on_htmx",
    "fabjobs.middleware.SignedInMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "fabjobs.urls"
WSGI_APPLICATION = "fabjobs.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "fabjobs.context.shop",
                "fabjobs.context.timer",
            ],
        },
    },
]

# Immediate transactions queue for the write lock instead of failing; a full sync on each commit means that what
# was acknowledged survives a kill and a power cut.
DATABASES = {
    "default": {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": DATA / "fabjobs.sqlite3",
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL",
        },
    }
}

# What takes longer than a page may wait for is done by a worker (`manage.py work`), which finds it in the same database.
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}

AUTH_USER_MODEL = "fabjobs.Person"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
# Guessing a password is slowed by name and address together, so that nobody can shut another out from elsewhere.
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_CALLABLE = "fabjobs.views.refusals.locked_out"
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # the page says how long it takes, and keeps to it
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "in_hand"
LOGOUT_REDIRECT_URL = "sign_in"
SESSION_COOKIE_AGE = 30 * 24 * 3600

LANGUAGE_CODE = "en"
USE_TZ = True
TIME_ZONE = environment.time_zone()

# Served straight from the source folders: nothing to collect, nothing to forget after an update.
STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_MAX_AGE = 60

# The largest form, 24 flat parts of 24 corners with all that other families ask for, is under 2,700 fields and 120 kB.
DATA_UPLOAD_MAX_MEMORY_SIZE = 256 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 3000
# Files are taken where photos are, the one that was just taken or one from before; see fabjobs.uploads.
DATA_UPLOAD_MAX_NUMBER_FILES = 2
FILE_UPLOAD_HANDLERS = ["fabjobs.uploads.PhotoUpload"]

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "fabjobs.views.refusals.csrf_failure"

if TLS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 365 * 24 * 3600
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
    CSRF_TRUSTED_ORIGINS = ["https://" + (f"*{host}" if host.startswith(".") else host) for host in ALLOWED_HOSTS]
# Whether other names under the shop's domain speak TLS only is not for one app to declare.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "django": {"handlers": ["console"], "level": "WARNING", "propagate": False},
        # A queue of one request is no news.
        "waitress.queue": {"level": "ERROR"},
        # WeasyPrint and fontTools explain every font at INFO; warnings are enough.
        "fontTools": {"level": "ERROR"},
    },
}
