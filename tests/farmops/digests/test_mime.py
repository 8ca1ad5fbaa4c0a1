"""What is written by hand is read back as the standard library's own parser reads what that library writes."""

import email
from email import policy
from email.headerregistry import Address

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
