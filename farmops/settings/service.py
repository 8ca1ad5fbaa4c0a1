"""Service mode: PostgreSQL, Redis, Celery workers and beat, all addressed by the environment."""

from farmops.settings import env
from farmops.settings.base import *  # noqa: F403

SECRET_KEY = env.text("FARMOPS_SECRET_KEY")
DEBUG = False
SITE_ADDRESS = env.site_address("FARMOPS_ADDRESS")
ALLOWED_HOSTS = env.words("FARMOPS_HOSTS", "localhost")
CSRF_TRUSTED_ORIGINS = env.words("FARMOPS_ORIGINS", "")
DATABASES = {
    "default": {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": env.text("FARMOPS_DB_NAME", "farmops"),
        "USER": env.text("FARMOPS_DB_USER", "farmops"),
        "PASSWORD": env.text("FARMOPS_DB_PASSWORD", ""),
        "HOST": env.text("FARMOPS_DB_HOST", "localhost"),
        "PORT": env.text("FARMOPS_DB_PORT", "5432"),
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
    }
}
CACHES = {
    "default": {
        "BACKEND": "farmops.core.forgiving_cache.ForgivingRedisCache",
        "LOCATION": env.text("FARMOPS_CACHE_URL", "redis://localhost:6379/1"),
        # In seconds: a page rather makes what it shows than waits for what is kept.
        "OPTIONS": {"socket_connect_timeout": 1, "socket_timeout": 2},
    }
}
CELERY_BROKER_URL = env.text("FARMOPS_BROKER_URL", "redis://localhost:6379/0")
CELERY_TASK_ALWAYS_EAGER = False
EMAIL_BACKEND = env.text("FARMOPS_EMAIL_BACKEND", "farmops.digests.smtp.EmailBackend")
EMAIL_HOST = env.text("FARMOPS_SMTP_HOST", "localhost")
EMAIL_PORT = env.integer("FARMOPS_SMTP_PORT", 25)
EMAIL_HOST_USER = env.text("FARMOPS_SMTP_USER", "")
EMAIL_HOST_PASSWORD = env.text("FARMOPS_SMTP_PASSWORD", "")
EMAIL_USE_TLS = env.flag("FARMOPS_SMTP_TLS", False)
EMAIL_FILE_PATH = env.text("FARMOPS_EMAIL_DIR", "")
DEFAULT_FROM_EMAIL = env.text("FARMOPS_FROM", "farm@localhost")
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}

SECURE_SSL_REDIRECT = env.flag("FARMOPS_HTTPS", True)
SECURE_REDIRECT_EXEMPT = [r"^health/", r"^metrics$"]  # monitors ask beside the proxy
SESSION_COOKIE_SECURE = env.flag("FARMOPS_HTTPS", True)
CSRF_COOKIE_SECURE = env.flag("FARMOPS_HTTPS", True)
SECURE_HSTS_SECONDS = 31536000 if SECURE_SSL_REDIRECT else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_SSL_REDIRECT
SECURE_HSTS_PRELOAD = SECURE_SSL_REDIRECT
WEB_PROCESSES = env.integer("FARMOPS_WEB_PROCESSES", 2)
IS_BEHIND_PROXY = env.flag("FARMOPS_BEHIND_PROXY", False)
if IS_BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
