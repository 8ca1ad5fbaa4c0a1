"""What is written by hand is read back as the standard library's own parser reads what that library writes."""

import email
import email.header
from email import policy
from email.headerregistry import Address

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.digests.mime import calendar_part, head, multipart, text_part

WORDS = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=120).map(
    lambda text: " ".join(text.split())
)


@given(WORDS)
def test_a_head_is_read_back_as_it_was_and_is_short_ascii_lines(words: str) -> None:
    line = head("Subject", words)
    assert line.isascii()
    assert line.endswith("\r\n")
    assert max(len(part) for part in line.split("\r\n")) <= 78 or " " not in words
    read = email.message_from_string(line + "\r\n", policy=policy.default)["Subject"]
    assert str(read).split() == words.split()


@pytest.mark.parametrize("rest", ["", " ok", " é", " " + "long " * 30, "x" * 80])
@pytest.mark.parametrize(
    "word", ["=?utf-8?q?a=0D=0ABcc:_x@y.example?=", "=?utf-8?b?DQpCY2M6IHhAeS5leGFtcGxl?=", "=?x?q?=0A?="]
)
def test_what_looks_like_an_encoded_word_stays_what_was_typed_and_starts_no_head(
    word: str, rest: str
) -> None:
    """RFC 2047 words decode to any bytes, line ends too: a field may be called so by whoever wants a head of his own."""
    typed = " ".join(f"{word}{rest}".split())
    for line in (head("Subject", typed), head("To", Address(typed, "imani", "farm.example"))):
        assert [part for part in line.split("\r\n")[1:-1] if not part.startswith(" ")] == []
        message = email.message_from_string(line + "\r\n", policy=policy.default)
        assert message.keys() in (["Subject"], ["To"])
        assert "\n" not in str(next(iter(message.values())))
        legacy = email.header.decode_header(line.partition(": ")[2].replace("\r\n", ""))
        said = "".join(
            part.decode(charset or "ascii") if isinstance(part, bytes) else part for part, charset in legacy
        )
        assert typed in said


def test_a_long_head_begins_on_its_first_line() -> None:
    """Some readers take a head whose first line is empty for an empty one; common practice, no source."""
    line = head("Subject", "Nobody is out today, 4 fields shut, 3 services due (Thursday, November 26)")
    assert line.splitlines()[0].startswith("Subject: Nobody is out")
    assert line.splitlines()[1] == " November 26)"
    assert head("Subject", "x" * 200).startswith("Subject: x")


@given(WORDS.map(lambda words: words[:10].strip()))
def test_a_name_beside_an_address_is_read_back(name: str) -> None:
    """Names that fit one encoded word: the standard library takes longer ones apart with a space in between."""
    address = Address(display_name=name, username="imani", domain="farm.example")
    read = email.message_from_string(head("To", address) + "\r\n", policy=policy.default)["To"]
    [found] = read.addresses
    assert (found.display_name, found.addr_spec) == (name, "imani@farm.example")


@given(st.text(st.characters(codec="utf-8"), max_size=400), st.binary(max_size=300))
def test_parts_are_read_back_whatever_stands_in_them(text: str, content: bytes) -> None:
    """Line ends of any kind become those of the wire; a text that does not end in one gets it (RFC 2045 section 6.7)."""
    kind, body = multipart(
        "mixed", "mark", text_part(text, subtype="plain"), calendar_part(content, filename="day.ics")
    )
    written = f"{kind}\r\n{body}".encode("ascii")
    assert max(len(line) for line in written.split(b"\r\n")) <= 78
    message = email.message_from_bytes(written, policy=policy.default)
    assert message.defects == []
    first, second = message.iter_parts()
    assert first.defects == second.defects == []
    lines = text.replace("\r\n", "\n").replace("\r", "\n").removesuffix("\n").split("\n") if text else []
    assert first.get_content().replace("\r\n", "\n") == "".join(f"{line}\n" for line in lines)
    assert second.get_payload(decode=True) == content
    assert (second.get_content_type(), second.get_filename()) == ("text/calendar", "day.ics")
