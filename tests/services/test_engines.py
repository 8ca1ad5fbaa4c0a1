"""On a second engine only those tests are run again that reach the suite's database; no other test can."""

import pytest
from django.db import connection

from farmops.farms.models import Farm
from tests.services.engines import asks_for_the_database, shared_out


def test_who_never_asked_for_the_database_is_kept_from_it() -> None:
    with pytest.raises(RuntimeError, match="Database access not allowed"):
        Farm.objects.count()
    with pytest.raises(RuntimeError, match="Database access not allowed"):
        connection.ensure_connection()


@pytest.mark.django_db
def test_who_asks_by_a_mark_reaches_it() -> None:
    assert Farm.objects.count() == 0


def test_a_mark_or_a_fixture_however_deep_is_asking(request: pytest.FixtureRequest) -> None:
    assert asks_for_the_database({"django_db", "parametrize"}, [])
    assert asks_for_the_database((), ["yard", "yard_of_the_module", "laid_once"])
    assert not asks_for_the_database({"postgres"}, ["postgres_database", "tmp_path"])
    asking, rest = shared_out(request.session.items)
    names = [
        {one.nodeid.rpartition("::")[2] for one in some if one.path == request.path}
        for some in (asking, rest)
    ]
    assert names[0] <= {"test_who_asks_by_a_mark_reaches_it"}
    assert "test_who_asks_by_a_mark_reaches_it" not in names[1]
