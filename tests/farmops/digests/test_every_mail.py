"""Every kind of mail in both languages, with nothing, little and much to tell, and with hostile names in it."""

import datetime as dt
import email
import html
import re
import unicodedata
from email import policy
from html.parser import HTMLParser

import pytest

from farmops.digests.digest_page import day_ahead_words
from farmops.digests.farm_facts import DayAhead
from farmops.digests.services.mailing import Envelope, message_bytes
from farmops.digests.services.printing import Sheet, print_page
from farmops.digests.text import TEXT_WIDTH
from farmops.digests.wording import PHRASES
from tests.farmops.digests.all_mails import KINDS, page_of
from tests.farmops.digests.planned import MONDAY

HOSTILE = (
    "Pond\r\nBcc: x@y.example\r\n\r\n<script>alert(1)</script><img src=x onerror=alert(2)> \"'><style>*{}</style> "
    "{{ 7|add:1 }} {% now %} \u202eevil\u2028end \x00\x07 \U0001f69c " + "long" * 30000
)
MOST_BYTES = 100_000
"""Some readers clip a mail near that size: the house's own rule, no source."""


class Elements(HTMLParser):
    """What a parser of HTML finds in a mail."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: set[str] = set()
        self.attributes: set[str] = set()
        self.addresses: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.add(tag)
        self.attributes |= {name for name, _value in attrs}
        self.addresses |= {value or "" for name, value in attrs if name in ("href", "src")}


def printed(kind: str, language: str, count: int = 1, name: str = "Pond 80") -> Sheet:
    return print_page(page_of(kind, language, count=count, name=name))


def sent(sheet: Sheet) -> bytes:
    envelope = Envelope(
        sender_name="Heron Slough",
        sender="farm@farm.example",
        receiver_name="Imani",
        receiver="imani@farm.example",
        message_id="<sheet.1@farm.example>",
        dated_at=dt.datetime(2026, 4, 20, 9, tzinfo=dt.UTC),
    )
    return message_bytes(sheet=sheet, envelope=envelope)


def told(text: str) -> list[str]:
    """Return the words and numbers of a text in their order, whatever stands between them."""
    return re.findall(r"[^\W_]+", text.lower())


def visible(sheet: Sheet) -> str:
    body = re.sub(r"<style>.*?</style>|<title>.*?</title>", "", sheet.html, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", " ", body))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("count", [0, 1, 40])
def test_text_and_html_tell_the_same_facts_in_the_same_order_and_neither_is_too_long(
    kind: str, language: str, count: int
) -> None:
    sheet = printed(kind, language, count)
    assert told(sheet.text) == told(visible(sheet))
    assert sheet.subject.partition(" (")[0] in sheet.text.replace("\n", " ")
    assert all(len(line) <= TEXT_WIDTH or line.startswith("https://") for line in sheet.text.splitlines())
    assert len(sent(sheet)) < MOST_BYTES
    assert "  " not in sheet.subject


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_english_is_left_in_a_spanish_mail(kind: str) -> None:
    spanish = " ".join(printed(kind, "es", 5, name="Zz").text.lower().split())
    english = " ".join(printed(kind, "en", 5, name="Zz").text.lower().split())
    both = [
        said
        for said in PHRASES.values()
        if "{" not in said.en and " " in said.en and said.en.lower() in english and said.en != said.es
    ]
    assert both, "the English mail says some of the phrases"
    assert [said.en for said in both if said.en.lower() in spanish] == []


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("language", ["en", "es"])
def test_hostile_names_start_no_header_run_nothing_and_turn_no_line_around(kind: str, language: str) -> None:
    sheet = printed(kind, language, 2, name=HOSTILE)
    harmless = Elements(printed(kind, language, 2).html)
    found = Elements(sheet.html)
    assert found.found == harmless.found
    assert found.attributes == harmless.attributes
    assert found.addresses == harmless.addresses
    assert "{{ 7|add:1 }}" in sheet.text
    assert all(len(line) <= TEXT_WIDTH or line.startswith("https://") for line in sheet.text.splitlines())
    for text in (sheet.text, sheet.subject, visible(sheet)):
        categories = {unicodedata.category(sign) for sign in text if sign != "\n"}
        assert not categories & {"Cc", "Cf", "Cs", "Zl", "Zp"}
    message = email.message_from_bytes(sent(sheet), policy=policy.default)
    assert message["Bcc"] is None
    assert len(message.get_all("Subject", [])) == 1
    assert len(sent(sheet)) < MOST_BYTES
    assert all(len(line) <= 998 for line in sent(sheet).splitlines()), "RFC 5322 section 2.1.1"


@pytest.mark.parametrize("kind", KINDS)
def test_a_mail_is_made_for_small_screens_and_for_dark_ones(kind: str) -> None:
    page = printed(kind, "en").html
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in page
    assert '<meta name="color-scheme" content="light dark">' in page
    assert "prefers-color-scheme:dark" in page
    assert not re.search(r"<(img|script|link|table)\b", page)


@pytest.mark.parametrize("kind", KINDS)
def test_a_spanish_day_begins_its_line_with_a_capital_and_stands_small_within_a_subject(kind: str) -> None:
    """Names of days and months are small in Spanish but at the start of a line; common practice, no source."""
    sheet = printed(kind, "es")
    assert re.search(r"^Lunes 20 de abril", sheet.text, flags=re.MULTILINE)
    assert "(lunes 20 de abril" in sheet.subject
    assert "(Monday, April 20" in printed(kind, "en").subject


@pytest.mark.parametrize(
    ("units", "amount_in", "says"),
    [
        ("customary", 0.004, "rain 4 in 10"),
        ("customary", 0.2, "rain 4 in 10, 0.20 in if it rains"),
        ("metric", 0.01, "rain 4 in 10"),
    ],
)
def test_an_amount_of_rain_that_rounds_to_nothing_is_not_said(
    units: str, amount_in: float, says: str
) -> None:
    assert ", ".join(day_ahead_words(DayAhead(MONDAY, None, None, 0.4, amount_in), units, "en")) == says


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", [" ", "\u00a0\u2003\t", "\u202e\u200b"])
def test_names_of_nothing_but_spaces_make_a_mail_like_any_other(kind: str, name: str) -> None:
    for language in ("en", "es"):
        sheet = printed(kind, language, 2, name=name)
        assert len(told(sheet.subject)) > 2
        assert told(sheet.text) == told(visible(sheet))
        message = email.message_from_bytes(sent(sheet), policy=policy.default)
        assert message.defects == []
        assert not re.search("[\u00a0\u2003\t\u202e\u200b]", sheet.text + sheet.subject)
