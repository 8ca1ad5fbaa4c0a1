"""What a report of work says of places and numbers that cannot be, or can be read in two ways."""

import pytest

from scheduling.models import Incident, IncidentPlace, WorkRecord
from scheduling.services.report_body import BodyUnreadable
from tests.ledger.makers import Place, make_place
from tests.scheduling.sending import count, send, work_body

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    return make_place(rated=False)


@pytest.mark.parametrize(
    ("where", "says"),
    [
        (("31.6018", "83.5179"), "Place not kept: 31.6018, 83.5179. The place lies 12,"),
        (("-83.5179", "31.6018"), "is west negative?"),
        (("31.6018", None), "Place not kept: latitude 31.6018 alone."),
    ],
)
def test_a_puncture_at_a_place_that_cannot_be_holds_no_work_up(
    place: Place, where: tuple[str, str | None], says: str
) -> None:
    """A forgotten sign of west is far from the farm (200 km, as for every place); it goes into the note."""
    hit = {"met": "bone", "latitude_deg": where[0], "longitude_deg": where[1]}
    body = work_body(place, note="n" * 5000, puncture=hit)
    received = send(place, "work", body)
    assert (received.state, received.parked) == ("kept", None)
    assert WorkRecord.objects.get().note == "n" * 5000
    assert says in Incident.objects.get().note
    assert not IncidentPlace.objects.exists()
    again = send(place, "work", body, client_id=received.report.client_id)
    assert (again.state, Incident.objects.count()) == ("again", 1)


def test_a_comma_that_may_be_of_thousands_or_of_decimals_is_asked_about(place: Place) -> None:
    """1,200 is 1200 to who writes English and 1.2 to who writes Spanish with a comma: neither is kept unasked."""
    with pytest.raises(BodyUnreadable, match=r"“1,200” may be 1200 or 1\.200: write it without the comma"):
        send(place, "work", work_body(place, done_ac="1,200"))
    place.hand.language = "es"
    with pytest.raises(BodyUnreadable, match=r"“1,200” puede ser 1200 o 1\.200: escríbalo sin la coma"):
        send(place, "work", work_body(place, done_ac="1,200"))
    assert count() == 0
