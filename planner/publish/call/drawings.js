// The ladder and the time ruler, drawn in the browser from what was looked up: the planner's own drawings, number by
// number, so that both give the same text. x in per cent, y and letters in em, strokes in pixels. No style attribute.

(function () {
  "use strict";

  /**
   * One link of the chain as drawn.
   * @typedef {{label: string, basis: string, limit_a: number, protected: boolean, holds_back: boolean}} Rung
   */

  /**
   * The spread of the minutes plugged in; `allow_min` is null where fewer than nine in ten get there.
   * @typedef {{low_min: number, likely_min: number, allow_min: number|null}} Band
   */

  var RIGHT_PERCENT = 86;
  var ROW_EM = 3;
  var SCALE_STEPS_A = [10, 20, 50, 100, 200, 500];
  var SCALE_MARKS = 5;
  var LEAST_LETTERS = 8;
  var LABEL_LETTERS = 28;
  var ROW_LETTERS = 35;
  var BASIS_LETTER = 0.82;
  var HELD_LETTERS = 22;
  var HELD_EM = 6.5;
  var FIGURE_EM = 0.72;
  var NUMBER_STEPS = [1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480];
  var NUMBER_GAP = 8.5;
  var POLE_GAP = 3.5;
  var FLIP_PERCENT = 72;
  var EM_PER_PERCENT = 0.19;
  var HALF_LETTER_EM = 0.26;
  var BAND_LABEL_PERCENT = 32;
  var BAND_ROW_EM = 1.5;
  var MARK_GAP = 2.5;
  var DIGIT_GAP = 1.4;
  var MILES_PERCENT = 87;
  var MIN_PERCENT = 91.5;
  var RULER_STEPS_MIN = [60, 120, 180, 240, 360, 480, 720, 960, 1440, 2880];
  var SLACK = 1e-9;

  // ------------------------------------------------------------------------------------------------ numbers and text

  /**
   * A number to the nearest multiple of a hundredth or of one; what lies exactly between two goes to the even one.
   * @param {number} value
   * @param {number} digits
   * @returns {string}
   */
  function fixed(value, digits) {
    var scale = Math.pow(10, digits), eighths = value * 8;
    // An exact tie needs a last binary digit of an eighth or more: only there the two roundings differ.
    if (eighths === Math.floor(eighths)) {
      var whole = Math.floor(value * scale);
      if (value * scale - whole === 0.5) return ((whole + (whole % 2 ? 1 : 0)) / scale).toFixed(digits);
    }
    return value.toFixed(digits);
  }

  /** @param {number} value @returns {string} */
  function n(value) {
    var text = fixed(value, 2);
    return text.replace(/0+$/, "").replace(/\.$/, "");
  }

  /** @param {number} value @returns {number} */
  function rounded(value) {
    return Number(fixed(value, 0));
  }

  /** @param {number} current_a @returns {string} */
  function amps(current_a) {
    return String(Math.floor(current_a * 10 + SLACK) / 10);
  }

  /**
   * A ratio to three digits. JavaScript rounds what lies exactly between two up, the planner to the even one: such a
   * ratio ends in a five that nothing follows, however many digits are asked for.
   * @param {number} ratio
   * @returns {number}
   */
  function ofThree(ratio) {
    var exact = /^(\d)\.(\d\d)50*e(.+)$/.exec(ratio.toExponential(60));
    if (exact && Number(exact[2]) % 2 === 0) return Number(exact[1] + "." + exact[2] + "e" + exact[3]);
    return Number(ratio.toPrecision(3));
  }

  /** @param {number} minutes @returns {number} */
  function minutesUp(minutes) {
    return Math.ceil(minutes - SLACK);
  }

  /** @param {any} text @returns {string} */
  function e(text) {
    return String(text)
      .replace(/&/g, "&amp;")
      .replace(/</g, "&lt;")
      .replace(/>/g, "&gt;")
      .replace(/"/g, "&quot;")
      .replace(/'/g, "&#x27;");
  }

  /**
   * How many letters the planner counts: signs beyond the first plane are one there and two here.
   * @param {string} text
   * @returns {number}
   */
  function lettersOf(text) {
    return Array.from(text).length;
  }

  /**
   * A label that fits; letters are counted as the planner counts them.
   * @param {string} text
   * @param {number} letters
   * @returns {string}
   */
  function cut(text, letters) {
    var all = Array.from(text);
    return all.length <= letters ? text : all.slice(0, letters - 1).join("").replace(/\s+$/, "") + "\u2026";
  }

  /**
   * @param {string} style
   * @param {string} x1
   * @param {string} x2
   * @param {number} y1
   * @param {number} y2
   * @returns {string}
   */
  function line(style, x1, x2, y1, y2) {
    return '<line class="' + style + '" x1="' + x1 + '" x2="' + x2 + '" y1="' + n(y1) + 'em" y2="' + n(y2) + 'em"/>';
  }

  /**
   * @param {string} x
   * @param {number} y
   * @param {string} words
   * @param {string} size
   * @param {string} [anchor]
   * @param {string} [dx]
   * @returns {string}
   */
  function text(x, y, words, size, anchor, dx) {
    var inner = size ? '<tspan class="' + size + '">' + e(words) + "</tspan>" : e(words);
    return (
      '<text x="' + x + '" y="' + n(y) + 'em"' + (dx ? ' dx="' + dx + '"' : "") +
      (anchor ? ' class="' + anchor + '"' : "") + ">" + inner + "</text>"
    );
  }

  /** @param {string} kind @param {string} name @returns {string} */
  function slug(kind, name) {
    var letters = Array.from(name.toLowerCase()).map(function (letter) {
      return /[\p{L}\p{N}]/u.test(letter) ? letter : "-";
    });
    return kind + "-" + letters.join("");
  }

  /**
   * @param {string} name
   * @param {string} kind
   * @param {string} title
   * @param {string} description
   * @param {number} height_em
   * @param {string} body
   * @returns {string}
   */
  function svg(name, kind, title, description, height_em, body) {
    var id = slug(kind, name);
    return (
      '<svg class="d" role="img" aria-labelledby="' + id + "-t " + id + '-d" width="100%" height="' + n(height_em) + 'em">' +
      '<title id="' + id + '-t">' + e(title) + '</title><desc id="' + id + '-d">' + e(description) + "</desc>" + body + "</svg>"
    );
  }

  // ------------------------------------------------------------------------------------------------------ the ladder

  /**
   * How a limit follows from a rating, in the few words that fit on a rung.
   * @param {number} rating_a
   * @param {number} limit_a
   * @returns {string}
   */
  function basis(rating_a, limit_a) {
    if (!limit_a) return "no device suits it";
    if (Math.abs(limit_a - rating_a) <= SLACK * Math.max(Math.abs(limit_a), Math.abs(rating_a))) return "rated";
    return ofThree(limit_a / rating_a) + " of " + amps(rating_a) + " A";
  }

  /**
   * The ladder: one rung a link, its allowed amps as length, the draw as the right rail. Where something is not
   * protected there is no rail at all: nothing may be drawn.
   * @param {{groups: Array<[string, Rung[]]>, rail_a: number|null, rail_label: string, name: string}} asked
   * @returns {string}
   */
  function ladder(asked) {
    /** @type {Rung[]} */
    var rungs = [];
    asked.groups.forEach(function (group) {
      rungs = rungs.concat(group[1]);
    });
    var dead = !rungs.every(function (rung) {
      return rung.protected;
    });
    var rail_a = dead ? null : asked.rail_a;
    var largest_a = Math.max.apply(null, rungs.map(function (rung) {
      return rung.limit_a;
    }));
    var steps = SCALE_STEPS_A.filter(function (step) {
      return largest_a / step <= SCALE_MARKS;
    });
    var step_a = steps.length ? steps[0] : SCALE_STEPS_A[SCALE_STEPS_A.length - 1];
    var top_a = step_a * Math.max(Math.ceil(largest_a / step_a), 2);
    /** @param {number} current_a @returns {string} */
    function x(current_a) {
      return n((current_a / top_a) * RIGHT_PERCENT) + "%";
    }
    var y = 3.3;
    /** @type {string[]} */
    var lines = [];
    /** @type {string[]} */
    var labels = [];
    asked.groups.forEach(function (group) {
      y += 0.3;
      lines.push(line("lh", "0", "100%", y + 0.2, y + 0.2));
      labels.push(text("0.6em", y + 1.3, group[0].toUpperCase(), "n b", "ko"));
      y += 1.65;
      group[1].forEach(function (one) {
        var drawn = rung(one, y, rail_a, x);
        lines = lines.concat(drawn[0]);
        labels = labels.concat(drawn[1]);
        y += ROW_EM;
      });
    });
    var bottom = y + 0.1;
    var scale = [];
    for (var mark = 0; mark <= top_a; mark += step_a) {
      if (rail_a === null || Math.abs(mark - rail_a) / top_a > 0.07 || !mark) {
        scale.push(
          line("lh", x(mark), x(mark), 2.9, bottom) +
            text(x(mark), 2.6, mark === top_a ? mark + " A" : String(mark), "n", mark ? "m" : "")
        );
      }
    }
    var rails = [line("l3", "0", "0", 2.9, bottom + 0.4)];
    if (rail_a !== null) {
      var at = x(rail_a);
      rails.push(line("lc", at, at, 2.9, bottom) + line("l3", at, at, 1.35, bottom + 0.4));
      rails.push(railText((rail_a / top_a) * RIGHT_PERCENT, asked.rail_label));
    }
    return svg(
      asked.name, "ladder", "Ladder: " + asked.name, ladderWords(rungs, rail_a, asked.rail_label), bottom + 0.6,
      scale.concat(lines, rails, labels).join("")
    );
  }

  /**
   * The words over the right rail: about its middle, or moved inward so far that a narrow phone holds them.
   * @param {number} at
   * @param {string} words
   * @returns {string}
   */
  function railText(at, words) {
    var half_em = HALF_LETTER_EM * lettersOf(words);
    var left_em = EM_PER_PERCENT * at, right_em = EM_PER_PERCENT * (100 - at);
    if (half_em > left_em) return text(n(at) + "%", 1, words, "b", "ko", n(-left_em) + "em");
    if (half_em > right_em) return text(n(at) + "%", 1, words, "b", "e ko", n(right_em) + "em");
    return text(n(at) + "%", 1, words, "b", "m ko");
  }

  /**
   * The lines and the labels of a rung.
   * @param {Rung} one
   * @param {number} y
   * @param {number|null} rail_a
   * @param {function(number): string} x
   * @returns {[string[], string[]]}
   */
  function rung(one, y, rail_a, x) {
    var text_y = y + 1.15, line_y = y + 1.95, end = x(one.limit_a);
    var room = ROW_LETTERS - Math.ceil(BASIS_LETTER * lettersOf(one.basis));
    var letters = Math.max(Math.min(LABEL_LETTERS, room), LEAST_LETTERS);
    var labels = [
      text("0.5em", text_y, cut(one.label, letters), one.holds_back ? "b x" : "b", "ko"),
      text("100%", text_y, one.basis, "n", "e ko"),
    ];
    if (!one.protected) return unprotected(line_y, labels);
    var figure = text("100%", line_y + 0.4, amps(one.limit_a), one.holds_back ? "f x" : "f", "e");
    if (one.holds_back) {
      var cap = line("rs", end, end, line_y - 0.72, line_y + 0.72);
      return [[line("ra", "0", end, line_y, line_y), cap], held(one, labels, end, line_y).concat(figure)];
    }
    var lines = [];
    if (rail_a !== null) lines.push(line("r1", "0", x(Math.min(rail_a, one.limit_a)), line_y, line_y));
    var start = rail_a === null ? "0" : x(Math.min(rail_a, one.limit_a));
    lines.push(line("r2", start, end, line_y, line_y) + line("r2", end, end, line_y - 0.4, line_y + 0.4));
    return [lines, labels.concat(figure)];
  }

  /**
   * The labels of the rung that holds back, with these words beyond its stop where the figure leaves room; else over the
   * rung in place of the basis: at the stop where the label leaves room, at the right if not.
   * @param {Rung} one
   * @param {string[]} labels
   * @param {string} end
   * @param {number} line_y
   * @returns {string[]}
   */
  function held(one, labels, end, line_y) {
    var at = Number(end.slice(0, -1)), before_em = EM_PER_PERCENT * at, beyond_em = EM_PER_PERCENT * (100 - at);
    if (beyond_em >= 0.75 + HELD_EM + FIGURE_EM * amps(one.limit_a).length) {
      return labels.concat(text(end, line_y + 0.38, "HOLDS BACK", "b x", "ko", "0.75em"));
    }
    var label = cut(one.label, HELD_LETTERS), words_y = line_y - 0.8;
    var shown = text("0.5em", words_y, label, "b x", "ko");
    if (before_em - 0.5 - HELD_EM > 1 + 2 * HALF_LETTER_EM * lettersOf(label)) {
      return [shown, text(end, words_y, "HOLDS BACK", "b x", "e ko", "-0.5em")];
    }
    return [shown, text("100%", words_y, "HOLDS BACK", "b x", "e ko")];
  }

  /**
   * A rung that nothing protects: dashed, torn open.
   * @param {number} line_y
   * @param {string[]} labels
   * @returns {[string[], string[]]}
   */
  function unprotected(line_y, labels) {
    var at = 0.3 * RIGHT_PERCENT;
    var lines = [
      line("r2 ds", "0", n(at) + "%", line_y, line_y),
      '<svg x="' + n(at * 0.4) + '%" y="' + n(line_y - 0.7) + 'em" width="1.5em" height="1.4em" viewBox="0 0 20 20" ' +
        'preserveAspectRatio="none"><path class="pf" d="M5-1h13l-5 22H0z"/>' +
        '<path class="l2" d="M6 0l-5 8 7 3-5 9M17 0l-5 8 7 3-5 9"/></svg>',
      '<svg x="' + n(at + 1) + '%" y="' + n(line_y - 0.62) + 'em" width="1.25em" height="1.25em"><use href="#no"/></svg>',
    ];
    return [
      lines,
      labels.concat(
        '<text class="b" x="' + n(at + 1) + '%" dx="1.7em" y="' + n(line_y + 0.38) + 'em">NOT PROTECTED</text>',
        text("100%", line_y + 0.4, "none", "f", "e")
      ),
    ];
  }

  /**
   * @param {Rung[]} rungs
   * @param {number|null} rail_a
   * @param {string} rail_label
   * @returns {string}
   */
  function ladderWords(rungs, rail_a, rail_label) {
    var parts = rungs.map(function (one) {
      return one.label + ": " + (one.protected ? amps(one.limit_a) + " A" : "not protected") + (one.holds_back ? ", holds back" : "");
    });
    var rail = rail_a === null ? "Nothing may be drawn. " : "The line through all rungs: " + rail_label + ". ";
    return rail + "From source to vehicle, allowed for hours. " + parts.join("; ") + ".";
  }

  // ------------------------------------------------------------------------------------------------------- the ruler

  /**
   * The time ruler: minutes plugged in below, percent inside the top edge, miles above, the band as a hatch.
   * @param {{
   *   percents: Array<[number, number]>, miles: Array<[number, number]>, goals: Array<{minute: number, label: string}>,
   *   band: Band|null, name: string
   * }} asked
   * @returns {string}
   */
  function ruler(asked) {
    var goals = asked.goals, band = asked.band;
    var ends = goals.map(function (goal) {
      return goal.minute;
    });
    if (band) ends.push(band.allow_min === null ? band.likely_min : band.allow_min);
    var longest = ends.length ? Math.max.apply(null, ends) : 60;
    var holding = RULER_STEPS_MIN.filter(function (step) {
      return step >= longest;
    });
    var end_min = holding.length ? holding[0] : RULER_STEPS_MIN[RULER_STEPS_MIN.length - 1];
    var ticked = rulerTicks(end_min), small = ticked[0], large = ticked[1];
    /** @param {number} minute @returns {number} */
    function x(minute) {
      return 1.5 + (minute / end_min) * 83;
    }
    /** @type {number[]} */
    var rows = [];
    var levels = goals.map(function (goal) {
      var level = 0;
      while (level < rows.length && !(x(goal.minute) - rows[level] > 30)) level += 1;
      rows[level] = x(goal.minute);
      return level;
    });
    var height = rows.length, body_y = 1.7 * height + 2.6, foot_y = body_y + 4.6;
    /** @type {string[]} */
    var parts = band ? [hatch(band, end_min, x, body_y, asked.name)] : [];
    /** @type {Array<[number, number, number]>} */
    var foot = [];
    for (var minute = 0; minute <= end_min; minute += small) foot.push([minute, minute % large ? 5.1 : 4.6, 5.6]);
    parts.push(ticks(body_y, foot, x));
    /** @param {[number, number]} pair @returns {boolean} */
    function shown(pair) {
      return pair[1] <= end_min;
    }
    parts.push(
      ticks(body_y, asked.percents.filter(shown).map(function (pair) {
        return [pair[1], 1, pair[0] % 5 ? 1.5 : 2];
      }), x)
    );
    parts.push(
      ticks(body_y, asked.miles.filter(shown).map(function (pair) {
        return [pair[1], 0.5, 1];
      }), x)
    );
    [body_y, foot_y].forEach(function (edge) {
      parts.push(line("l2", "0", RIGHT_PERCENT + "%", edge, edge));
    });
    ["0", RIGHT_PERCENT + "%"].forEach(function (side) {
      parts.push(line("l2", side, side, body_y, foot_y));
    });
    goals.forEach(function (goal, place) {
      if (goal.minute > end_min) return;
      var at = n(x(goal.minute)) + "%", top = 0.2 + 1.7 * (height - 1 - levels[place]);
      parts.push(line("la", at, at, top, foot_y));
      parts.push(
        '<svg x="' + at + '" y="' + n(top) + 'em" width="1em" height="1.1em" viewBox="0 0 16 18"><path class="if" d="M0 0L15 7 0 14z"/></svg>'
      );
      if (x(goal.minute) > FLIP_PERCENT) parts.push(text(at, top + 0.95, goal.label, "b", "e ko", "-0.4em"));
      else parts.push(text(at, top + 0.95, goal.label, "b", "ko", "1.3em"));
    });
    var taken = goals.map(function (goal) {
      return x(goal.minute);
    });
    /** @type {Array<[number, number]>} */
    var minutes = [];
    for (var mark = 0; mark <= end_min; mark += large) minutes.push([mark, mark]);
    var percents = asked.percents.filter(shown), miles = asked.miles.filter(shown), height_em = foot_y + 2;
    if (band) {
      var crossed = [x(band.likely_min)].concat(band.allow_min === null ? [] : [x(band.allow_min)]);
      var marks = bandMarks(band, end_min, x, body_y, foot_y);
      height_em = marks.height_em;
      parts = parts.concat(
        numbers(minutes, x, foot_y + 1.35, [], "b", crossed.concat(MIN_PERCENT)),
        numbers(percents, x, body_y + 3.05, [], "n", taken.concat(crossed, RIGHT_PERCENT)),
        numbers(miles, x, body_y - 0.65, [], "b", taken.concat(MILES_PERCENT)),
        marks.parts
      );
    } else {
      parts = parts.concat(
        numbers(minutes, x, foot_y + 1.35, [], "b", []),
        numbers(percents, x, body_y + 3.05, taken, "n", []),
        numbers(miles, x, body_y - 0.65, taken, "b", [])
      );
    }
    parts.push(text("100%", body_y - 0.65, "miles", "n b", "e"));
    parts.push(text("100%", body_y + 3.05, "%", "n b", "e"));
    parts.push(text("100%", foot_y + 1.35, "min", "n b", "e"));
    var words = goals.map(function (goal) {
      return goal.label + " after " + Math.ceil(goal.minute) + " minutes";
    });
    return svg(
      asked.name, "ruler", "Time ruler: " + asked.name,
      "Minutes plugged in, typical. " + words.join("; ") + "." + (band ? bandWords(band) : ""),
      height_em, parts.join("")
    );
  }

  /** @param {number} end_min @returns {[number, number]} */
  function rulerTicks(end_min) {
    if (end_min <= 120) return [5, 15];
    if (end_min <= 240) return [10, 30];
    if (end_min <= 480) return [15, 60];
    return end_min <= 1440 ? [60, 240] : [120, 480];
  }

  /**
   * The hatch from one in ten to nine in ten; to the edge of the ruler where fewer get there on its scale.
   * @param {Band} band
   * @param {number} end_min
   * @param {function(number): number} x
   * @param {number} body_y
   * @param {string} name
   * @returns {string}
   */
  function hatch(band, end_min, x, body_y, name) {
    var id = slug("hatch", name);
    var to = band.allow_min === null || band.allow_min > end_min ? RIGHT_PERCENT : x(band.allow_min);
    var from = Math.min(x(band.low_min), to);
    return (
      '<defs><pattern id="' + id + '" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">' +
      '<path class="ha" d="M0 0V6"/></pattern></defs><rect fill="url(#' + id + ')" x="' + n(from) + '%" y="' + n(body_y) +
      'em" width="' + n(to - from) + '%" height="4.6em"/>'
    );
  }

  /**
   * The line of the likely minutes and that of those to allow, word and number below, and how low all ends. Likely
   * stands left of its line and allow right of its own, where a narrow phone has room for that. A word that has to stand
   * between the lines or under one takes a row by itself, and no line of the other reaches into it.
   * @param {Band} band
   * @param {number} end_min
   * @param {function(number): number} x
   * @param {number} body_y
   * @param {number} foot_y
   * @returns {{parts: string[], height_em: number}}
   */
  function bandMarks(band, end_min, x, body_y, foot_y) {
    var likely_x = x(band.likely_min), likely_left = likely_x >= BAND_LABEL_PERCENT, likely_row = 0, allow_row = 0;
    /** @type {string[]} */
    var allow = [];
    if (band.allow_min !== null && band.allow_min <= end_min) {
      var allow_x = x(band.allow_min), allow_left = allow_x > 100 - BAND_LABEL_PERCENT;
      if (!allow_left) likely_row = likely_left ? 0 : 1;
      else if (likely_left || allow_x - likely_x < 2 * BAND_LABEL_PERCENT) allow_row = 1;
      allow.push(bandMark(allow_x, body_y, foot_y + 3.2 + BAND_ROW_EM * allow_row, "l2", ["allow", band.allow_min, ""], allow_left));
    }
    /** @type {string[]} */
    var parts = [];
    if (band.likely_min <= end_min) {
      parts.push(bandMark(likely_x, body_y, foot_y + 3.2 + BAND_ROW_EM * likely_row, "la", ["likely", band.likely_min, " x"], likely_left));
    }
    return { parts: parts.concat(allow), height_em: foot_y + 3.7 + BAND_ROW_EM * Math.max(likely_row, allow_row) };
  }

  /**
   * A line through the ruler, and its word and number beside its lower end; `low` is what they stand on.
   * @param {number} at
   * @param {number} top
   * @param {number} low
   * @param {string} style
   * @param {[string, number, string]} words
   * @param {boolean} left
   * @returns {string}
   */
  function bandMark(at, top, low, style, words, left) {
    return (
      line(style, n(at) + "%", n(at) + "%", top, low - 0.6) +
      '<text x="' + n(at) + '%" y="' + n(low) + 'em" dx="' + (left ? "-0.4em" : "0.4em") + '" class="' + (left ? "e ko" : "ko") +
      '"><tspan class="n b' + words[2] + '">' + words[0] + '</tspan> <tspan class="f' + words[2] + '">' + minutesUp(words[1]) +
      "</tspan></text>"
    );
  }

  /** @param {Band} band @returns {string} */
  function bandWords(band) {
    var allow = band.allow_min === null ? "fewer than nine in ten get there" : "allow " + minutesUp(band.allow_min);
    return " Likely " + minutesUp(band.likely_min) + " minutes, " + allow + ", " + Math.floor(band.low_min + SLACK) + " at best.";
  }

  /**
   * @param {number} body_y
   * @param {Array<number[]>} several
   * @param {function(number): number} x
   * @returns {string}
   */
  function ticks(body_y, several, x) {
    var path = several
      .map(function (tick) {
        return "M" + rounded(10 * x(tick[0])) + " " + rounded(100 * tick[1]) + "v" + rounded(100 * (tick[2] - tick[1]));
      })
      .join("");
    return (
      '<svg y="' + n(body_y - 1) + 'em" width="100%" height="6em" viewBox="0 0 1000 600" preserveAspectRatio="none">' +
      '<path class="l1" d="' + path + '"/></svg>'
    );
  }

  /**
   * Numbers along the ruler at round values; one that a pole or a mark would touch is left out. From `taken` all keep one
   * distance, from `marks` one that grows with their digits.
   * @param {Array<[number, number]>} values
   * @param {function(number): number} x
   * @param {number} y
   * @param {number[]} taken
   * @param {string} style
   * @param {number[]} marks
   * @returns {string[]}
   */
  function numbers(values, x, y, taken, style, marks) {
    var steps = NUMBER_STEPS.filter(function (step) {
      var last = NaN, least = Infinity;
      values.forEach(function (pair) {
        if (pair[0] % step) return;
        var at = x(pair[1]);
        if (at - last < least) least = at - last;
        last = at;
      });
      return least >= NUMBER_GAP;
    });
    var step = steps.length ? steps[0] : NUMBER_STEPS[NUMBER_STEPS.length - 1];
    return values
      .filter(function (pair) {
        var clear = taken.every(function (pole) {
          return Math.abs(x(pair[1]) - pole) > POLE_GAP;
        });
        var apart = marks.every(function (mark) {
          return Math.abs(x(pair[1]) - mark) > MARK_GAP + DIGIT_GAP * String(pair[0]).length;
        });
        return !(pair[0] % step) && clear && apart;
      })
      .map(function (pair) {
        return text(n(x(pair[1])) + "%", y, String(pair[0]), style, "m ko");
      });
  }

  rangeferry.drawings = { ladder: ladder, ruler: ruler, basis: basis, escape: e };
})();
