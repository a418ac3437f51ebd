"""Measures the call page in Chromium against its budgets and prints them.

Sizes above a budget fail; times are told, and fail only far above: the machine is busy.

Usage: budgets.py URL FOLDER, where FOLDER is what is served at URL (that of index.html) by serve.py, compressed.
"""

import shutil
import statistics
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")
CALL = (
    "#v=1&rig=pass-truck&class=midsize-suv&traffic=yes&danger=none&at=open_lot&open=clear&people=away&allowed=yes"
    "&inside=good&key=here&v12=good&dash=percent&percent=12&need=home&home=45"
)
FEW, MANY = "#v=1&rig=pass-truck&port=j1772&body=hatch", "#v=1&rig=pass-truck&door=no"
SLOWED = 4
FAR_ABOVE = 4  # times a budget of time: a fault, and no busy machine
FIRST_VIEW_KB, OFFLINE_MB, ANSWER_MS, ENVELOPE_MS = 250, 12, 16, 150
# From a change of the form to the answer in the page; what is read later may come a moment later.
CHANGE = """async (value) => {
  const sheet = document.getElementById("sheet"), field = document.querySelector('[name="home"]');
  field.value = value;
  const answered = new Promise((done) => new MutationObserver((_, seen) => {
    if (!sheet.querySelector(".wait")) { seen.disconnect(); done(performance.now()); }
  }).observe(sheet, { childList: true }));
  const start = performance.now();
  field.dispatchEvent(new Event("input", { bubbles: true }));
  return (await answered) - start;
}"""


def first_view_kb(browser, address):
    """Return the bytes on the line until two seconds after the load, without what is kept for later."""
    page = browser.new_context(viewport={"width": 360, "height": 800}, service_workers="block").new_page()
    sizes = []
    page.on("response", lambda response: sizes.append(int(response.headers.get("content-length", 0))))
    page.goto(address, wait_until="load")
    page.wait_for_timeout(2000)
    page.context.close()
    return sum(sizes) / 1000


def change_ms(browser, address, times):
    """Return the median time of an answer with the processor slowed down."""
    page = browser.new_context(viewport={"width": 360, "height": 800}, service_workers="block").new_page()
    page.goto(address)
    page.wait_for_function("() => document.querySelector('#verdict') && !document.querySelector('.wait')")
    page.wait_for_timeout(500)
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    found = []
    for number in range(times):
        found.append(page.evaluate(CHANGE, str(20 + number)))
        page.wait_for_timeout(200)
    page.context.close()
    return statistics.median(found)


def main():
    address, folder = sys.argv[1], Path(sys.argv[2])
    listed = (folder / "sw.js").read_text(encoding="utf-8")
    kept = [
        path for path in folder.rglob("*") if path.is_file() and f'["{path.relative_to(folder).as_posix()}", ' in listed
    ]
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), headless=True, args=ARGUMENTS)
        rows = [
            ("first view, compressed", first_view_kb(browser, address), FIRST_VIEW_KB, "kB", 1),
            ("kept on a device", sum(path.stat().st_size for path in kept) / 1e6, OFFLINE_MB, "MB", 1),
            (f"answer at {SLOWED} x slow-down", change_ms(browser, address + CALL, 25), ANSWER_MS, "ms", FAR_ABOVE),
            (
                f"envelope, few classes, at {SLOWED} x",
                change_ms(browser, address + FEW, 9),
                ENVELOPE_MS,
                "ms",
                FAR_ABOVE,
            ),
            (
                f"envelope, nearly all, at {SLOWED} x",
                change_ms(browser, address + MANY, 9),
                ENVELOPE_MS,
                "ms",
                FAR_ABOVE,
            ),
        ]
        browser.close()
    for name, value, budget, unit, _ in rows:
        print(f"{name:34} {value:8.1f} {unit} of {budget}{'' if value <= budget else '  OVER'}")
    return int(any(value > budget * margin for _, value, budget, _, margin in rows))


if __name__ == "__main__":
    sys.exit(main())
