"""What is no debris: the stub of a stalk. It is shredded low and straddled, and nobody picks it up."""

import re
import unicodedata

WORDS = (
    r"stubs?|stubbles?|stalks?|rootstalks?|cotton\s+roots?|"
    r"rastrojos?|troncon(?:es)?|tocon(?:es)?|canas?|tallos?"
)
_STUB = re.compile(rf"\b(?:{WORDS})\b")
SAID = "Stalk stubs are no debris: shred low and keep the tires in the middles; nobody picks them up."


def is_stub(met: str) -> bool:
    """Return whether what a tire met is the stub of a stalk, as said in English or Spanish, in any case, with or without
    accents. Common practice, no source.
    """
    plain = unicodedata.normalize("NFKD", met.casefold())
    return _STUB.search("".join(sign for sign in plain if not unicodedata.combining(sign))) is not None
