"""Lay out what a manager has to know of the mail as a page of short lines in one language. Pure."""

import datetime as dt
from collections.abc import Sequence

from farmops.digests.digest_page import trouble_lines
from farmops.digests.farm_facts import TroubleSaid
from farmops.digests.page import Block, Page, capital
from farmops.digests.squash import one_line
from farmops.digests.wording import say
from scheduling.slips.words import day_words


def lay_out_trouble(
    *,
    farm_name: str,
    manager_name: str,
    day: dt.date,
    troubles: Sequence[TroubleSaid],
    language: str,
    mail_at: str = "",
) -> Page:
    """Return the page of a farm's troubles with the mail."""
    return Page(
        language=language,
        late="",
        headline=say("trouble_headline", language),
        day=capital(day_words(day, language)),
        notes=(say("for_manager", language, name=one_line(manager_name), farm=one_line(farm_name)),),
        report_title=say("see_farm", language) if mail_at else "",
        report_at=mail_at,
        report_says=say("see_farm_says", language) if mail_at else "",
        blocks=(Block(say("mail_trouble", language), tuple(trouble_lines(troubles, 0, language))),),
        checks_title="",
        checks=(),
        cautions_title="",
        cautions=(),
        foot=(),
    )
