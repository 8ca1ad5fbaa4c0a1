"""Short codes on printed sheets: each is a key to a sign-in link of its own, for two days.

A code has 7 of 31 signs: 27,512,614,111 can be. It is made from the service's key, so that a page can be printed again,
and found by a keyed hash, so that a copy of the database tells none. What keeps strangers from guessing is counted where
codes are typed (`farmops.pages.views.door_code`): with 200 codes out and 100 wrong tries in a quarter of an hour, somebody
who tries without end for two days has a chance of about 1 in 7,000 to come in as one of the hands.
"""

import datetime as dt
import secrets

from django.db import IntegrityError, transaction
from django.utils.crypto import salted_hmac

from farmops.digests.models import DoorCode
from farmops.farms.models import Farm, Hand, SignInLink
from farmops.farms.models.links import hash_of_secret
from farmops.farms.services.links import SIGNS, LinkState, make_link, state_of

CODE_LENGTH = 7
CODE_DAYS = 2
MADE_WITH = "farmops.digests.door_code.made"
FOUND_BY = "farmops.digests.door_code.found"
TRIES = 5


def make_door_code(*, farm: Farm, hand: Hand, day: dt.date, now: dt.datetime) -> DoorCode:
    """Return the code of a hand's sheet of a day, made now or before, as long as it lets the hand in."""
    standing = standing_code(farm=farm, hand=hand, day=day, now=now)
    if standing is not None:
        return standing
    for _try in range(TRIES):
        nonce = secrets.token_hex(16)
        try:
            with transaction.atomic():
                secret = make_link(farm=farm, hand=hand, now=now, days=CODE_DAYS)
                link = SignInLink.objects.get(secret_hash=hash_of_secret(secret))
                return DoorCode.objects.create(
                    farm=farm,
                    hand=hand,
                    local_day=day,
                    link=link,
                    nonce=nonce,
                    code_hash=_hash(_code(nonce)),
                    made_at=now,
                )
        except IntegrityError:
            continue  # some other code has these signs
    raise RuntimeError("No free code was found in five tries; one in a million would be bad luck.")


def standing_code(*, farm: Farm, hand: Hand, day: dt.date, now: dt.datetime) -> DoorCode | None:
    """Return the newest code of a hand's sheet of a day that still lets the hand in, if there is one."""
    codes = DoorCode.objects.filter(farm=farm, hand=hand, local_day=day).select_related("link__hand")
    found = codes.order_by("-made_at").first()
    return found if found is not None and state_of(found.link, now=now) is LinkState.OPEN else None


def code_of(door_code: DoorCode) -> str:
    """Return the signs of a code."""
    return _code(door_code.nonce)


def code_of_typed(typed: str) -> str:
    """Return what somebody typed as a code may be: small letters, without the dash and spaces; empty where it is none."""
    bare = "".join(sign for sign in typed.lower() if sign not in "- \t")
    return bare if len(bare) == CODE_LENGTH and set(bare) <= set(SIGNS) else ""


def find_code(typed: str) -> DoorCode | None:
    """Return the code that somebody typed, whatever has become of its link."""
    code = code_of_typed(typed)
    if not code:
        return None
    found = DoorCode.objects.filter(code_hash=_hash(code))
    return found.select_related("link__hand", "link__farm").first()


def _code(nonce: str) -> str:
    number = int.from_bytes(salted_hmac(MADE_WITH, nonce, algorithm="sha256").digest())
    signs = []
    for _sign in range(CODE_LENGTH):
        number, place = divmod(number, len(SIGNS))
        signs.append(SIGNS[place])
    return "".join(signs)


def _hash(code: str) -> str:
    return salted_hmac(FOUND_BY, code, algorithm="sha256").hexdigest()
