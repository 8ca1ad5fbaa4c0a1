"""The grower's word, kept once however often its form is sent."""

import datetime as dt
import uuid

import pytest

from farmops.core.keeping import ClientIdReused
from farmops.core.models import User
from scheduling.models import SaySo
from scheduling.services.say_so import say_so
from tests.factories import make_farm, make_field

NOW = dt.datetime(2026, 4, 20, 11, tzinfo=dt.UTC)
DAY = dt.date(2026, 4, 20)


def test_a_word_sent_twice_is_one_word(db: None) -> None:
    farm = make_farm()
    field, user, sent = make_field(farm), User.objects.create_user("mona"), uuid.uuid4()
    told = {"farm": farm, "field": field, "day": DAY, "said_by": user, "client_id": sent}
    first = say_so(**told, word="fit", now=NOW)
    again = say_so(**told, word="fit", now=NOW + dt.timedelta(minutes=1))
    assert again.pk == first.pk
    assert SaySo.objects.count() == 1
    with pytest.raises(ClientIdReused):
        say_so(**told, word="not_today", now=NOW)


def test_words_without_an_id_are_all_kept(db: None) -> None:
    farm = make_farm()
    field, user = make_field(farm), User.objects.create_user("mona")
    for word in ("fit", "fit"):
        say_so(farm=farm, field=field, day=DAY, word=word, said_by=user, now=NOW)
    assert SaySo.objects.count() == 2
