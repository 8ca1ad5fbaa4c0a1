"""A person without a mouse: goes from stop to stop with the tab key, and sees at each where the keyboard is.

Outside: WCAG 2.2 success criteria 2.1.1 (all is done by keys), 2.4.1 (a link skips what each page begins with), 2.4.7
(the focus is seen), 2.4.11 (and not hidden by what stays in sight), 2.1.2 (no stop holds the keyboard).
"""

from playwright.sync_api import Locator, Page, expect

MOST_STOPS = 250

SEEN = """() => {
  const one = document.activeElement, box = one.getBoundingClientRect();
  const label = one.closest('label') || (one.labels && one.labels[0]);
  const ringed = each => each && getComputedStyle(each).outlineStyle !== 'none' && parseFloat(getComputedStyle(each).outlineWidth) > 0;
  if (![one, label, label?.querySelector('span')].some(ringed)) return 'has no ring around it';
  const inside = (x, y) => { const over = document.elementFromPoint(x, y);
    return over && (one.contains(over) || over.contains(one) && over !== document.body && !over.matches('main, html')
      || over.closest('label')?.contains(one)); };
  const xs = [box.left + 3, box.left + box.width / 2, box.right - 3], ys = [box.top + 3, box.top + box.height / 2, box.bottom - 3];
  return xs.some(x => ys.some(y => inside(x, y))) ? '' : 'is hidden';
}"""


def tab_to(page: Page, wanted: Locator, *, back: bool = False) -> None:
    """Press the tab key until the keyboard is there, where it is seen to be."""
    one = wanted.element_handle()
    for _stop in range(MOST_STOPS):
        page.keyboard.press("Shift+Tab" if back else "Tab")
        if one.evaluate("one => one === document.activeElement"):
            break
    else:
        raise AssertionError(
            f"not reached by the tab key: {one.evaluate('one => one.outerHTML.slice(0, 150)')}"
        )
    unseen = page.evaluate(SEEN)
    assert not unseen, f"{one.evaluate('one => one.outerHTML.slice(0, 150)')} {unseen}"


def skip_to_the_page(page: Page) -> None:
    """Pass over what each page begins with, by the first link of the page."""
    page.keyboard.press("Tab")
    expect(page.locator("a.skip")).to_be_focused()
    assert not page.evaluate(SEEN)
    page.keyboard.press("Enter")


def unfold(page: Page, inside: Locator) -> None:
    """Open what is folded around a place, from the outside in."""
    for fold in inside.locator("xpath=ancestor::details[not(@open)]").all():
        tab_to(page, fold.locator("> summary"))
        page.keyboard.press("Enter")


def press(page: Page, wanted: Locator) -> None:
    """Reach a button or a link and press it."""
    tab_to(page, wanted)
    page.keyboard.press("Enter")


def tick(page: Page, wanted: Locator) -> None:
    """Reach a box and tick it, or one of several choices and choose it with the arrows."""
    if wanted.get_attribute("type") != "radio":
        tab_to(page, wanted)
        page.keyboard.press("Space")
        return
    name = wanted.get_attribute("name")
    group = page.locator(f"input[type=radio][name='{name}']")
    first = next((one for one in group.all() if one.is_checked()), group.first)
    tab_to(page, first)
    for _choice in range(group.count() + 1):
        if wanted.evaluate("one => one === document.activeElement"):
            break
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Space")
    assert wanted.is_checked()


def write(page: Page, wanted: Locator, text: str) -> None:
    """Reach a box and type into it, in the place of what stood there; a day is typed as month, day and year."""
    tab_to(page, wanted)
    if wanted.get_attribute("type") not in ("date", "time"):
        page.keyboard.press("Control+A")
    page.keyboard.type(text)


def choose(page: Page, wanted: Locator, label: str) -> None:
    """Reach a list and choose in it by typing how the choice begins."""
    tab_to(page, wanted)
    page.keyboard.type(label)
