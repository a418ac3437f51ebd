"""Scripts of the pages run in Node, where there is one. REQUIRE_BROWSER=1 forbids to skip."""

import json
import os
import shutil
import subprocess

import pytest


def missing(reason):
    """Skip with what is missing, or fail where nothing may be skipped."""
    if os.environ.get("REQUIRE_BROWSER"):
        pytest.fail(reason)
    pytest.skip(reason)


def run(script, harness, asked):
    """Return what a harness makes of a script and of what is asked, which goes in and comes out as JSON."""
    path = shutil.which("node")
    if path is None:
        missing("no Node on the path")
    done = subprocess.run(
        [path, "-e", harness, str(script)], input=json.dumps(asked), capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)
