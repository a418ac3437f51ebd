"""Writes what the commands of the README's transcripts print today back into the README. Read the change before you commit it.

python tests/docs/refresh_readme.py
"""

import contextlib
import io
import re
import shlex
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from planner.cli import main  # noqa: E402


def printed(command: str) -> str:
    """Return what a command prints."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        main(shlex.split(command)[1:])
    return out.getvalue()


def refreshed(match: re.Match[str]) -> str:
    """Return a console block with its outputs made anew."""
    commands = re.findall(r"^\$ (.*)$", match[1], re.M)
    return "```console\n" + "".join(f"$ {command}\n{printed(command)}" for command in commands) + "```"


if __name__ == "__main__":
    readme = ROOT / "README.md"
    readme.write_text(
        re.sub(r"^```console\n(.*?)^```", refreshed, readme.read_text(encoding="utf-8"), flags=re.M | re.S),
        encoding="utf-8",
    )
