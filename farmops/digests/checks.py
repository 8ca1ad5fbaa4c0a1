"""What `manage.py check` says of how the mail is set up: whether other servers will take it for the service's own."""

from email.utils import parseaddr
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Warning


def check_senders(**_kwargs: Any) -> list[CheckMessage]:
    """Warn where reports cannot come back, or where the sender of the envelope is of another domain than the mail's.

    DMARC (RFC 7489 section 3.1.2, from memory) lets SPF speak for a mail only where both domains go together.
    """
    found: list[CheckMessage] = []
    if settings.BOUNCE_MAILDIR and not settings.BOUNCE_ADDRESS:
        hint = "Set FARMOPS_BOUNCE_ADDRESS to the address whose mail is delivered there."
        found.append(
            Warning("Mail that comes back is read, but none is asked to come.", hint=hint, id="digests.W001")
        )
    if settings.BOUNCE_ADDRESS:
        back, sender = _domain(settings.BOUNCE_ADDRESS), _domain(settings.DEFAULT_FROM_EMAIL)
        if not _go_together(back, sender):
            says = (
                f"Mail is from {sender}, and its envelope from {back}: other servers may take it for forged."
            )
            hint = "Use one domain for both, or sign the mail with a DKIM key of the first."
            found.append(Warning(says, hint=hint, id="digests.W002"))
    return found


def _domain(address: str) -> str:
    return parseaddr(address)[1].rpartition("@")[2].lower()


def _go_together(one: str, other: str) -> bool:
    """Say whether two domains are the same, or one lies within the other."""
    return one == other or one.endswith(f".{other}") or other.endswith(f".{one}")
