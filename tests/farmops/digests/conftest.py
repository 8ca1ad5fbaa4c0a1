from collections.abc import Iterator

import pytest
from pytest_django.fixtures import Settings

from tests.farmops.digests import mail_server
from tests.farmops.digests.mail_server import MailServer


@pytest.fixture
def mail(settings: Settings) -> Iterator[MailServer]:
    """A real mail server that the settings point to."""
    with mail_server.running() as server:
        settings.EMAIL_BACKEND = "farmops.digests.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = server.host, server.port
        settings.EMAIL_TIMEOUT = 5
        yield server
