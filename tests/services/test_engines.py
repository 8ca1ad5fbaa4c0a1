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
    assert not asks_for_the_database({"long"}, ["postgres_database", "tmp_path"])
    asking, rest = shared_out(request.session.items)
    names = [
        {one.nodeid.rpartition("::")[2] for one in some if one.path == request.path}
        for some in (asking, rest)
    ]
    assert names[0] <= {"test_who_asks_by_a_mark_reaches_it"}
    assert "test_who_asks_by_a_mark_reaches_it" not in names[1]


def test_what_is_long_and_what_asks_are_run_the_second_time(request: pytest.FixtureRequest) -> None:
    here = [one for one in request.session.items if one.path == request.path]
    second, rest = shared_out(here)
    assert {one.nodeid for one in rest} == {one.nodeid for one in here} - {one.nodeid for one in second}
    here[0].add_marker(pytest.mark.long)
    try:
        assert here[0] in shared_out(here)[0]
    finally:
        here[0].own_markers.pop()
