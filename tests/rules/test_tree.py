"""Rules that the whole tree keeps."""

import ast
import re
import subprocess
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.core.management import call_command
from django.utils.module_loading import import_string

from farmops.core import jobs
from farmops.core.problems import DomainError

ROOT = Path(settings.BASE_DIR)
PACKAGES = ("farmops", "scheduling", "ledger", "tests")
LIMIT_LINES = 400


def source_files() -> list[Path]:
    return [
        path
        for package in PACKAGES
        for path in sorted((ROOT / package).rglob("*.py"))
        if "migrations" not in path.parts
    ]


def test_no_file_passes_the_limit_without_a_reason_at_its_top() -> None:
    long = []
    for path in source_files():
        lines = path.read_text(encoding="utf-8").splitlines()
        if len(lines) > LIMIT_LINES and "long because" not in "\n".join(lines[:12]).lower():
            long.append(f"{path.relative_to(ROOT)}: {len(lines)} lines")
    assert long == []


def test_the_root_package_stays_empty() -> None:
    assert (ROOT / "farmops" / "__init__.py").read_text(encoding="utf-8") == ""


def test_nothing_is_named_for_being_a_bag_of_things() -> None:
    names = {path.stem for path in source_files()}
    assert names.isdisjoint({"utils", "helpers", "common", "misc"})


def test_the_top_level_holds_what_the_design_says() -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    top = {line.split("/")[0] for line in tracked.splitlines()}
    visible = {name for name in top if not name.startswith(".")}
    assert visible <= {
        "README.md",
        "DEVELOPERS.md",
        "manage.py",
        "pyproject.toml",
        "docker-compose.yml",
        "requirements.lock",
        "farmops",
        "scheduling",
        "ledger",
        "tests",
        "fixtures",
    }


def test_lock_files_hold_hashes_and_no_addresses() -> None:
    for lock in (ROOT / "requirements.lock", ROOT / "tests" / "requirements.lock"):
        text = lock.read_text(encoding="utf-8")
        assert "://" not in text
        assert "--index" not in text
        pins = re.findall(r"^[a-z0-9][^\n]*==", text, flags=re.MULTILINE)
        assert len(pins) > 40
        for block in re.split(r"\n(?=[a-z0-9])", text.strip()):
            assert "--hash=sha256:" in block, block.splitlines()[0]


@pytest.mark.django_db
def test_migrations_are_current() -> None:
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


def test_every_job_and_nudge_in_the_settings_resolves_to_a_task() -> None:
    dotted = [job.task for job in jobs.listed()] + [
        name for names in settings.NUDGES.values() for name in names
    ]
    assert dotted
    for name in dotted:
        task = import_string(name)
        assert callable(task.delay), name


def _domain_errors() -> list[type[DomainError]]:
    found: list[type[DomainError]] = []
    waiting = list(DomainError.__subclasses__())
    while waiting:
        error = waiting.pop()
        found.append(error)
        waiting += error.__subclasses__()
    return [error for error in found if not error.__module__.startswith("tests")]


def test_error_codes_are_unique_and_listed_for_developers() -> None:
    for path in source_files():
        if path.parts[-3:-1] != ("tests",) and "tests" not in path.parts and "apps" not in path.stem:
            module = ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
            if "DomainError" in path.read_text(encoding="utf-8"):
                __import__(module)
    owners: dict[str, list[str]] = {}
    for error in _domain_errors():
        owners.setdefault(error.code, []).append(error.__qualname__)
    assert {code: names for code, names in owners.items() if len(names) > 1} == {}
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert [code for code in owners if f"`{code}`" not in page] == []


def test_no_model_keeps_a_number_in_a_float_where_money_lives() -> None:
    floats = [
        f"{model.__name__}.{field.name}"
        for model in apps.get_app_config("ledger").get_models()
        for field in model._meta.concrete_fields
        if field.get_internal_type() == "FloatField"
    ]
    assert floats == []


UNIT_SUFFIXES = (
    "_ac _ft _degrees _mph _pct _hp _h _min _deg _gpm _ft_per_min _c _mm _m_s _mj_m2 _m _cents _per_day _on _at _no _factor "
    "_count _until _e4 _e3 _year _weekday _days _per_h _usd _in _f _share _m3_m3 _per_m "
    "_dba _gal _px _bytes _s"
).split()
COUNTING_NAMES = {
    "id",
    "turn",
    "weekday",
    "crop_year",
    "number",
    "seed",
    "days",
    "slot",
    "part_no",
    "part_count",
    "tower_count",
    "attempt",
    "attempts",
    "quantity",
    "retention_n",
    "imbalance",
    "v",
    "source_id",
    "line_no",
    "form_year",
    "bearings_front",
    "bearings_back",
    "every_starts",
    "gallons",
    "rate",  # of a product: its unit stands beside it, as on the label
    "total",
}


def test_every_number_of_a_model_carries_its_unit_in_its_name() -> None:
    numeric = {"DecimalField", "FloatField", "PositiveIntegerField", "BigIntegerField", "IntegerField"}
    numeric |= {"PositiveSmallIntegerField", "SmallIntegerField", "PositiveBigIntegerField"}
    bare = [
        f"{model._meta.label}.{field.name}"
        for label in ("farms", "weather", "scheduling", "ledger", "digests")
        for model in apps.get_app_config(label).get_models()
        for field in model._meta.concrete_fields
        if field.get_internal_type() in numeric
        and field.name not in COUNTING_NAMES
        and field.name != "cents"
        and not field.name.endswith(tuple(UNIT_SUFFIXES))
    ]
    assert bare == []


def test_pure_packages_convert_units_in_one_place() -> None:
    """The factor 0.3048 (and its like) stands in `farmops.science.units` and nowhere else."""
    factors = {0.3048, 25.4, 4046.8564224, 0.44704, 1.609344}
    elsewhere = []
    for path in source_files():
        if "tests" in path.parts or path.name == "units.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, float) and node.value in factors:
                elsewhere.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert elsewhere == []


def test_the_automated_run_calls_the_second_command_of_the_readme() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = re.findall(r"^```sh\n(.*?)\n```$", readme, flags=re.MULTILINE | re.DOTALL)
    assert len(commands) >= 2
    assert commands[1] in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_no_commitable_text_names_a_registry_host_or_a_path_of_a_machine() -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    marks = ["py" + "pi.org", "python" + "hosted.org", "registry." + "npmjs", "/" + "work/", "/ro" + "ot/"]
    found = []
    for name in tracked.splitlines():
        text = (ROOT / name).read_text(encoding="utf-8", errors="replace")
        found += [f"{name}: {mark}" for mark in marks if mark in text]
    assert found == []
