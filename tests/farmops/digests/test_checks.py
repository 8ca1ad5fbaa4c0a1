"""What is said of a way back that other servers will not believe."""

import pytest
from pytest_django.fixtures import Settings

from farmops.digests.checks import check_senders


@pytest.mark.parametrize(
    ("sender", "back", "maildir", "ids"),
    [
        ("farm@farm.example", "", "", []),
        ("Heron Slough <farm@farm.example>", "back@farm.example", "/srv/back", []),
        ("farm@farm.example", "back@mail.farm.example", "", []),
        ("farm@farm.example", "back@otherfarm.example", "", ["digests.W002"]),
        ("farm@farm.example", "", "/srv/back", ["digests.W001"]),
    ],
)
def test_domains_that_do_not_go_together_are_told(
    settings: Settings, sender: str, back: str, maildir: str, ids: list[str]
) -> None:
    settings.DEFAULT_FROM_EMAIL, settings.BOUNCE_ADDRESS, settings.BOUNCE_MAILDIR = sender, back, maildir
    assert [one.id for one in check_senders()] == ids
