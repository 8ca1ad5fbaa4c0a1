"""Forms that are sent in wrong, and pages of a farm on which nothing stands yet, in both languages.

Outside: the rules of axe-core; WCAG 2.2 success criteria 3.3.1 (what is wrong is told in words, and where), 1.3.1 and
4.1.2 (the words are tied to the box, by `aria-describedby`), 2.4.11 (what has the focus is in sight).
"""

from collections.abc import Iterator
from contextlib import ExitStack
from typing import Any
from urllib.parse import urlsplit
from uuid import uuid4

import pytest
from django.urls import resolve, reverse
from playwright.sync_api import Browser, Page
from pytest_django.fixtures import Settings
from pytest_django.live_server_helper import LiveServer

from farmops.core.models import User
from farmops.farms.models import Hand, Membership
from farmops.pages.urls import urlpatterns
from scheduling.models import WorkDay
from tests.browser.conftest import Hour, wait_for_the_last_answers
from tests.browser.lived_farm import LATER, lay_the_rest, live_a_day
from tests.browser.test_day_page import RULES
from tests.browser.test_every_page import (
    HANDS,
    LOOK,
    NO_PAGES,
    OPEN_ALL,
    Look,
    pages,
    refuses_to_be_asked,
    who_sees,
)
from tests.factories import make_farm, make_hand
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in

pytestmark = pytest.mark.browser

OF_WORDS = [
    "button-name",
    "document-title",
    "html-has-lang",
    "image-alt",
    "label",
    "link-name",
    "select-name",
]
ONLY = {
    "en": {"runOnly": {"type": "tag", "values": RULES}},
    "es": {"runOnly": {"type": "rule", "values": OF_WORDS}},
}
"""The rules of axe-core that are looked at: in the other language those that words break, as the markup is the same."""
NEVER_REFUSED = {
    "choose_mail_for": "an empty hour is the farm's",
    "office_mail": "an empty hour is the farm's",
    "my_mail": "an empty hour is the farm's",
    "keep_payee": "ticks and a choice",
    "check": "a word on a walk around, or none",
}
"""Forms whose boxes take anything, each with why."""
EMPTY = {
    *("change_order", "set_aside", "reverse_entry", "reverse_share_out", "add_category", "add_entity"),
    "say_why_fewer",
}
"""Forms that take any word, and refuse none."""

FORMS = """() => [...document.querySelectorAll('main form')].filter(form => form.method === 'post'
  && [...form.querySelectorAll('input, select, textarea')].some(one => !one.hidden && !one.readOnly
    && !['hidden', 'submit', 'image'].includes(one.type))).map(form => new URL(form.action).pathname)"""

SEND_WRONG = """([path, word]) => {
  const boxed = 'input:not([type=hidden], [type=image]), select, textarea:not([hidden])';
  const form = [...document.querySelectorAll('main form')].filter(
    one => new URL(one.action).pathname === path && one.querySelector(boxed)).pop();
  for (const one of form.querySelectorAll('input, textarea, select')) {
    if (one.hidden || ['hidden', 'submit', 'image', 'file', 'radio'].includes(one.type)) continue;
    if (one.type === 'checkbox') one.checked = false;
    else if (one.tagName === 'SELECT') one.value = [...one.options].some(each => !each.value) ? '' : one.value;
    else one.value = ['date', 'time', 'email', 'password'].includes(one.type) ? '' : word;
  }
  const button = [...form.querySelectorAll('button')].find(one => !one.hasAttribute('formaction'));
  if (button.name) {
    const named = document.createElement('input');
    Object.assign(named, {type: 'hidden', name: button.name, value: button.value});
    form.append(named);
  }
  HTMLFormElement.prototype.submit.call(form);
}"""

ANSWERED = """async ([path, word]) => {
  const is_idle = () => document.activeElement === document.body;  // a box that wants the focus has it with a frame
  for (let frame = 0; frame < 2 || (is_idle() && frame < 300); frame += 1) await new Promise(requestAnimationFrame);
  const wrong = [], focused = document.activeElement, seen = one => one.checkVisibility();
  const short = one => one ? one.outerHTML.slice(0, 100) : 'nothing';
  const tied = one => (one.getAttribute('aria-describedby') || '').split(' ').filter(Boolean);
  const words = id => { const one = document.getElementById(id); return one && seen(one) && one.textContent.trim(); };
  const told = [...document.querySelectorAll('main [role=alert]')].filter(seen);
  if (!told.length) return ['is not told to be refused'];
  for (const one of document.querySelectorAll('main [aria-invalid=true]'))
    if (!tied(one).length || !tied(one).every(words)) wrong.push(`is not told what is wrong with ${short(one)}`);
  const known = new Set([...document.querySelectorAll('main [aria-describedby]')].flatMap(tied));
  for (const one of document.querySelectorAll('main form .wrong, main td > .wrong'))
    if (seen(one) && !known.has(one.id) && !one.closest('.start-read')) wrong.push(`ties no box to “${one.textContent}”`);
  const group = focused.closest('fieldset[aria-describedby]') || focused;
  const told_at = tied(group).concat(tied(focused)).map(id => document.getElementById(id)?.closest('[role=alert]'));
  if (!told.includes(focused) && !told_at.some(Boolean)) wrong.push(`has its focus on ${short(focused)}`);
  const box = focused.getBoundingClientRect();
  const over = document.elementFromPoint(box.left + box.width / 2, box.top + Math.min(box.height, 40) / 2);
  if (!over || !(focused.contains(over) || over.contains(focused) || over.closest('label')?.contains(focused)))
    wrong.push(`hides what has the focus, ${short(focused)}, under ${short(over)}`);
  const form = focused.closest('form') || [...document.querySelectorAll('main form')].find(
    one => new URL(one.action).pathname === path);
  const sent = form ? [...form.querySelectorAll('input:not([type]), input[type=tel]')] : [];
  for (const one of sent)
    if (!one.readOnly && !one.value.startsWith(word) && !/-[0-9]+$/.test(one.name)) wrong.push(`lost what was typed into ${one.name}`);
  return wrong;
}"""


@pytest.fixture
def whole(yard: Yard, hour: Hour, settings: Settings) -> Yard:
    settings.SITE_ADDRESS = "https://farm.example.org"
    hour.at = LATER
    live_a_day(yard)
    lay_the_rest(yard)
    WorkDay.objects.create(
        farm=yard.farm, client_id=uuid4(), hand=yard.hand, work_on=MONDAY.date(), recorded_at=LATER,
        worked_min=0, offered_min=720,
    )  # fmt: skip
    return yard


def speak(language: str) -> None:
    User.objects.update(language=language)
    Hand.objects.update(language=language)


def kind_of(path: str) -> str:
    """Return which form an address is of: a farm has many of some."""
    found = resolve(path)
    return str(found.kwargs["kind"] if found.url_name == "send_report" else found.url_name)


def has_a_form(page: str) -> bool:
    """Say without a browser whether anything is sent from a page, but for what stands at the head of each."""
    return '<form method="post"' in page.partition("<main")[2]


def refused(page: Page, path: str, word: str) -> list[str]:
    """Send a form in wrong, and return what is wrong with how the page tells it."""
    asked = urlsplit(page.url).path
    with page.expect_navigation():
        page.evaluate(SEND_WRONG, [path, word])
    wrong = list(page.evaluate(ANSWERED, [path, word]))
    if (
        urlsplit(page.url).path != asked
    ):  # what is only sent to is no page: a link that leaves the address out leads there
        links = page.locator("main a[href^='?']").evaluate_all(
            "all => all.map(one => one.outerHTML.slice(0, 100))"
        )
        wrong += [f"leads nowhere by {one}" for one in links]
    return wrong


def test_what_is_wrong_with_a_form_is_told_at_its_box_and_nothing_typed_is_lost(
    whole: Yard, browser: Browser, live_server: LiveServer
) -> None:
    wrong, done = list[str](), set[str]()
    # Asked before any browser is: the server's threads share one connection to the database with this one, and two that
    # are at it at once may wait for each other for good.
    with_forms = [
        (name, address, who)
        for name, address in pages(whole)
        if not (who := who_sees(name))
        or has_a_form(signed_in(who).get(address, follow=True).content.decode())
    ]
    with ExitStack() as after:
        looks: dict[str, Look] = {}
        for name, address, who in with_forms:
            if who not in looks:
                looks[who] = Look(browser, live_server.url, who, "en")
                after.callback(looks[who].context.close)
            page = looks[who].page
            page.goto(address)
            for path in page.evaluate(FORMS):
                kind = kind_of(path)
                if kind in done or kind in NEVER_REFUSED:
                    done.add(kind)
                    continue
                done.add(kind)
                word = "" if kind in EMPTY else "zz,z"
                if path not in page.evaluate(FORMS):
                    page.goto(address)
                told = refused(page, path, word)
                told += page.evaluate(LOOK, ONLY["en"])
                if who and not told:
                    page.wait_for_load_state("networkidle")
                    speak("es")
                    told = [f"in Spanish {one}" for one in refused(page, path, word)]
                    told += page.evaluate(LOOK, ONLY["es"])
                    page.wait_for_load_state("networkidle")
                    speak("en")
                wrong += [f"{kind} on {name}: {one}" for one in told]
    wait_for_the_last_answers()
    assert wrong == [], "\n".join(wrong)
    assert NEVER_REFUSED.keys() | EMPTY <= done
    assert len(done) > 45


def of_a_bare_farm() -> Iterator[tuple[str, str]]:
    """Yield the name and the address of each page that needs nothing but the farm, those of its hands last."""
    for pattern in sorted(urlpatterns, key=lambda one: one.name in HANDS):
        name = str(pattern.name)
        if name in {*NO_PAGES, "pool_lines"} or set(pattern.pattern.converters) != {"farm_code"}:
            continue
        if not refuses_to_be_asked(pattern):
            yield name, reverse(f"pages:{name}", kwargs={"farm_code": "bare"})


def test_pages_on_which_nothing_stands_yet_break_no_rule(
    transactional_db: None, hour: Hour, browser: Browser, live_server: LiveServer, settings: Settings
) -> None:
    hour.at, wrong, there = LATER, list[str](), list(of_a_bare_farm())
    farm = make_farm(code="bare")
    users = {who: User.objects.create_user(who) for who in ("mona", "bo", "rosa")}
    for who, role in (("mona", "manager"), ("bo", "bookkeeper")):
        Membership.objects.create(farm=farm, user=users[who], role=role)
    with ExitStack() as after:
        looks = {who: Look(browser, live_server.url, who, "en") for who in users}
        for look in looks.values():
            look.page.set_viewport_size({"width": 390, "height": 844})
            after.callback(look.context.close)
        for name, address in there:
            if name in HANDS and not Hand.objects.exists():
                hand = make_hand(farm, "rosa")
                Membership.objects.create(farm=farm, user=users["rosa"], role="hand", hand=hand)
            look = looks[who_sees(name)]
            for language, only in ONLY.items():
                speak(language)
                answer = look.page.goto(address)
                assert answer is not None
                told: list[Any] = [] if answer.status == 200 else [answer.status]
                look.page.evaluate(OPEN_ALL)
                told += look.page.evaluate(LOOK, only)
                if look.page.evaluate("document.documentElement.scrollWidth") > 390:
                    told.append("wider than 390")
                wrong += [f"{name} ({language}): {one}" for one in told]
        wrong += [said for look in looks.values() for said in look.wrong]
    wait_for_the_last_answers()
    assert wrong == [], "\n".join(wrong)
    assert len(there) > 40
