"""Everything that both modes share. `embedded` and `service` hold small differences, and read the environment."""

from pathlib import Path
from typing import Any

from csp.constants import NONE, SELF
from kombu import Queue

from farmops.settings import env

BASE_DIR = Path(__file__).resolve().parent.parent.parent
VAR_DIR = BASE_DIR / "var"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "rest_framework",
    "rest_framework.authtoken",
    "django_filters",
    "drf_spectacular",
    "django_htmx",
    "csp",
    "farmops.core",
    "farmops.farms",
    "farmops.weather",
    "scheduling",
    "ledger",
    "farmops.desk",
    "farmops.digests",
    "farmops.pages",
    "farmops.tryout",
    "farmops.bench",
]

MIDDLEWARE = [
    "farmops.core.middleware.CallerBehindProxy",
    "django.middleware.security.SecurityMiddleware",
    "farmops.core.middleware.StaticIsCompressed",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "farmops.core.middleware.RefuseControlCharacters",
    "farmops.core.middleware.RefuseLargeBodies",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "farmops.pages.access.SessionsEndWithTheirLink",
    "farmops.pages.visitors.PagesSpeakToTheirReader",
    "django.contrib.messages.middleware.MessageMiddleware",
    "farmops.pages.form_pages.FormsLeadToTheirPage",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "csp.middleware.CSPMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "farmops.urls"
WSGI_APPLICATION = "farmops.wsgi.application"
AUTH_USER_MODEL = "core.User"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
# Hours of the mail are fixed defaults. Within seconds of such an hour this check takes it for the hour of now.
SILENCED_SYSTEM_CHECKS = ["fields.W161"]
SCOPE_FIELD = "farm"

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

PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "pages:sign_in"
LOGIN_REDIRECT_URL = "pages:home"
LOGOUT_REDIRECT_URL = "pages:sign_in"

LANGUAGE_CODE = "en-us"
LANGUAGES = [("en", "English"), ("es", "Español")]
FORMAT_MODULE_PATH = "farmops.pages.formats"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = VAR_DIR / "static"

CONTENT_SECURITY_POLICY: dict[str, Any] = {
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
SECURE_REFERRER_POLICY = "same-origin"
SESSION_ENGINE = "farmops.core.sessions"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
# Whether a proxy alone reaches the web server, so that what it says of the caller is true.
IS_BEHIND_PROXY = False
# How many processes answer pages; what one of them counts for itself is a share of the whole.
WEB_PROCESSES = 1
MOST_REQUEST_BYTES = 64 * 1024 * 1024  # Django's own limit does not count files
PHOTO_DIR = env.text("FARMOPS_PHOTOS", str(VAR_DIR / "photos"))
# One line for each message that a mail server took, until the database knows; empty: none is kept.
MAIL_JOURNAL_DIR = env.text("FARMOPS_MAIL_JOURNAL", str(VAR_DIR / "mail-journal"))
# Where mail servers report what they could not deliver, as local@domain: each message gets local+word@domain. Empty:
# the service's own address.
BOUNCE_ADDRESS = env.mail_address("FARMOPS_BOUNCE_ADDRESS")
# The maildir into which the mail for that address is delivered; empty: none is read.
BOUNCE_MAILDIR = env.text("FARMOPS_BOUNCE_MAILDIR", "")
# Whether rows are made only while the clock can be trusted; the suite plays other days than today's.
MAIL_CLOCK_IS_WATCHED = True
# Who shows this word may read /metrics; empty: nobody.
METRICS_TOKEN = env.text("FARMOPS_METRICS_TOKEN", "")
BILL_PHOTO_DIR = env.text("FARMOPS_BILL_PHOTOS", str(VAR_DIR / "bill-photos"))

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["farmops.core.api.parsing.StrictJSONParser"],
    "DEFAULT_FILTER_BACKENDS": ["farmops.core.api.queries.StrictFilterBackend"],
    "DEFAULT_SCHEMA_CLASS": "farmops.core.api.schema.ApiSchema",
    "DEFAULT_PAGINATION_CLASS": "farmops.core.api.paging.Pages",
    "PAGE_SIZE": 100,
    "EXCEPTION_HANDLER": "farmops.core.problems.problem_response",
    "COERCE_DECIMAL_TO_STRING": True,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Farm operations",
    "DESCRIPTION": "Fields, ground, windows, week plans, work records and costs of a row-crop farm.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "POSTPROCESSING_HOOKS": ["farmops.core.api.schema.add_problems"],
}

# Periodic work, in seconds; the tasks ask the database what is due and are safe to run twice.
JOBS: list[dict[str, Any]] = [
    {"name": "tick_mail", "every_s": 60, "task": "farmops.digests.background.tick_mail"},
    {"name": "send_sheets", "every_s": 60, "task": "farmops.digests.background.send_due_sheets"},
    {"name": "post_costs", "every_s": 300, "task": "ledger.background.post_pending"},
    {"name": "read_bounces", "every_s": 300, "task": "farmops.digests.background.read_bounces"},
    {"name": "refresh_calendars", "every_s": 300, "task": "farmops.digests.background.refresh_calendars"},
    {"name": "sweep_long_work", "every_s": 60, "task": "farmops.core.background.sweep_long_work"},
    {"name": "keep_ground", "every_s": 300, "task": "farmops.desk.background.keep_ground"},
    {"name": "sweep_mail", "every_s": 86400, "task": "farmops.digests.background.sweep_mail"},
    {"name": "sweep_photos", "every_s": 86400, "task": "scheduling.background.sweep_photos"},
    {"name": "sweep_bill_photos", "every_s": 86400, "task": "ledger.background.sweep_bill_photos"},
]
# Who is told, after commit, that something happened.
NUDGES: dict[str, list[str]] = {
    "work.recorded": ["ledger.background.post_pending"],
    "bill.entered": ["ledger.background.post_pending"],
    "opening.entered": ["ledger.background.post_pending"],
    "rate.set": ["ledger.background.post_pending"],
}

# Who does each kind of work that takes longer than anybody waits for a page, and how it is begun.
LONG_WORK: dict[str, str] = {
    "plan": "farmops.desk.long_work.plan",
    "help": "farmops.desk.long_work.help_week",
    "export": "farmops.desk.long_exports.export",
    "boundaries": "farmops.desk.long_start.keep_boundaries",
    "lay_order": "farmops.desk.long_orders.lay",
}
LONG_WORK_RUNNER = "farmops.core.background.in_the_worker"

# Senders wait for mail servers, and long work takes minutes: in queues of their own they keep no look at the clocks
# waiting. A worker without --queues serves all three.
CELERY_TASK_QUEUES = [Queue("celery"), Queue("mail"), Queue("long")]
CELERY_TASK_ROUTES = {
    "farmops.digests.background.send_due_sheets": {"queue": "mail"},
    "farmops.core.background.*": {"queue": "long"},
}
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TASK_SOFT_TIME_LIMIT = 240
CELERY_TASK_TIME_LIMIT = 300
# The last three: a line that is cut without a word is noticed and opened anew, by a worker that only listens too.
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "visibility_timeout": 900,
    "socket_timeout": 15,
    "socket_keepalive": True,
    "health_check_interval": 10,
}
CELERY_VISIBILITY_TIMEOUT = 900
CELERY_WORKER_SOFT_SHUTDOWN_TIMEOUT = 10
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_SERIALIZER = "json"
CELERY_TIMEZONE = "UTC"

DEFAULT_FROM_EMAIL = "farm@localhost"
# Where hands reach the pages, for the links in their mail; empty: the mail holds no link.
SITE_ADDRESS = ""
EMAIL_TIMEOUT = 15

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "plain": {
            "()": "farmops.core.logs.WithoutSecrets",
            "format": "%(asctime)s %(levelname)s %(name)s %(message)s",
        }
    },
    "filters": {"one_line": {"()": "farmops.core.logs.RefusalsAreOneLine"}},
    "handlers": {
        "stderr": {"class": "logging.StreamHandler", "formatter": "plain", "filters": ["one_line"]},
    },
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {"django.server": {"handlers": ["stderr"], "level": "INFO", "propagate": False}},
}
