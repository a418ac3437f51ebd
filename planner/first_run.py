"""Sets up everything on a fresh machine, then runs the demo or the tests.

    python3 planner/first_run.py demo      answers one call, then makes the pages in site/
    python3 planner/first_run.py test      runs the tests

Standard library only, and nothing of the package is imported: it must run before anything is installed. It makes
`.venv` beside the package, installs once (again when pyproject.toml changes), and does the work there.
"""

from __future__ import print_function

import sys

OLDEST = (3, 11)

DEMO = [
    "plan",
    "--rig",
    "pass-truck",
    "--vehicle",
    "midsize-suv",
    "--start",
    "12%",
    "--miles",
    "45mi",
    "--at",
    "open-lot",
    "--openings",
    "clear",
    "--people",
    "away",
]


PAGES = ["pages", "--folder", "--out", "site"]


def too_old():
    """Say in one sentence that this Python is too old. No syntax here is newer than Python 2.7."""
    have = ".".join(str(part) for part in sys.version_info[:3])
    print(
        "rangeferry needs Python {0}.{1} or newer, and this is Python {2}: install a newer one and run this file "
        "with it, for example python3.11 planner/first_run.py demo".format(OLDEST[0], OLDEST[1], have),
        file=sys.stderr,
    )
    return 2


def main(arguments):
    """Run `demo` or `test`; further words are passed on to pytest. Returns the exit code of the work."""
    if sys.version_info[:2] < OLDEST:
        return too_old()
    import pathlib
    import subprocess

    root = pathlib.Path(__file__).resolve().parent.parent
    if not arguments or arguments[0] not in ("demo", "test") or (arguments[0] == "demo" and arguments[1:]):
        print("usage: python3 planner/first_run.py demo | test [words for pytest]", file=sys.stderr)
        return 2
    extra = "" if arguments[0] == "demo" else "[test]"
    python = prepared(root, extra)
    if python is None:
        return 2
    if arguments[0] == "test":
        # On every core; the same tests one by one, and to look into one: .venv/bin/python -m pytest.
        return subprocess.call(
            [str(python), "-m", "pytest", "-n", "auto", "--dist", "worksteal"] + arguments[1:], cwd=str(root)
        )
    code = shown(python, root, DEMO)
    # The pages need more installed than the answer does, so they come second.
    if code == 0 and prepared(root, "[site]") is None:
        return 2
    return code or shown(python, root, PAGES)


def shown(python, root, words):
    """Show a command and run it. Returns its exit code."""
    import subprocess

    print("$ rangeferry " + " ".join(words))
    sys.stdout.flush()
    return subprocess.call([str(python), "-m", "planner"] + words, cwd=str(root))


def prepared(root, extra):
    """Return the environment's Python with the package and one extra installed, or None after saying what failed."""
    import hashlib
    import os
    import subprocess

    try:
        import ensurepip  # noqa: F401 - asked for before venv, which fails half-way without it
        import venv
    except ImportError:
        print(
            "rangeferry needs Python's venv module, and this Python has none: install it (on Debian and Ubuntu: "
            "apt install python3-venv) and run this again",
            file=sys.stderr,
        )
        return None
    place = root / ".venv"
    folder, name = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    python = place / folder / name
    digest = hashlib.sha256((root / "pyproject.toml").read_bytes() + extra.encode()).hexdigest()
    # One mark an extra, written last: an interrupted install leaves no mark and is done again.
    mark = place / ("installed" + extra.replace("[", "-").replace("]", "") + ".sha256")
    if python.exists() and mark.exists() and mark.read_text() == digest:
        return python
    print("setting up .venv (once) ...", file=sys.stderr)
    if not python.exists() or subprocess.call([str(python), "-c", "import pip"], stderr=subprocess.DEVNULL):
        venv.EnvBuilder(with_pip=True, clear=True).create(str(place))
    install = [str(python), "-m", "pip", "install", "-qq", "--disable-pip-version-check", "--editable", "." + extra]
    if subprocess.call(install, cwd=str(root)):
        print(
            "the install failed: the lines above say why. Without a network, give pip a package folder "
            "(PIP_FIND_LINKS) or run this once where there is one",
            file=sys.stderr,
        )
        return None
    mark.write_text(digest)
    return python


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
