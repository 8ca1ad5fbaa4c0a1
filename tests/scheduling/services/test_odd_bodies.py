"""Whatever JSON comes as a report, it is kept, parked or refused with a sentence; nothing else ever happens."""

from typing import Any

import pytest
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.models import FieldReport, ReportKind
from scheduling.services.receiving import KINDS
from scheduling.services.report_body import BodyUnreadable
from tests.ledger.makers import Place, make_place
from tests.scheduling.sending import send

pytestmark = pytest.mark.django_db

KEYS = (
    "pass_id work_on hours machine_hours meter done_ac finished not_done note starts ends stops look settings too_wet "
    "puncture break_minutes offered_hours worked_hours why_fewer passes machine reading read_at rule stop_id minutes parts "
    "parts_dollars done_at check_key implement fine tank fuel gallons filled_at kind field wheel met happened_at lost_minutes "
    "latitude_deg longitude_deg placed_by mending operation started_at ended_at products reentry_h plant_back_days "
    "treated_ac crop wind_mph wind_from temp_f cause ridges speed_mph level name registration_no rate unit total "
    "restricted"
).split()
WORDS = (
    "1 0 -1 25 1e400 NaN ٣ 1_000 2026-04-20 2026-02-30 07:00 24:00 2026-04-20T10:00 2026-04-20T10:00:00-04:00 tractor-1 "
    "disk-1 pond-40 puncture wet all diesel oz restricted"
).split()
SCALARS = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.sampled_from(WORDS) | st.text(max_size=12)
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4),
    max_leaves=6,
)
NEEDED: dict[str, dict[str, Any]] = {
    ReportKind.WORK: {"pass_id": 1, "work_on": "2026-04-20"},
    ReportKind.DAY: {"work_on": "2026-04-20"},
    ReportKind.CARE: {"rule": "oil", "minutes": "20"},
    ReportKind.CHECK: {"work_on": "2026-04-20", "check_key": "tires", "fine": True},
    ReportKind.FUEL: {"machine": "tractor-1", "gallons": "30"},
    ReportKind.INCIDENT: {"kind": "puncture"},
    ReportKind.SPRAY: {
        "field": "pond-40",
        "started_at": "2026-04-20T08:00",
        "ended_at": "2026-04-20T10:00",
        "products": [],
        "reentry_h": "12",
        "treated_ac": "40",
        "crop": "cotton",
    },
    ReportKind.METER: {"machine": "tractor-1", "reading": "2405"},
}


@pytest.fixture
def place() -> Place:
    return make_place(rated=False)


def test_every_kind_is_tried() -> None:
    assert set(NEEDED) == set(KINDS) == set(ReportKind.values)


def became(place: Place, kind: str, body: dict[str, Any]) -> dict[str, str] | None:
    """Send a body and take it all back; return why it was refused, or None where it was kept or parked."""
    kept_before = FieldReport.objects.count()
    with transaction.atomic():
        try:
            received = send(place, kind, body)
        except BodyUnreadable as refused:
            told = refused.fields
        else:
            told = None
            assert received.state in ("kept", "parked")
            assert received.says
        assert FieldReport.objects.count() == kept_before + (told is None)
        transaction.set_rollback(True)
    return told


@pytest.mark.parametrize("kind", sorted(NEEDED))
def test_any_body_is_kept_parked_or_refused_with_a_sentence(place: Place, kind: str) -> None:
    needed = {**NEEDED[kind], **({"pass_id": place.field_pass.pk} if kind == ReportKind.WORK else {})}
    assert became(place, kind, needed) is None

    @settings(max_examples=50)
    @given(odd=st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=5), with_needed=st.booleans())
    def tried(odd: dict[str, Any], with_needed: bool) -> None:
        told = became(place, kind, {**(needed if with_needed else {}), **odd})
        assert told is None or all(says.strip().endswith(".") for says in told.values())

    tried()


def test_a_key_that_nobody_asked_for_is_told_however_many_stand_before_it(place: Place) -> None:
    asked = "pass_id work_on hours machine_hours meter done_ac finished not_done note starts stops look settings".split()
    body: dict[str, Any] = dict.fromkeys([*asked, "puncture", "too_wet"])
    body |= {"pass_id": place.field_pass.pk, "work_on": "2026-04-20", "hours": "1"}
    body["stops"] = [{"cause": "wet"}]
    assert became(place, ReportKind.WORK, body) is None
    odd = [f"other_{number}" for number in range(8)]
    assert set(became(place, ReportKind.WORK, {**body, **dict.fromkeys(odd, 1)}) or {}) == set(odd)
