"""The suite's settings: the embedded mode in memory, or PostgreSQL when FARMOPS_TEST_DB_* name one."""

from farmops.settings import env, sqlite
from farmops.settings.base import *  # noqa: F403

SECRET_KEY = "only-the-test-suite-uses-this-key-0123456789-0123456789"
DEBUG = False
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
if env.text("FARMOPS_TEST_ENGINE", "sqlite") == "postgresql":
    DATABASES = {
        "default": {
            "ENGINE": "django.db.backends.postgresql",
            "NAME": env.text("FARMOPS_TEST_DB_NAME", "postgres"),
            "USER": env.text("FARMOPS_TEST_DB_USER", "postgres"),
            "PASSWORD": env.text("FARMOPS_TEST_DB_PASSWORD", ""),
            "HOST": env.text("FARMOPS_TEST_DB_HOST", ""),
            "PORT": env.text("FARMOPS_TEST_DB_PORT", ""),
        }
    }
else:
    DATABASES = {"default": sqlite.database(":memory:")}
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
CELERY_BROKER_URL = "memory://"
CELERY_TASK_ALWAYS_EAGER = True
CELERY_TASK_EAGER_PROPAGATES = True
LONG_WORK_RUNNER = "farmops.core.long_work_run.at_once"
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
MAIL_JOURNAL_DIR = ""
MAIL_CLOCK_IS_WATCHED = False
