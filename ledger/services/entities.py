"""In whose name a farm's bills are: its companies and persons."""

from django.core.validators import slug_re
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.models import Entity

LONGEST_CODE, LONGEST_NAME = 40, 80


class EntityRefused(DomainError):
    """An entity that cannot be kept as it was given."""

    code = "entity_refused"


def add_entity(*, farm: Farm, code: str, name: str) -> tuple[Entity, bool]:
    """Add a company or person in whose name bills are; False beside it where the same was added before."""
    code, name = code.strip(), name.strip()
    if not slug_re.fullmatch(code) or len(code) > LONGEST_CODE:
        raise EntityRefused(
            _("{code!r} is no code: letters, digits, - and _, at most {most}.").format(
                code=code, most=LONGEST_CODE
            ),
            fields={"code": "Not a code."},
        )
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise EntityRefused(
            _("The name of an entity is one line of 1 to {most} characters.").format(most=LONGEST_NAME),
            fields={"name": "Not a name."},
        )
    entity, is_new = Entity.objects.get_or_create(farm=farm, code=code, defaults={"name": name})
    if entity.name != name:
        raise EntityRefused(
            _("{code} is {name} already.").format(code=code, name=entity.name), fields={"code": "Taken."}
        )
    return entity, is_new
