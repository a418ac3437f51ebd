"""The page "Add a class in ten minutes" is walked through as it stands: every command, every edit, what is shown."""

import re
import shlex

import pytest

from planner.cli import main

BLOCK = re.compile(r"^```(console|yaml)\n(.*?)^```", re.M | re.S)


def edit(folder, text):
    """Put the lines of a yaml block into the file that its first line names, each in the place of its own key."""
    first, *lines = text.splitlines()
    path = folder / first.removeprefix("# ")
    held = path.read_text(encoding="utf-8")
    for line in lines:
        key = line.split(":")[0]
        held, count = re.subn(rf"^( *){key}: .*$", lambda found, line=line: found[1] + line, held, count=1, flags=re.M)
        assert count == 1, key
    path.write_text(held, encoding="utf-8")


def shown(text):
    """Return the commands of a console block, each with what is shown below it."""
    for piece in re.split(r"^\$ ", text, flags=re.M)[1:]:
        command, _, output = piece.partition("\n")
        yield command, output.splitlines()


def test_the_page_can_be_followed_line_by_line(root, tmp_path, monkeypatch, capsys):
    page = (root / "site_src" / "data" / "add-a-class.md").read_text(encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    commands = 0
    for kind, text in BLOCK.findall(page):
        if kind == "yaml":
            edit(tmp_path, text)
            continue
        for command, lines in shown(text):
            program, *arguments = shlex.split(command)
            main(arguments)
            out, err = capsys.readouterr()
            told = (err + out).splitlines()
            assert program == "rangeferry"
            assert lines, command
            missing = [line for line in lines if line not in told]
            assert missing == [], command
            commands += 1

    assert commands >= 9


def test_every_command_that_the_page_names_exists(root, capsys):
    page = (root / "site_src" / "data" / "add-a-class.md").read_text(encoding="utf-8")
    for name in set(re.findall(r"`rangeferry (\w+)", page)):
        with pytest.raises(SystemExit) as stopped:
            main([name, "--help"])
        assert stopped.value.code == 0, name
    assert "usage: rangeferry" in capsys.readouterr().out
