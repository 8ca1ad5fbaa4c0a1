"""In which language somebody is spoken to."""

from django.db import transaction

from farmops.core.models import Language, User
from farmops.core.problems import DomainError
from farmops.farms.models import Hand


class LanguageUnknown(DomainError):
    """Nobody here speaks that language."""

    code = "language_unknown"


@transaction.atomic
def choose_language(*, user: User, language: str) -> None:
    """Let pages, sheets and mails speak a language to a user, who may be a hand on several farms."""
    if language not in Language.values:
        raise LanguageUnknown("Choose English or Spanish.")
    User.objects.filter(pk=user.pk).update(language=language)
    Hand.objects.filter(memberships__user=user).update(language=language)
