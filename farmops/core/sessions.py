"""Sessions in the database, as Django keeps them: every page reads one, so it is read without putting a query together."""

from typing import Any

from django.contrib.sessions.backends import db
from django.contrib.sessions.models import Session
from django.db import connections, router
from django.utils import timezone

READ = "SELECT session_data FROM django_session WHERE session_key = %s AND expire_date > %s"
NO_CHARACTER = "\0"
"""A cookie may hold it, and PostgreSQL answers no question that does."""


class SessionStore(db.SessionStore):
    """A session in the database, asked for anew by each request: what was ended is not found again."""

    def load(self) -> dict[str, Any]:
        """Return what the session holds; empty where there is none, or no longer."""
        found = None
        if self.session_key and NO_CHARACTER not in self.session_key:
            connection = connections[router.db_for_read(Session)]
            until = connection.ops.adapt_datetimefield_value(timezone.now())
            with connection.cursor() as cursor:
                cursor.execute(READ, [self.session_key, until])
                found = cursor.fetchone()
        if found is None:
            self._session_key = None
            return {}
        return self.decode(found[0])
