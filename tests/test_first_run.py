"""The first run: one sentence where it cannot work, and syntax that an old Python can still read."""

import ast
import runpy
import sys

import pytest


def first_run(root, monkeypatch, *arguments):
    """Return the exit code of the script run as a file with these words."""
    path = root / "planner" / "first_run.py"
    monkeypatch.setattr(sys, "argv", [str(path), *arguments])
    with pytest.raises(SystemExit) as stopped:
        runpy.run_path(str(path), run_name="__main__")
    return stopped.value.code


@pytest.mark.parametrize("version", [(2, 7, 18), (3, 6, 9), (3, 10, 12)])
def test_an_old_python_gets_one_clear_sentence(root, monkeypatch, capsys, version):
    monkeypatch.setattr(sys, "version_info", version)
    code = first_run(root, monkeypatch, "demo")
    out, err = capsys.readouterr()

    assert (code, out) == (2, "")
    assert err == (
        f"rangeferry needs Python 3.11 or newer, and this is Python {'.'.join(map(str, version))}: install a newer one "
        "and run this file with it, for example python3.11 planner/first_run.py demo\n"
    )


@pytest.mark.parametrize("missing", ["venv", "ensurepip"])
def test_a_python_without_venv_gets_one_clear_sentence(root, monkeypatch, capsys, missing):
    monkeypatch.setitem(sys.modules, missing, None)
    code = first_run(root, monkeypatch, "demo")
    out, err = capsys.readouterr()

    assert (code, out) == (2, "")
    assert err == (
        "rangeferry needs Python's venv module, and this Python has none: install it (on Debian and Ubuntu: "
        "apt install python3-venv) and run this again\n"
    )


@pytest.mark.parametrize("arguments", [(), ("tset",), ("demo", "more"), ("--help",)])
def test_any_other_word_shows_the_two(root, monkeypatch, capsys, arguments):
    code = first_run(root, monkeypatch, *arguments)

    assert code == 2
    assert capsys.readouterr().err == "usage: python3 planner/first_run.py demo | test [words for pytest]\n"


def test_the_script_has_no_syntax_newer_than_python_2(root):
    """An old Python reads the whole file before it runs a line of it."""
    tree = ast.parse((root / "planner" / "first_run.py").read_text(encoding="ascii"))
    too_new = (ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.AsyncFunctionDef, ast.Match, ast.Nonlocal, ast.Starred)

    for node in ast.walk(tree):
        assert not isinstance(node, too_new), ast.dump(node)
        if isinstance(node, ast.FunctionDef):
            every = [*node.args.args, *node.args.kwonlyargs]
            assert node.returns is None
            assert not node.args.kwonlyargs
            assert all(argument.annotation is None for argument in every)
        if isinstance(node, ast.Raise):
            assert node.cause is None


def test_the_demo_is_a_call_that_serves(root, capsys):
    """The words are read out of the script, which imports nothing, and given to the command."""
    from planner.cli import main

    assert main(words_of(root, "DEMO")) == 0
    assert capsys.readouterr().out.startswith("SERVE: ")


@pytest.mark.site
def test_the_demo_then_makes_pages_to_open_from_a_folder(root, tmp_path, monkeypatch, capsys):
    pytest.importorskip("material")
    from planner.cli import main

    monkeypatch.chdir(tmp_path)
    assert main(words_of(root, "PAGES")) == 0
    assert (tmp_path / "site" / "index.html").is_file()
    assert "open site/index.html in a browser" in capsys.readouterr().err


def words_of(root, name):
    """Return the words of a command that the script holds."""
    tree = ast.parse((root / "planner" / "first_run.py").read_text(encoding="utf-8"))
    (words,) = [
        ast.literal_eval(node.value)
        for node in tree.body
        if isinstance(node, ast.Assign) and node.targets[0].id == name
    ]
    return words
