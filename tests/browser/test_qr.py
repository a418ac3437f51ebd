"""The QR code of the call page, run in Node, against ISO/IEC 18004 and against segno, an encoder that is not ours.

The standard's own figures are those of its edition of 2015. segno 1.6 puts one codeword of zeros before the pads where
the bits end with a codeword (its issue 148); 7.4.10 has none there. Any reader passes over it, but the modules differ,
so that one rule of segno is put right here. A text that fills its code has no pads, and is compared with segno as it is.
"""

import random
import re
import xml.etree.ElementTree as ET

import pytest

from browser.node import missing, run
from planner.publish.build import CALL_SCRIPTS

# ISO/IEC 18004:2015, table 7: bytes that versions 1 to 25 hold at level M.
HOLDS = (
    *(14, 26, 42, 62, 84, 106, 122, 152, 180, 213, 251, 287, 331),
    *(362, 412, 450, 504, 560, 624, 666, 711, 779, 857, 911, 997),
)
RANDOM_TEXTS = 150
# All that a link may hold and signs that it escapes; with them characters of two, three and four bytes of UTF-8.
OF_ONE_BYTE = "abcxyzABCXYZ0123456789-._~:/?#[]@!$&'()*+,;=%\"<> "
CHARACTERS = OF_ONE_BYTE + "é°±–€℃𝄞"
FORMAT_PLACES = [(8, place) for place in (0, 1, 2, 3, 4, 5, 7, 8)] + [(place, 8) for place in (7, 5, 4, 3, 2, 1, 0)]

HARNESS = """
var fs = require("fs"), vm = require("vm");
var page = vm.createContext({});
vm.runInContext(fs.readFileSync(process.argv[1], "utf8"), page);
var asked = JSON.parse(fs.readFileSync(0, "utf8"));
console.log(JSON.stringify(asked.map(function (words) {
  return page.rangeferry.qr[words[0]].apply(null, words.slice(1));
})));
"""


@pytest.fixture(scope="module")
def segno():
    """Return segno as it is."""
    try:
        import segno
    except ImportError:
        missing("no segno: install the `site` extra")
    return segno


@pytest.fixture
def padded_segno(segno, monkeypatch):
    """Return segno with bits added up to a codeword where they do not end with one (7.4.10), and none where they do."""
    monkeypatch.setattr(
        segno.encoder, "write_padding_bits", lambda bits, _version, length: bits.extend([0] * (-length % 8))
    )
    return segno


def by_page(asked):
    """Return what the script makes of the names of its functions and what is handed over to each."""
    return run(CALL_SCRIPTS[0].with_name("qr.js"), HARNESS, asked)


def matrices(texts):
    return by_page([["matrix", text] for text in texts])


def by_segno(segno, text, mask=None):
    return segno.make(text, error="m", mode="byte", mask=mask, boost_error=False, micro=False, encoding="utf-8")


def modules(code):
    return [[bool(module) for module in row] for row in code.matrix]


def version_of(matrix):
    return (len(matrix) - 17) // 4


def mask_of(matrix):
    """Return the mask that the format names: of its 15 bits, which lie under a mask of their own, the third to fifth."""
    bits = "".join("1" if matrix[row][column] else "0" for row, column in FORMAT_PLACES)
    return int(bits[2:5], 2) ^ 0b101  # of 101010000010010, ISO/IEC 18004:2015, 7.9.1


def random_texts():
    """Return texts of every length, short ones, and links as a page shares them: the same ones every time.

    Only in a small code are far more modules dark than light, or the other way round, so that it weighs.
    """
    draw = random.Random("texts of a code")
    for longest, count in ((420, RANDOM_TEXTS), (14, RANDOM_TEXTS)):
        for _ in range(count):
            text = "".join(draw.choices(CHARACTERS, k=draw.randint(1, longest)))
            yield text.encode()[: HOLDS[-1]].decode(errors="ignore")
    for _ in range(RANDOM_TEXTS):
        words = [f"{draw.choice('abcdefgh')}={draw.choice(('pass-truck', '-10', 'ccs1', '9%25'))}" for _ in range(9)]
        yield f"https://crew.example/pages/index.html#v=1&{'&'.join(words[: draw.randint(1, 9)])}"


def test_each_version_holds_what_the_standard_says():
    """ISO/IEC 18004:2015, table 7: the last length of a version, and the first one of the next."""
    lasts = matrices("x" * count for count in HOLDS)
    firsts = matrices("x" * (count + 1) for count in HOLDS)

    assert [version_of(matrix) for matrix in lasts] == list(range(1, 26))
    assert [version_of(matrix) for matrix in firsts[:-1]] == list(range(2, 26))
    assert firsts[-1] is None
    assert by_page([["svg", "x" * 998, "too long"]]) == [None]


def test_a_length_counts_bytes_not_characters():
    # 4 and 3 bytes of UTF-8: 14 bytes are full, and one letter more is too many.
    assert [version_of(matrix) for matrix in matrices(["𝄞𝄞€€", "𝄞𝄞€€x"])] == [1, 2]


def test_format_and_version_are_the_standards_examples():
    """ISO/IEC 18004:2015, 7.9.1: level M under mask 101 is 100000011001110. Annex D: version 7 is 000111110010010100."""
    found = matrices(random_texts())
    formats = {
        "".join("1" if matrix[row][column] else "0" for row, column in FORMAT_PLACES)
        for matrix in found
        if mask_of(matrix) == 5
    }
    seventh = next(matrix for matrix in found if version_of(matrix) == 7)
    size = len(seventh)

    assert formats == {"100000011001110"}
    for upright in (False, True):
        bits = [
            seventh[size - 11 + bit % 3][bit // 3] if upright else seventh[bit // 3][size - 11 + bit % 3]
            for bit in reversed(range(18))
        ]
        assert "".join("1" if bit else "0" for bit in bits) == "000111110010010100"


def test_a_full_code_is_segnos(segno):
    """segno, untouched, at the last length of each version of ISO/IEC 18004: every module, and so the mask."""
    draw = random.Random("full codes")
    texts = ["".join(draw.choices(OF_ONE_BYTE, k=count)) for count in HOLDS]
    for text, found in zip(texts, matrices(texts), strict=True):
        assert found == modules(by_segno(segno, text)), len(text)


def test_every_code_is_segnos(padded_segno):
    """segno with pads as ISO/IEC 18004 has them: first every module under the mask that it chose, then the choice."""
    texts = [*random_texts(), *("x" * (count + 1) for count in HOLDS[:-1]), *("é" * (count // 2) for count in HOLDS)]
    masks = set()
    for text, found in zip(texts, matrices(texts), strict=True):
        code = by_segno(padded_segno, text)
        masks.add(code.mask)
        # Every module by itself, so that a wrong choice is told from a wrong module.
        assert found == modules(by_segno(padded_segno, text, mask=mask_of(found))), text
        assert mask_of(found) == code.mask, text

    assert masks == set(range(8))


def test_half_a_pair_is_the_sign_for_what_cannot_be_read():
    # U+FFFD, as WHATWG and Unicode (chapter 3.9) have it.
    lone = by_page([["matrix", "a\ud834b"], ["matrix", "a\udd1eb"]])

    assert lone == matrices(["a�b", "a�b"])


def test_a_drawing_is_the_modules_with_four_light_ones_around():
    texts = ["https://crew.example/index.html#v=1&rig=pass-truck", "x" * 997]
    for text, matrix in zip(texts, matrices(texts), strict=True):
        (drawn,) = by_page([["svg", text, 'A "code" & <more>']])
        root = ET.fromstring(drawn)
        light, dark = root
        size = len(matrix) + 8  # 4 modules each side: ISO/IEC 18004:2015, 6.3.8

        assert root.attrib == {
            "class": "qr",
            "role": "img",
            "aria-label": 'A "code" & <more>',
            "viewBox": f"0 0 {size} {size}",
            "shape-rendering": "crispEdges",
        }
        assert light.attrib == {"width": str(size), "height": str(size), "fill": "#fff"}
        assert (dark.tag, dark.attrib["fill"]) == ("{http://www.w3.org/2000/svg}path", "#000")
        seen = [[False] * len(matrix) for _ in matrix]
        runs = re.findall(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z", dark.attrib["d"])
        assert "".join(f"M{x} {y}h{there}v1h-{back}z" for x, y, there, back in runs) == dark.attrib["d"]
        for x, y, there, back in (map(int, each) for each in runs):
            assert there == back
            for column in range(x - 4, x - 4 + there):
                assert not seen[y - 4][column]
                seen[y - 4][column] = True
        assert seen == matrix
