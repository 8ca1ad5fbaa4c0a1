"""Places and mendings of incidents: kept once, the newest counts, and what cannot be is refused."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.core.appendonly import AppendOnlyRefused
from farmops.core.keeping import ClientIdReused
from farmops.farms.models import Farm, Field
from scheduling.models import Incident, IncidentMended, IncidentPlace, Mending
from scheduling.selectors.incidents import field_at, incident_facts, last_incident_at
from scheduling.services.incidents import mend_incident, place_incident
from scheduling.services.refusals import BadRecord, NotThisFarm
from tests.factories import make_farm, make_field
from tests.scheduling.incident_makers import NOON, make_puncture

pytestmark = pytest.mark.django_db
ID = uuid.UUID(int=7)


@pytest.fixture
def field() -> Field:
    return make_field(make_farm())


@pytest.fixture
def farm(field: Field) -> Farm:
    return field.farm


@pytest.fixture
def incident(field: Field) -> Incident:
    return make_puncture(field, lost_min=90)


def place(incident: Incident, **facts: Any) -> tuple[IncidentPlace, bool]:
    plain: dict[str, Any] = {
        "farm": incident.farm,
        "client_id": ID,
        "latitude_deg": Decimal("31.6012345678"),
        "longitude_deg": Decimal("-83.518"),
        "placed_by": "phone",
        "now": NOON,
    }
    return place_incident(incident=incident, **{**plain, **facts})


def mend(incident: Incident, **facts: Any) -> tuple[IncidentMended, bool]:
    plain: dict[str, Any] = {
        "farm": incident.farm,
        "client_id": ID,
        "mending": "repair",
        "lost_min": 150,
        "now": NOON,
    }
    return mend_incident(incident=incident, **{**plain, **facts})


def test_the_newest_place_and_mending_count(farm: Farm, incident: Incident) -> None:
    before = incident_facts(farm=farm)[0]
    assert (before.place, before.mending, before.lost_min) == (None, Mending.NONE, 90)
    place(incident)
    place(incident, client_id=uuid.uuid4(), latitude_deg=Decimal("31.602"), placed_by="typed")
    mend(incident)
    mend(incident, client_id=uuid.uuid4(), mending="new_tire", lost_min=240)
    found = incident_facts(farm=farm)[0]
    assert found.place is not None
    assert (found.place.latitude_deg, found.place.placed_by) == (Decimal("31.602"), "typed")
    assert (found.mending, found.lost_min) == (Mending.NEW_TIRE, 240)


def test_sent_twice_it_is_one_row_and_with_something_else_it_is_refused(incident: Incident) -> None:
    assert place(incident)[1] is True
    kept, is_new = place(incident)
    assert (is_new, kept.latitude_deg) == (False, Decimal("31.601235"))
    with pytest.raises(ClientIdReused):
        place(incident, longitude_deg=Decimal("-83.519"))
    assert mend(incident)[1] is True
    assert mend(incident)[1] is False
    with pytest.raises(ClientIdReused):
        mend(incident, lost_min=151)
    assert (IncidentPlace.objects.count(), IncidentMended.objects.count()) == (1, 1)


def test_rows_are_never_changed(incident: Incident) -> None:
    kept, _is_new = place(incident)
    with pytest.raises(AppendOnlyRefused):
        kept.save()


@pytest.mark.parametrize(
    ("facts", "name"),
    [
        ({"latitude_deg": Decimal("90.1")}, "latitude_deg"),
        ({"longitude_deg": Decimal("NaN")}, "longitude_deg"),
        ({"latitude_deg": Decimal("-83.518"), "longitude_deg": Decimal("31.6")}, "latitude_deg"),
        ({"longitude_deg": Decimal("83.518")}, "latitude_deg"),
        ({"placed_by": "guessed"}, "placed_by"),
    ],
)
def test_a_place_that_cannot_be_is_refused(incident: Incident, facts: dict[str, Any], name: str) -> None:
    with pytest.raises(BadRecord) as refused:
        place(incident, **facts)
    assert name in refused.value.fields
    assert not IncidentPlace.objects.exists()


@pytest.mark.parametrize(
    ("facts", "name"),
    [
        ({"lost_min": -1}, "lost_min"),
        ({"lost_min": 14 * 1440 + 1}, "lost_min"),
        ({"mending": "glued"}, "mending"),
        ({"note": "x" * 201}, "note"),
    ],
)
def test_a_mending_that_cannot_be_is_refused(incident: Incident, facts: dict[str, Any], name: str) -> None:
    with pytest.raises(BadRecord) as refused:
        mend(incident, **facts)
    assert name in refused.value.fields


def test_another_farms_incident_is_not_there(incident: Incident) -> None:
    other = make_farm("other-farm")
    with pytest.raises(NotThisFarm):
        place(incident, farm=other)
    with pytest.raises(NotThisFarm):
        mend(incident, farm=other)
    assert incident_facts(farm=other) == []


def test_a_place_finds_its_field(farm: Farm, field: Field) -> None:
    inside = field_at(farm=farm, latitude_deg=Decimal("31.6018"), longitude_deg=Decimal("-83.5179"))
    outside = field_at(farm=farm, latitude_deg=Decimal("31.5990"), longitude_deg=Decimal("-83.5179"))
    assert (inside, outside) == (field, None)


def test_the_newest_incident_stands_first(farm: Farm, field: Field) -> None:
    assert last_incident_at(farm=farm) is None
    late = make_puncture(field, happened_at=NOON, kind="breakage")
    early = make_puncture(field, happened_at=NOON - dt.timedelta(days=3))
    assert [one.incident for one in incident_facts(farm=farm)] == [late, early]
    assert [one.incident for one in incident_facts(farm=farm, kind="puncture")] == [early]
    assert last_incident_at(farm=farm) == NOON
