"""The README is run: its transcripts are true, its commands exist, its YAML is a record."""

import re
import shlex

import pytest

from planner.cli import main


def readme(root):
    return (root / "README.md").read_text(encoding="utf-8")


def transcripts(text):
    """Return each `$ command` of a console block with the output shown below it."""
    for block in re.findall(r"^```console\n(.*?)^```", text, re.M | re.S):
        for piece in re.split(r"^\$ ", block, flags=re.M)[1:]:
            command, _, shown = piece.partition("\n")
            yield command, shown


def test_transcripts_are_true(root, capsys):
    count = 0
    for command, shown in transcripts(readme(root)):
        program, *arguments = shlex.split(command)
        assert program == "rangeferry"
        main(arguments)
        assert shown == capsys.readouterr().out, f"run tests/docs/refresh_readme.py after reading the change: {command}"
        assert len(shown.splitlines()) > 5
        count += 1
    assert count >= 2


def test_every_command_is_named_and_every_named_command_exists(root, capsys):
    named = set(
        re.findall(
            r"rangeferry (call|plan|rig|size|commission|list|new|format|moved|check|schema|pages|bench)\b", readme(root)
        )
    )
    assert named == {
        "call",
        "plan",
        "rig",
        "size",
        "commission",
        "list",
        "new",
        "format",
        "moved",
        "check",
        "schema",
        "pages",
        "bench",
    }
    for command in named:
        with pytest.raises(SystemExit) as stopped:
            main([command, "--help"])
        assert stopped.value.code == 0
    capsys.readouterr()


def test_the_overlay_of_the_readme_works(root, tmp_path, capsys):
    (block,) = re.findall(r"^```yaml\n# our-data/(\S+)\n(.*?)^```", readme(root), re.M | re.S)
    path = tmp_path / block[0]
    path.parent.mkdir(parents=True)
    path.write_text(block[1], encoding="utf-8")

    assert main(["schema", "--out", str(tmp_path / "schema")]) == 0
    assert main(["check", "--data", str(tmp_path)]) == 0
    assert (
        main(
            [
                "plan",
                "--data",
                str(tmp_path),
                "--rig",
                "pass-truck-valley",
                "--vehicle",
                "midsize-suv",
                "--start",
                "12%",
                "--to",
                "80%",
                "--at",
                "open-lot",
                "--openings",
                "clear",
                "--people",
                "away",
            ]
        )
        == 0
    )
    assert "Pass truck in the valley" in capsys.readouterr().out


def test_files_named_in_the_readme_exist(root):
    for name in re.findall(r"`([\w/]+\.(?:md|py))`", readme(root)):
        assert (root / name).exists() or (root / "planner" / name).exists(), name


def test_the_job_stands_first_and_the_two_commands_follow(root):
    text = readme(root)
    first, rest = text.split("\n\n", 2)[1:]
    assert len(first.split()) > 80
    assert rest.index("first_run.py demo") < 300
    assert rest.index("first_run.py test") < 300


def test_the_kept_call_of_the_readme_is_answered(root, tmp_path, capsys):
    (block,) = re.findall(r"^```yaml\n# call.yaml.*?\n(.*?)^```", readme(root), re.M | re.S)
    path = tmp_path / "call.yaml"
    path.write_text(block, encoding="utf-8")

    assert main(["call", "--from", str(path)]) == 1
    assert "Does whoever runs the place, or owns the outlet, allow us to charge it there?" in capsys.readouterr().out
