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
    """Press the tab key until the keyboard is there, where it is seen to be.

    It is looked for anew at each stop: what waits to be sent is drawn again when something of it changes.
    """
    for _stop in range(MOST_STOPS):
        page.keyboard.press("Shift+Tab" if back else "Tab")
        if wanted.evaluate("one => one === document.activeElement"):
            break
    else:
        raise AssertionError(
            f"not reached by the tab key: {wanted.evaluate('one => one.outerHTML.slice(0, 150)')}"
        )
    unseen = page.evaluate(SEEN)
    assert not unseen, f"{wanted.evaluate('one => one.outerHTML.slice(0, 150)')} {unseen}"


def skip_to_the_page(page: Page) -> None:
    """Pass over what each page begins with, by the first link of the page."""
    page.keyboard.press("Tab")
    expect(page.locator("a.skip")).to_be_focused()
    assert not page.evaluate(SEEN)
    page.keyboard.press("Enter")


class Doer:
    """Does what a page offers: with a pointer on a phone, with the keys alone at a desk."""

    def __init__(self, page: Page, *, by_keys: bool) -> None:
        self.page, self.by_keys = page, by_keys

    def open(self, address: str) -> None:
        """Ask for a page, and pass over what it begins with."""
        self.page.goto(address)
        if self.by_keys:
            skip_to_the_page(self.page)

    def reach(self, wanted: Locator) -> None:
        """Go to a box, a button or a link, and open on the way what is folded around it."""
        wanted.wait_for(state="attached")
        for fold in wanted.locator("xpath=ancestor::details[not(@open)]").all():
            tab_to(self.page, fold.locator("> summary"))
            self.page.keyboard.press("Enter")
        tab_to(self.page, wanted)

    def press(self, wanted: Locator) -> None:
        """Press a button or follow a link."""
        if not self.by_keys:
            wanted.click()
            return
        self.reach(wanted)
        self.page.keyboard.press("Enter")

    def write(self, wanted: Locator, text: str, *, keys: str = "") -> None:
        """Write into a box in the place of what stands there; `keys` are those of a day or an hour."""
        if not self.by_keys:
            wanted.fill(text)
            return
        self.reach(wanted)
        if not keys:
            self.page.keyboard.press("Control+A")
        self.page.keyboard.type(keys or text)

    def choose(self, wanted: Locator, value: str) -> None:
        """Choose in a list."""
        if not self.by_keys:
            wanted.select_option(value)
            return
        self.reach(wanted)
        self.page.keyboard.press("Home")
        for _choice in range(wanted.locator("option").count()):
            if wanted.input_value() == value:
                return
            self.page.keyboard.press("ArrowDown")
        assert wanted.input_value() == value

    def tick(self, wanted: Locator) -> None:
        """Tick a box, or choose one of several choices: those are one stop, and the arrows go on from there."""
        if not self.by_keys:
            wanted.evaluate("one => one.click()")  # what is pressed is the word over it
            return
        if wanted.get_attribute("type") != "radio":
            self.reach(wanted)
        else:
            name = wanted.get_attribute("name")
            group = wanted.locator(f"xpath=ancestor::form//input[@type='radio'][@name='{name}']")
            self.reach(next((one for one in group.all() if one.is_checked()), group.first))
            while not wanted.evaluate("one => one === document.activeElement"):
                self.page.keyboard.press("ArrowDown")
        if not wanted.is_checked():
            self.page.keyboard.press("Space")
        assert wanted.is_checked()
