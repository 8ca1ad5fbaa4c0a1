"""What the compose file promises, read from it; that its command lines run is shown by the flow in service mode."""

import re
from pathlib import Path

import pytest
import yaml
from django.conf import settings

from tests.flows.compose_file import OURS, PATH, command_of, filled_in, services

SETTINGS_FOLDER = Path(settings.BASE_DIR) / "farmops" / "settings"
RUNNING = ("web", "worker", "beat", "postgres", "redis")


def test_the_five_services_and_the_migration_are_there_and_each_that_runs_is_watched() -> None:
    assert set(services()) == {*RUNNING, "migrate"}
    for name in RUNNING:
        check = services()[name]["healthcheck"]
        assert check["test"][0] == "CMD", name
        assert {"interval", "timeout", "retries"} <= set(check), name
        assert services()[name]["restart"] == "unless-stopped", name


@pytest.mark.parametrize("name", OURS)
def test_every_command_line_names_a_program_that_is_installed(name: str) -> None:
    assert Path(command_of(name, {})[0]).exists()


def test_the_broker_keeps_what_it_was_given() -> None:
    """Celery's page on Redis: never evict, and write down what comes in."""
    words = services()["redis"]["command"]
    options = dict(zip(words[1::2], words[2::2], strict=True))
    assert options["--maxmemory-policy"] == "noeviction"
    assert options["--appendonly"] == "yes"
    assert any(volume.endswith(":/data") for volume in services()["redis"]["volumes"])


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
