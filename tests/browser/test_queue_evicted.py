"""What waits, when the browser makes room or puts another service worker in the place of the first."""

from pathlib import Path

import pytest
from playwright.sync_api import expect

from farmops.pages.views import offline
from scheduling.models import FuelFill
from tests.browser.conftest import Opened, fill_fuel
from tests.browser.test_queue import KEPT, queue, signal_comes_back, wait_until, wait_until_all_is_sent

pytestmark = pytest.mark.browser
MAKE_ROOM = """() => new Promise((done, fail) => {
  const ask = indexedDB.deleteDatabase("field-reports");
  ask.onsuccess = done;
  ask.onblocked = ask.onerror = () => fail(new Error("still held"));
})"""
RULES = """() => navigator.serviceWorker.getRegistration().then((one) => one && one.active?.state === "activated")"""
ANOTHER = """() => navigator.serviceWorker.getRegistration().then((one) => one.update()).then((one) => new Promise((done) => {
  const was = one.active, look = setInterval(() => {
    if (one.active !== was || (!one.installing && !one.waiting && performance.now() > 15000)) {
      clearInterval(look);
      done(one.active !== was);
    }
  }, 50);
}))"""


def test_an_open_page_goes_on_after_the_browser_threw_its_storage_away(open_day: Opened) -> None:
    """Browsers throw storage away where room is short (Storage Standard, section 5); a page may be open meanwhile."""
    page = open_day()
    fill_fuel(page, "21")
    expect(queue(page)).to_contain_text(KEPT)
    page.evaluate(MAKE_ROOM)
    page.context.set_offline(True)
    fill_fuel(page, "22")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    signal_comes_back(page)
    wait_until_all_is_sent(page)
    assert sorted(str(fill.gallons) for fill in FuelFill.objects.all()) == ["21.0", "22.0"]


def test_another_service_worker_takes_over_while_a_report_waits_and_loses_nothing(
    open_day: Opened, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Another byte in the script is another worker (Service Workers, the update algorithm)."""
    page = open_day(worker=True)
    wait_until(page, RULES)
    page.evaluate(
        "() => { window.sends = window.fetch; window.fetch = () => Promise.reject(new Error('cut')); }"
    )
    fill_fuel(page, "23")
    expect(queue(page)).to_contain_text("1 reporte en espera")
    changed = tmp_path / "worker.js"
    changed.write_bytes(offline.WORKER.read_bytes() + b"\n// another\n")
    monkeypatch.setattr(offline, "WORKER", changed)
    assert page.evaluate(ANOTHER)
    expect(queue(page)).to_contain_text("1 reporte en espera")
    page.reload()
    wait_until_all_is_sent(page)
    assert [str(fill.gallons) for fill in FuelFill.objects.all()] == ["23.0"]
