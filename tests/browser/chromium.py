"""The browser that tests and pictures use: the system's Chromium."""

import shutil

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def path():
    """Return where the browser is, or None: the one without windows first, the same engine and nearly twice as fast."""
    names = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
    return next((found for name in names if (found := shutil.which(name))), None)
