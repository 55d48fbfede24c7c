"""Django's settings, one file for all modes; what differs comes from `garage.environment`."""

from pathlib import Path
from typing import Any

from garage.environment import process_environment

BASE_DIR = Path(__file__).resolve().parent.parent
ENVIRONMENT = process_environment(base_dir=BASE_DIR)
IN_TESTS = ENVIRONMENT.mode == "test"

DEBUG = False
SECRET_KEY = ENVIRONMENT.secret_key
ALLOWED_HOSTS = ENVIRONMENT.allowed_hosts
CSRF_TRUSTED_ORIGINS = ENVIRONMENT.trusted_origins

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "axes",
    "rest_framework",
    "knox",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "garage.background",
    "garage.records",
    "garage.evidence",
    "garage.outcomes",
    "garage.pages",
    "api",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "garage.security.ContentSecurityPolicy",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "garage.pages.busy.BusyDatabase",
    "axes.middleware.AxesMiddleware",  # last, as axes asks
]

ROOT_URLCONF = "garage.urls"
WSGI_APPLICATION = "garage.wsgi.application"
TEMPLATES: list[dict[str, Any]] = [
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

# --- database ---
DATABASES: dict[str, dict[str, Any]] = {"default": ENVIRONMENT.database}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # IMMEDIATE: a transaction that reads and then writes would fail at once with "database is
    # locked" whenever another has written between, whatever the timeout says.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    }
    # A file, not memory: the worker's thread needs a connection of its own.
    DATABASES["default"]["TEST"] = {"NAME": str(ENVIRONMENT.data_dir / "test.sqlite3")}
else:
    DATABASES["default"].setdefault("CONN_MAX_AGE", 60)
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True

# --- people and sign-in ---
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
if IN_TESTS:
    # The real hashers are slow on purpose; a suite signs in hundreds of times.
    PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
LOGIN_URL = "/sign-in/"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "/sign-in/"
# Five wrong passwords for one name from one address, then a quarter of an hour: judgement.
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_CALLABLE = "garage.pages.views.sign_in.locked_out"
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False

# --- transport ---
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
# A workshop machine serves itself over plain http; a secure cookie would never come back there.
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = ENVIRONMENT.is_production
if ENVIRONMENT.is_production:
    SECURE_HSTS_SECONDS = 365 * 24 * 3600
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
if ENVIRONMENT.behind_proxy:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

# --- static files ---
STATIC_URL = "/static/"
STATIC_ROOT = BASE_DIR / "build" / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    # Photos and documents: outside every folder that is served, no address of their own.
    "documents": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {
            "location": str(ENVIRONMENT.data_dir / "documents"),
            "base_url": None,
            "file_permissions_mode": 0o600,
            "directory_permissions_mode": 0o700,
        },
    },
    "staticfiles": {
        # Hashed names need a collected folder, which a test run does not have.
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if IN_TESTS
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = IN_TESTS
WHITENOISE_AUTOREFRESH = IN_TESTS

# --- language and clock ---
LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

# --- API ---
REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "knox.auth.TokenAuthentication",
        "api.authentication.SessionForReads",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["api.parsers.PlainJSONParser"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "api.errors.problem_for",
    # A parameter `format` is unknown like any other, not an address that does not exist.
    "URL_FORMAT_OVERRIDE": None,
    # Without it a forwarded address is believed from anybody, and the throttle counts for nothing.
    "NUM_PROXIES": 1 if ENVIRONMENT.behind_proxy else 0,
}
REST_KNOX: dict[str, Any] = {"AUTH_HEADER_PREFIX": "Bearer"}  # the word of RFC 6750
SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Comeback Register",
    "DESCRIPTION": "Vehicle histories, part life and comebacks by engine family, early failures.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_AUTHENTICATION": [],
    "APPEND_COMPONENTS": {"securitySchemes": {"basic": {"type": "http", "scheme": "basic"}}},
    "ENUM_GENERATE_CHOICE_DESCRIPTION": False,
    "ENUM_NAME_OVERRIDES": {
        "CodeState": "garage.records.choices.CodeState",
        "FlagRule": "garage.outcomes.early_failures.FlagRule",
        "JobPhase": "garage.records.choices.JobPhase",
        "NormalLifeRule": "garage.outcomes.normal_life.NormalLifeRule",
        "Origin": "garage.records.choices.Origin",
        "ReadingKind": "garage.evidence.quantities.catalogue.KINDS",
        "StatusEnum": "garage.lifetimes.status.Status",
        "UnitByPairs": "api.serializers.gauges.UNIT_BY_PAIRS",
        "UnitByPhysics": "api.serializers.gauges.UNIT_BY_PHYSICS",
        "WithinTolerance": "api.serializers.gauges.WITHIN_TOLERANCE",
    },
    # No address outside: the page would have the document validated elsewhere.
    "SWAGGER_UI_SETTINGS": {"deepLinking": True, "validatorUrl": None},
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
}

# --- background work ---
WORKER_IS_EMBEDDED = ENVIRONMENT.broker_url.startswith("memory")
CELERY_BROKER_URL = "memory://localhost/" if WORKER_IS_EMBEDDED else ENVIRONMENT.broker_url
CELERY_TASK_IGNORE_RESULT = True  # the row of the queued work is the result
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# A request must not wait long for a broker that is down: the work's row is found again later.
CELERY_TASK_PUBLISH_RETRY_POLICY = {"max_retries": 2, "interval_start": 0, "interval_step": 0.2}
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
if WORKER_IS_EMBEDDED:
    # The default of a second would be the lag of every task.
    CELERY_BROKER_TRANSPORT_OPTIONS = {"polling_interval": 0.1}

# --- logging: ids only ---
LOGGING: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"route": {"()": "garage.logs.RouteInsteadOfPath"}},
    "formatters": {
        "ids": {
            "()": "garage.logs.IdsOnlyFormatter",
            "format": "{asctime} {levelname} {name} {message}",
            "style": "{",
        }
    },
    "handlers": {
        "stderr": {"class": "logging.StreamHandler", "formatter": "ids", "filters": ["route"]}
    },
    "root": {"handlers": ["stderr"], "level": ENVIRONMENT.log_level},
    "loggers": {
        # Django's own handlers would write the path beside ours.
        "django": {"handlers": [], "propagate": True},
        "django.server": {"handlers": [], "propagate": True},
        # Axes writes the name and address of whoever signs in; its rows hold them for an owner.
        "axes": {"level": "ERROR"},
        "amqp": {"level": "WARNING"},
        "kombu": {"level": "WARNING"},
        "celery": {"level": "WARNING"},
    },
}
