"""What the compose file promises, read from it; that its command lines run is shown by the flow in service mode."""

import re
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import yaml
from django.conf import settings

from farmops.core.background import do_long_work, sweep_long_work
from farmops.digests import smtp
from farmops.digests.background import send_due_sheets
from farmops.digests.services.outbox import RUN_S
from farmops.settings import base, web_server
from tests.flows.compose_file import OURS, PATH, command_of, filled_in, services

SETTINGS_FOLDER = Path(settings.BASE_DIR) / "farmops" / "settings"
RUNNING = ("web", "worker", "postman", "planner", "beat", "postgres", "redis", "cache")


def test_the_services_and_the_migration_are_there_and_each_that_runs_is_watched() -> None:
    assert set(services()) == {*RUNNING, "migrate"}
    for name in RUNNING:
        check = services()[name]["healthcheck"]
        assert check["test"][0] == "CMD", name
        assert {"interval", "timeout", "retries"} <= set(check), name
        assert services()[name]["restart"] == "unless-stopped", name


@pytest.mark.parametrize("name", OURS)
def test_every_command_line_names_a_program_that_is_installed(name: str) -> None:
    assert Path(command_of(name, {})[0]).exists()


def test_the_web_server_is_given_the_time_that_it_gives_to_answers_under_way() -> None:
    """Compose specification, stop_grace_period: after it a container is killed."""
    web = services()["web"]
    assert "--config=python:farmops.settings.web_server" in web["command"]
    assert int(web["stop_grace_period"].removesuffix("s")) > web_server.graceful_timeout
    assert web["environment"]["FARMOPS_WEB_PROCESSES"] == f"${{FARMOPS_WEB_PROCESSES:-{web_server.workers}}}"


def test_the_broker_keeps_what_it_was_given() -> None:
    """Celery's page on Redis: never evict, and write down what comes in."""
    words = services()["redis"]["command"]
    options = dict(zip(words[1::2], words[2::2], strict=True))
    assert options["--maxmemory-policy"] == "noeviction"
    assert options["--appendonly"] == "yes"
    assert any(volume.endswith(":/data") for volume in services()["redis"]["volumes"])


def test_the_cache_is_another_server_that_forgets_what_is_used_least() -> None:
    words = services()["cache"]["command"]
    options = dict(zip(words[1::2], words[2::2], strict=True))
    assert options["--maxmemory-policy"] == "allkeys-lru"
    assert re.fullmatch(r"\d+mb", options["--maxmemory"])
    assert (options["--appendonly"], options["--save"]) == ("no", "")
    for name in OURS:
        given = services()[name]["environment"]
        servers = [urlsplit(given[f"FARMOPS_{of}_URL"]).hostname for of in ("BROKER", "CACHE")]
        assert servers == ["redis", "cache"], name


def test_every_variable_that_is_set_is_one_that_the_settings_read() -> None:
    code = "\n".join(path.read_text(encoding="utf-8") for path in SETTINGS_FOLDER.glob("*.py"))
    read = set(re.findall(r'env\.\w+\("(FARMOPS_\w+)"', code))
    for name in OURS:
        for variable in services()[name]["environment"]:
            if variable.startswith("FARMOPS_"):
                assert variable.removesuffix("_FILE") in read, variable


def test_no_secret_stands_in_the_file() -> None:
    document = yaml.safe_load(PATH.read_text(encoding="utf-8"))
    for secret, source in document["secrets"].items():
        assert list(source) == ["environment"], secret
    for name, service in services().items():
        for variable, value in service.get("environment", {}).items():
            if re.search("PASSWORD|SECRET|TOKEN", variable):
                assert variable.endswith("_FILE"), f"{name}: {variable}"
                assert value.startswith("/run/secrets/"), f"{name}: {variable}"
                assert Path(value).name in service["secrets"], f"{name}: {variable}"


def test_what_a_service_waits_for_exists_and_can_be_healthy() -> None:
    for name in OURS:
        for other, condition in services()[name]["depends_on"].items():
            assert other in services(), f"{name} waits for {other}"
            if condition["condition"] == "service_healthy":
                assert "healthcheck" in services()[other]
            else:
                assert (other, condition["condition"]) == ("migrate", "service_completed_successfully")
                assert services()[other]["restart"] == "no"


def test_the_image_holds_every_package_and_the_exact_requirements() -> None:
    recipe = services()["web"]["build"]["dockerfile_inline"]
    for folder in ("farmops", "scheduling", "ledger", "fixtures"):
        assert re.search(rf"^COPY .*\b{folder} {folder}$", recipe, flags=re.MULTILINE), folder
    assert "--require-hashes --requirement requirements.lock" in recipe
    assert re.search(r"^USER (?!root)\w+$", recipe, flags=re.MULTILINE)
    assert len({str(services()[name]["build"]) for name in OURS}) == 1


def test_only_the_web_server_is_reached_from_outside_and_only_from_this_machine() -> None:
    assert [name for name, service in services().items() if "ports" in service] == ["web"]
    assert [filled_in(port, {}) for port in services()["web"]["ports"]] == ["127.0.0.1:8000:8000"]


def test_variables_fill_in_as_the_compose_specification_says() -> None:
    """Compose specification, interpolation: `${NAME:-default}` takes the default when NAME is unset or empty."""
    assert filled_in("a ${X:-1} b ${Y:-}", {}) == "a 1 b "
    assert filled_in("${X:-1}", {"X": ""}) == "1"
    assert filled_in("${X:-1}", {"X": "2"}) == "2"


def test_the_file_keeps_to_the_compose_specification() -> None:
    """The schema of the Compose Specification, as check-jsonschema carries it (vendor.compose-spec)."""
    checker = Path(sys.executable).with_name("check-jsonschema")
    command = [checker, "--builtin-schema", "vendor.compose-spec", PATH]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_folder_that_has_to_outlive_a_container_lies_on_a_named_volume() -> None:
    document = yaml.safe_load(PATH.read_text(encoding="utf-8"))
    for name in OURS:
        mounted = dict(volume.split(":")[::-1] for volume in services()[name]["volumes"])
        for variable in ("FARMOPS_PHOTOS", "FARMOPS_BILL_PHOTOS", "FARMOPS_MAIL_JOURNAL"):
            folder = filled_in(services()[name]["environment"][variable], {})
            assert mounted[folder] in document["volumes"], variable


def test_the_senders_have_a_worker_of_their_own_and_every_queue_has_one() -> None:
    queues = {
        name: next(word for word in services()[name]["command"] if word.startswith("--queues="))
        for name in ("worker", "postman", "planner")
    }
    assert queues == {"worker": "--queues=celery", "postman": "--queues=mail", "planner": "--queues=long"}
    assert [queue.name for queue in base.CELERY_TASK_QUEUES] == ["celery", "mail", "long"]
    assert base.CELERY_TASK_ROUTES[send_due_sheets.name] == {"queue": "mail"}


def test_no_task_may_run_so_long_that_the_broker_hands_it_out_again() -> None:
    """Celery's page on Redis, caveats: an unacknowledged message comes back after the visibility timeout."""
    longest_s = max(
        send_due_sheets.time_limit,
        do_long_work.time_limit,
        sweep_long_work.time_limit,
        base.CELERY_TASK_TIME_LIMIT,
    )
    assert longest_s < base.CELERY_VISIBILITY_TIMEOUT
    assert base.CELERY_BROKER_TRANSPORT_OPTIONS["visibility_timeout"] == base.CELERY_VISIBILITY_TIMEOUT
    conversation_s = RUN_S + smtp.AFTER_DOT_S + 3 * base.EMAIL_TIMEOUT
    assert conversation_s < send_due_sheets.soft_time_limit < send_due_sheets.time_limit
