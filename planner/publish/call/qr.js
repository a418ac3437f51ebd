// Draws a text as a QR code by the rules of ISO/IEC 18004:2015, whose clauses are named: byte mode, level M of error
// correction, versions 1 to 25, which hold 997 bytes. Classic script: it also runs in a page opened from a folder.

/** @type {any} */
var rangeferry = rangeferry || {};

(function () {
  "use strict";

  /**
   * A code while it is made, by row and column: what is dark, and what carries no data.
   * @typedef {{version: number, size: number, dark: boolean[][], fixed: boolean[][]}} Code
   */

  // Level M by version: error correction codewords of a block, and blocks (table 9).
  var CHECKS = [10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24, 28, 28, 26, 26, 26, 26, 28, 28, 28, 28];
  var BLOCKS = [1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10, 10, 11, 13, 14, 16, 17, 17, 18, 20, 21];
  var BYTE_MODE = 4; // table 2
  var PAD = [0xec, 0x11]; // 7.4.10
  var FIELD = 0x11d; // x^8 + x^4 + x^3 + x^2 + 1 makes GF(256) (7.5.2)
  var FORMAT_CODE = 0x537, FORMAT_MASK = 0x5412; // annex C
  var VERSION_CODE = 0x1f25, FIRST_WITH_VERSION = 7; // annex D
  var MASKS = 8;
  var FINDER = "1011101"; // 1:1:3:1:1, across the middle of a finder pattern
  var QUIET = 4; // light modules around (6.3.8)

  /** @type {number[]} */
  var powers = [];
  /** @type {number[]} */
  var logs = [];
  for (var element = 1; powers.length < 255; element = element < 128 ? 2 * element : (2 * element) ^ FIELD) {
    logs[element] = powers.length;
    powers.push(element);
  }

  /** @param {number} a @param {number} b @returns {number} */
  function times(a, b) {
    return a && b ? powers[(logs[a] + logs[b]) % 255] : 0;
  }

  /**
   * The coefficients below the first, which is 1, of (x - 1)(x - 2)(x - 4)... (annex A).
   * @param {number} count @returns {number[]}
   */
  function generator(count) {
    var found = [1];
    for (var root = 0; root < count; root += 1) {
      found = found.concat(0).map(function (value, place) {
        return place ? value ^ times(found[place - 1], powers[root]) : value;
      });
    }
    return found.slice(1);
  }

  /**
   * The error correction codewords of a block: what its division by the generator leaves (7.5.2).
   * @param {number[]} block @param {number[]} divisor @returns {number[]}
   */
  function checks(block, divisor) {
    return block.reduce(function (left, codeword) {
      return divisor.map(function (value, place) {
        return times(value, codeword ^ left[0]) ^ (left[place + 1] || 0);
      });
    }, new Array(divisor.length).fill(0));
  }

  /**
   * A number with the check bits of its BCH code behind it.
   * @param {number} value @param {number} code @param {number} bits @returns {number}
   */
  function withChecks(value, code, bits) {
    var left = value << bits;
    for (var place = 5; place >= 0; place -= 1) { // a format has five bits, a version six
      if ((left >> (bits + place)) & 1) left ^= code << place;
    }
    return (value << bits) | left;
  }

  /**
   * A text as bytes of UTF-8. Half a pair alone has none, and is written as the sign for what cannot be read.
   * @param {string} text @returns {number[]}
   */
  function utf8(text) {
    var whole = text.replace(/[\uD800-\uDBFF][\uDC00-\uDFFF]|[\uD800-\uDFFF]/g, function (found) {
      return found.length === 2 ? found : "\uFFFD";
    });
    return (encodeURIComponent(whole).match(/%..|[^%]/g) || []).map(function (piece) {
      return piece.length === 1 ? piece.charCodeAt(0) : parseInt(piece.slice(1), 16);
    });
  }

  /**
   * The data codewords: mode, count, bytes, terminator, and pads by turns (7.4); null where there is no room.
   * @param {number[]} bytes @param {number} version @param {number} room @returns {number[]|null}
   */
  function dataCodewords(bytes, version, room) {
    var count = version < 10 ? [bytes.length] : [bytes.length >> 8, bytes.length & 255]; // table 3
    if (count[0] > 255 || count.length + bytes.length + 1 > room) return null;
    // The mode has four bits, so every byte lies in two codewords; the terminator is the half that is left.
    var found = count.concat(bytes, 0).map(function (byte, place, all) {
      return ((place ? all[place - 1] & 15 : BYTE_MODE) << 4) | (byte >> 4);
    });
    for (var pad = 0; found.length < room; pad += 1) found.push(PAD[pad % 2]);
    return found;
  }

  /**
   * All codewords as they are placed: one of each block by turns, then their checks by turns (7.6).
   * @param {number[]} data @param {number} version @returns {number[]}
   */
  function interleaved(data, version) {
    var count = BLOCKS[version - 1], divisor = generator(CHECKS[version - 1]);
    /** @type {number[][]} */
    var blocks = [];
    for (var block = 0, from = 0; block < count; block += 1) {
      var to = from + Math.floor((data.length + block) / count); // the last ones take what does not divide evenly
      blocks.push(data.slice(from, to));
      from = to;
    }
    var behind = blocks.map(function (each) {
      return checks(each, divisor);
    });
    return byTurns(blocks).concat(byTurns(behind));
  }

  /** @param {number[][]} blocks @returns {number[]} */
  function byTurns(blocks) {
    /** @type {number[]} */
    var found = [];
    for (var place = 0; place < blocks[blocks.length - 1].length; place += 1) {
      blocks.forEach(function (block) {
        if (place < block.length) found.push(block[place]);
      });
    }
    return found;
  }

  /** @param {Code} code @param {number} row @param {number} column @param {boolean} dark */
  function set(code, row, column, dark) {
    code.dark[row][column] = dark;
    code.fixed[row][column] = true;
  }

  /**
   * Square rings around a middle, dark but for the light ones, as far as they lie within.
   * @param {Code} code @param {number} row @param {number} column @param {number} reach @param {number[]} light
   */
  function setRings(code, row, column, reach, light) {
    for (var i = Math.max(row - reach, 0); i <= row + reach && i < code.size; i += 1) {
      for (var j = Math.max(column - reach, 0); j <= column + reach && j < code.size; j += 1) {
        set(code, i, j, light.indexOf(Math.max(Math.abs(i - row), Math.abs(j - column))) < 0);
      }
    }
  }

  /**
   * The middles of alignment patterns, down and across: at 6, then in equal, even steps back from the last (annex E).
   * @param {Code} code @returns {number[]}
   */
  function centres(code) {
    if (code.version === 1) return [];
    var steps = Math.floor(code.version / 7) + 1, step = 2 * Math.ceil((code.size - 13) / (2 * steps));
    var found = [6];
    while (steps--) found.push(code.size - 7 - steps * step);
    return found;
  }

  /**
   * Both copies of the format, from its least bit, and the module beside that is dark in the end (7.9).
   * @param {Code} code @param {number} bits @param {boolean} beside
   */
  function setFormat(code, bits, beside) {
    for (var bit = 0; bit < 15; bit += 1) {
      var dark = ((bits >> bit) & 1) === 1;
      if (bit < 8) set(code, bit < 6 ? bit : bit + 1, 8, dark);
      else set(code, code.size - 15 + bit, 8, dark);
      if (bit < 8) set(code, 8, code.size - 1 - bit, dark);
      else set(code, 8, bit === 8 ? 7 : 14 - bit, dark);
    }
    set(code, code.size - 8, 8, beside);
  }

  /** Both copies of the version, from its least bit (7.10). @param {Code} code @param {number} bits */
  function setVersion(code, bits) {
    for (var bit = 0; bit < 18; bit += 1) {
      var dark = ((bits >> bit) & 1) === 1, near = Math.floor(bit / 3), far = code.size - 11 + (bit % 3);
      set(code, near, far, dark);
      set(code, far, near, dark);
    }
  }

  /**
   * A code without data (6.3). Format and version are light as yet: they are written once the mask is known (7.1).
   * @param {number} version @returns {Code}
   */
  function blank(version) {
    var size = 17 + 4 * version, line = new Array(size).fill(false);
    var lines = function () {
      return line.map(function () {
        return line.slice();
      });
    };
    var code = { version: version, size: size, dark: lines(), fixed: lines() };
    for (var place = 0; place < size; place += 1) {
      set(code, 6, place, place % 2 === 0);
      set(code, place, 6, place % 2 === 0);
    }
    centres(code).forEach(function (row, _place, all) {
      all.forEach(function (column) {
        if (row + column > 12 && Math.abs(row - column) < size - 13) setRings(code, row, column, 2, [1]);
      });
    });
    setFormat(code, 0, false);
    if (version >= FIRST_WITH_VERSION) setVersion(code, 0);
    setRings(code, 3, 3, 4, [2, 4]);
    setRings(code, 3, size - 4, 4, [2, 4]);
    setRings(code, size - 4, 3, 4, [2, 4]);
    return code;
  }

  /**
   * The modules that carry data, in their order: two columns at a time from the right, up and down by turns (7.7.3).
   * @param {Code} code @returns {number[][]}
   */
  function free(code) {
    /** @type {number[][]} */
    var found = [];
    for (var pair = 0; 2 * pair < code.size - 1; pair += 1) {
      var right = code.size - 1 - 2 * pair;
      if (right <= 6) right -= 1; // the upright timing pattern is in no pair
      for (var step = 0; step < code.size; step += 1) {
        var row = pair % 2 ? step : code.size - 1 - step;
        if (!code.fixed[row][right]) found.push([row, right]);
        if (!code.fixed[row][right - 1]) found.push([row, right - 1]);
      }
    }
    return found;
  }

  /**
   * Whether a mask turns over the module in row i and column j (table 10).
   * @param {number} mask @param {number} i @param {number} j @returns {boolean}
   */
  function turns(mask, i, j) {
    var twos = (i * j) % 2, threes = (i * j) % 3;
    if (mask === 0) return (i + j) % 2 === 0;
    if (mask === 1) return i % 2 === 0;
    if (mask === 2) return j % 3 === 0;
    if (mask === 3) return (i + j) % 3 === 0;
    if (mask === 4) return (Math.floor(i / 2) + Math.floor(j / 3)) % 2 === 0;
    if (mask === 5) return twos + threes === 0;
    return ((mask === 6 ? twos : (i + j) % 2) + threes) % 2 === 0;
  }

  /**
   * The penalty of one line (table 11): runs of five or more, and what looks like a finder pattern beside four light
   * modules; all is light around the code. Two that share modules count once: the standard leaves that open.
   * @param {string} line @returns {number}
   */
  function linePenalty(line) {
    var found = (line.match(/0{5,}|1{5,}/g) || []).reduce(function (sum, run) {
      return sum + run.length - 2;
    }, 0);
    var wide = "0000" + line + "0000";
    for (var at = wide.indexOf(FINDER); at >= 0; ) {
      var counts = wide.slice(at - 4, at) === "0000" || wide.slice(at + 7, at + 11) === "0000";
      if (counts) found += 40;
      at = wide.indexOf(FINDER, at + (counts ? FINDER.length : 1));
    }
    return found;
  }

  /** How hard a code is to read (table 11). @param {boolean[][]} dark @returns {number} */
  function penalty(dark) {
    var found = 0, count = 0, all = dark.length * dark.length;
    dark.forEach(function (line, i) {
      var across = "", down = "";
      line.forEach(function (here, j) {
        across += here ? "1" : "0";
        down += dark[j][i] ? "1" : "0";
        count += here ? 1 : 0;
        if (i && j && here === line[j - 1] && here === dark[i - 1][j] && here === dark[i - 1][j - 1]) found += 3;
      });
      found += linePenalty(across) + linePenalty(down);
    });
    return found + 10 * Math.floor(Math.abs(20 * count - 10 * all) / all);
  }

  /**
   * Places codewords under a mask; modules that are left over are as if their bit were 0.
   * @param {Code} code @param {number[][]} places @param {number[]} codewords @param {number} mask
   */
  function fill(code, places, codewords, mask) {
    places.forEach(function (place, bit) {
      var dark = ((codewords[bit >> 3] >> (7 - (bit % 8))) & 1) === 1;
      code.dark[place[0]][place[1]] = dark !== turns(mask, place[0], place[1]);
    });
  }

  /**
   * The modules of a text by row, dark ones true, in the smallest version that holds it; null where none does.
   * @param {string} text @returns {boolean[][]|null}
   */
  function matrix(text) {
    var bytes = utf8(text), version = 0, best = 0, least = Infinity;
    /** @type {number[]|null} */
    var data = null;
    do {
      version += 1;
      if (version > BLOCKS.length) return null;
      var code = blank(version), places = free(code);
      data = dataCodewords(bytes, version, (places.length >> 3) - CHECKS[version - 1] * BLOCKS[version - 1]);
    } while (!data);
    var codewords = interleaved(data, version);
    for (var mask = 0; mask < MASKS; mask += 1) {
      fill(code, places, codewords, mask);
      var found = penalty(code.dark);
      if (found < least) best = mask;
      least = Math.min(least, found);
    }
    fill(code, places, codewords, best);
    setFormat(code, withChecks(best, FORMAT_CODE, 10) ^ FORMAT_MASK, true); // level M is 00, then the mask
    if (version >= FIRST_WITH_VERSION) setVersion(code, withChecks(version, VERSION_CODE, 12));
    return code.dark;
  }

  /**
   * A text as a drawing, always dark on white: many readers take nothing else. Null where it does not fit.
   * @param {string} text @param {string} label what a screen reader says @returns {string|null}
   */
  function svg(text, label) {
    var modules = matrix(text);
    if (!modules) return null;
    var size = modules.length + 2 * QUIET, path = "";
    modules.forEach(function (line, row) {
      for (var from = line.indexOf(true), to = from; from >= 0; from = line.indexOf(true, to)) {
        for (to = from; line[to]; ) to += 1;
        path += "M" + (from + QUIET) + " " + (row + QUIET) + "h" + (to - from) + "v1h" + (from - to) + "z";
      }
    });
    var said = label.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/"/g, "&quot;");
    return (
      '<svg xmlns="http://www.w3.org/2000/svg" class="qr" role="img" aria-label="' + said + '" viewBox="0 0 ' + size +
      " " + size + '" shape-rendering="crispEdges"><rect width="' + size + '" height="' + size + '" fill="#fff"/>' +
      '<path fill="#000" d="' + path + '"/></svg>'
    );
  }

  rangeferry.qr = { matrix: matrix, svg: svg };
})();
