"""`rangeferry pages --address`: where the pages will stand, for the codes and links of printed cards."""

import re
import subprocess
import sys

import pytest

from planner.cli import main

pytest.importorskip("material")
pytestmark = pytest.mark.site

LONG = f"https://crew.example/{'a' * 100}"


@pytest.mark.parametrize("serving", [[], ["--serve"]], ids=["once", "served"])
@pytest.mark.parametrize(
    ("given", "message"),
    [
        (
            "crew.example/pages",
            "rangeferry: --address: expected the folder of the pages as http or https, without spaces, ? or #, got "
            "'crew.example/pages'; write it like https://crew.example/pages\n",
        ),
        (
            "",
            "rangeferry: --address: expected the folder of the pages as http or https, without spaces, ? or #, got ''; "
            "write it like https://crew.example/pages\n",
        ),
        (
            "https://crew.example/pages/index.html",
            "rangeferry: --address: expected the folder of the pages, not one of them, got "
            "'https://crew.example/pages/index.html'; write https://crew.example/pages\n",
        ),
        (
            LONG,
            "rangeferry: --address: expected at most 120 characters, so that its code can be read off paper, got "
            f"'{LONG[:57]}...'; it has 121: host the pages at a shorter one\n",
        ),
    ],
)
def test_a_mistake_says_what_was_expected_and_makes_nothing(tmp_path, monkeypatch, capsys, serving, given, message):
    monkeypatch.chdir(tmp_path)
    code = main(["pages", *serving, "--address", given])

    assert (code, *capsys.readouterr()) == (2, "", message)
    assert list(tmp_path.iterdir()) == []


def test_the_cards_carry_the_link_where_an_address_is_given(tmp_path):
    pytest.importorskip("segno")
    assert main(["pages", "--out", str(tmp_path / "plain")]) == 0
    assert main(["pages", "--out", str(tmp_path / "site"), "--address", "https://crew.example/pages/"]) == 0
    plain, card = (
        (tmp_path / folder / "cards" / "pass-truck.html").read_text(encoding="utf-8") for folder in ("plain", "site")
    )

    assert 'class="qr"' not in plain
    assert "crew.example" not in plain
    assert ">https://crew.example/pages/index.html#v=1&amp;rig=pass-truck</a>" in card
    assert card.count('class="qr"') == 1
    assert not re.findall(r'\sstyle="', card)


def test_without_segno_it_says_what_to_install_and_makes_pages_without_codes(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "segno", None)

    assert main(["pages", "--out", str(tmp_path / "site"), "--address", "https://crew.example"]) == 2
    assert capsys.readouterr().err == (
        "rangeferry: rangeferry pages needs the site extra: python3 -m pip install 'rangeferry[site]', or in a checkout "
        "'.[site]'\n"
    )
    assert list(tmp_path.iterdir()) == []
    assert main(["pages", "--out", str(tmp_path / "site")]) == 0


def test_the_generators_own_configuration_takes_an_address(tmp_path, root):
    """As `mkdocs build` with a configuration of one's own, where a mistake is told by the name of the option there."""
    pytest.importorskip("segno")
    text = (root / "mkdocs.yml").read_text(encoding="utf-8")
    assert "\n  - rangeferry\n" in text
    text = text.replace("docs_dir: site_src", f"docs_dir: {root / 'site_src'}")
    for address, code, words in (
        ("https://crew.example", 0, ""),
        ("crew.example", 1, "address of the plugin rangeferry: expected the folder of the pages as http or https"),
    ):
        (tmp_path / "mkdocs.yml").write_text(
            text.replace("\n  - rangeferry\n", f"\n  - rangeferry:\n      address: {address}\n"), encoding="utf-8"
        )
        done = subprocess.run(
            [sys.executable, "-m", "mkdocs", "build", "-q", "-d", f"site-{code}"],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == code, done.stderr
        assert words in done.stderr
    card = (tmp_path / "site-0" / "cards" / "pass-truck.html").read_text(encoding="utf-8")
    assert ">https://crew.example/index.html#v=1&amp;rig=pass-truck</a>" in card
