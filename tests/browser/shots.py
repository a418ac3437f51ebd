"""Takes pictures of pages of every kind, to be looked at: phone and desktop, light, dark and print.

python tests/browser/shots.py DIR [PAGE ...]
"""

import sys
import tempfile
from pathlib import Path

import chromium

KINDS = ("index", "vehicles/index", "vehicles/midsize-suv", "rigs/pass-truck", "rigs/fairground-spare", "plugs/index")
LOOKS = ((360, "light"), (360, "dark"), (1280, "light"), (1280, "dark"))


def main():
    """Make the pages in a folder of their own, and a picture and a print of each."""
    if len(sys.argv) < 2 or sys.argv[1].startswith("-"):
        print(__doc__)
        return
    from playwright.sync_api import sync_playwright

    from planner.publish.build import build_pages

    out = Path(sys.argv[1])
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        pages = Path(name) / "site"
        build_pages(pages, folder=True, note=print, show_progress=False)
        browser = driver.chromium.launch(executable_path=chromium.path(), args=chromium.ARGUMENTS)
        for kind in sys.argv[2:] or KINDS:
            stem = kind.removesuffix(".html").replace("/", "-")
            for width, scheme in LOOKS:
                context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
                page = context.new_page()
                page.goto((pages / kind).with_suffix(".html").as_uri())
                page.screenshot(path=out / f"{stem}-{width}-{scheme}.png", full_page=True)
                if (width, scheme) == LOOKS[-1]:
                    page.pdf(path=out / f"{stem}.pdf", format="Letter")
                context.close()
        browser.close()
    print(f"pictures in {out}")


if __name__ == "__main__":
    main()
