"""Embedded mode: one SQLite file, no broker, jobs and nudges run in the process that meets them."""

from farmops.settings import env, sqlite
from farmops.settings.base import *  # noqa: F403
from farmops.settings.base import VAR_DIR

VAR_DIR.mkdir(parents=True, exist_ok=True)

SECRET_KEY = env.text("FARMOPS_SECRET_KEY", "embedded-mode-on-this-machine-only-not-a-secret-0123456789")
DEBUG = False
SITE_ADDRESS = env.site_address("FARMOPS_ADDRESS")
ALLOWED_HOSTS = env.words("FARMOPS_HOSTS", "localhost,127.0.0.1,[::1]")
DATABASES = {"default": sqlite.database(env.text("FARMOPS_DATABASE", str(VAR_DIR / "farmops.sqlite3")))}
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
CELERY_BROKER_URL = "memory://"
CELERY_TASK_ALWAYS_EAGER = True
CELERY_TASK_EAGER_PROPAGATES = False
LONG_WORK_RUNNER = "farmops.core.long_work_run.in_a_thread"
EMAIL_BACKEND = env.text("FARMOPS_EMAIL_BACKEND", "django.core.mail.backends.filebased.EmailBackend")
EMAIL_FILE_PATH = env.text("FARMOPS_EMAIL_DIR", str(VAR_DIR / "mail"))
EMAIL_HOST = env.text("FARMOPS_SMTP_HOST", "localhost")
EMAIL_PORT = env.integer("FARMOPS_SMTP_PORT", 25)
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = True
