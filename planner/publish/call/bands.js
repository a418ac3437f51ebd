// The band of the minutes from published factors: what one, and nine, of ten cases take. No physics: the factors say by
// how much a charge is shorter or longer than the typical one, and the spreads of the dash and of the crew's pace are
// put in case by case. The planner tries 1,024 cases in their place; a test holds both together.

(function () {
  "use strict";

  /**
   * A spread: half the cases lie evenly below the typical value, half evenly above.
   * @typedef {{low: number, typical: number, high: number}} Spread
   */

  /**
   * By what the minutes of a need differ from the typical ones, null where fewer get there: one in ten, nine of ten, and
   * where no smooth curve tells the rest, `more_parts` of all cases; and the share that gets there.
   * @typedef {{low: number|null, high: number|null, more: Array<number|null>, reached: number}} Factor
   */

  /**
   * Percents of charge that factors are for, parts of all cases, factors need by need.
   * @typedef {{
   *   seconds: function(number, number): number, table: number[], needs: number[], more_parts: number[],
   *   factors: Factor[], start: Spread, target: number, handshake: Spread, paced: Spread
   * }} Asked
   */

  /**
   * Minutes over the typical ones at a standard normal deviate.
   * @typedef {{deviate: number, times: number}} Point
   */

  /**
   * Minutes; null where that many cases never get there.
   * @typedef {{p10: number|null, p90: number|null}} Band
   */

  /**
   * Rising minutes of the cases that get there, the share of them, and the share that has something to charge at all.
   * @typedef {{minutes: Float64Array, reached: number, part: number}} Charge
   */

  // own-judgement: the part of what makes a charge longer that its taper shares: a larger battery does, less power not.
  var SHARED = 0.3;
  var BEFORE_TAPER = 90; // percent: no charge slows down below
  var ROUNDED = 2; // seconds: a percent lies between two whole ones, and is no taper for it
  var GOLDEN = 0.6180339887498949; // steps of it fill 0 to 1 evenly, however many there are
  var TENTH = -1.2815515655446004; // the standard normal deviate below which one in ten lies
  var NONE = Infinity;
  var DASH_CASES = 16;
  var RATE_CASES = 24;
  var AROUND_CASES = 4; // of the hand-shake and of the crew's pace, each with each
  var HALVINGS = 12;
  var SLACK = 1e-9;

  /**
   * The value at a share of all cases.
   * @param {Spread} spread
   * @param {number} share
   * @returns {number}
   */
  function between(spread, share) {
    if (share < 0.5) return spread.low + (spread.typical - spread.low) * 2 * share;
    return spread.typical + (spread.high - spread.typical) * (2 * share - 1);
  }

  /**
   * The share of cases below a value: `between` the other way round.
   * @param {Spread} spread
   * @param {number} value
   * @returns {number}
   */
  function shareBelow(spread, value) {
    if (value >= spread.high) return 1;
    if (value <= spread.low) return 0;
    if (value < spread.typical) return (value - spread.low) / (spread.typical - spread.low) / 2;
    return 0.5 + (value - spread.typical) / (spread.high - spread.typical) / 2;
  }

  /**
   * The standard normal deviate below which a share of cases lies, to 0.0005 (Abramowitz and Stegun 26.2.23).
   * @param {number} share
   * @returns {number}
   */
  function deviate(share) {
    if (share > 0.5) return -deviate(1 - share);
    var t = Math.sqrt(-2 * Math.log(share));
    var top = 2.515517 + t * (0.802853 + t * 0.010328);
    return top / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308))) - t;
  }

  /**
   * One deviate from each of so many equal shares of the cases that get there: at another place in each for every case
   * of the dash, so that all of them together lie close.
   * @param {number} reached
   * @param {number} of
   * @returns {number[]}
   */
  function deviates(reached, of) {
    var place = (0.5 + of * GOLDEN) % 1;
    var found = [];
    for (var at = 0; at < RATE_CASES; at += 1) found.push(deviate((reached * (at + place)) / RATE_CASES));
    return found;
  }

  /** @type {number[][]} */
  var all = [];
  while (all.length < DASH_CASES) all.push(deviates(1, all.length));

  /**
   * A value between those of the two needs beside a gain, straight; the outermost two also tell what lies beyond them.
   * Null counts up to half-way.
   * @param {number[]} needs
   * @param {Array<number|null>} values
   * @param {number} gain
   * @returns {number|null}
   */
  function atGain(needs, values, gain) {
    var upper = 1;
    while (upper < needs.length - 1 && gain > needs[upper]) upper += 1;
    var below = values[upper - 1], above = values[upper];
    var part = (gain - needs[upper - 1]) / (needs[upper] - needs[upper - 1]);
    if (below === null || above === null) return part < 0.5 ? below : above;
    return below + (above - below) * part;
  }

  /**
   * Minutes over the typical ones at a deviate, through the points below and above it, as the logarithm grows. Where
   * power runs short it is speed that falls evenly, down to nothing where a case never gets there: then half-way between
   * both.
   * @param {Point[]} points
   * @param {number} deviation
   * @param {number} end the deviate from which on no case gets there, `NONE` where every case does
   * @returns {number}
   */
  function ratio(points, deviation, end) {
    var last = points.length - 1, upper = 1;
    while (upper < last && deviation > points[upper].deviate) upper += 1;
    var below = points[upper - 1], above = points[upper];
    var part = (deviation - below.deviate) / (above.deviate - below.deviate);
    var rise = below.times * Math.pow(above.times / below.times, part);
    if (end === NONE || (below.deviate < 0 && part <= 1)) return rise;
    if (part > 1) {
      var slower = ((end - above.deviate) / Math.max(end - deviation, SLACK)) * above.times;
      return below.deviate < 0 ? slower : Math.sqrt(rise * slower);
    }
    return Math.sqrt(rise / ((1 - part) / below.times + part / above.times));
  }

  /**
   * The last percents of a charge, each as the part of it that is charged, its seconds, and those of a percent before the
   * taper.
   * @param {number[]} table seconds at every percent, no cold start in them
   * @param {number} start
   * @param {number} target
   * @returns {Array<[number, number, number]>}
   */
  function tailOf(table, start, target) {
    var one = (table[BEFORE_TAPER] - table[BEFORE_TAPER - 10]) / 10;
    /** @type {Array<[number, number, number]>} */
    var found = [];
    for (var percent = BEFORE_TAPER; percent < target; percent += 1) {
      var part = Math.min(percent + 1 - start, 1);
      if (part > 0 && table[percent + 1] - table[percent] > one + ROUNDED) {
        found.push([part, table[percent + 1] - table[percent], one]);
      }
    }
    return found;
  }

  /**
   * The seconds by which the taper makes a charge longer at so many times the minutes of its even part: there the battery
   * is the limit, and less power from our side only makes it set in later.
   * @param {Array<[number, number, number]>} tail
   * @param {number} times
   * @returns {number}
   */
  function taper(tail, times) {
    var sum = 0, slower = Math.pow(times, SHARED);
    tail.forEach(function (one) {
      sum += one[0] * Math.max(one[1] * slower - times * one[2], 0);
    });
    return sum;
  }

  /**
   * The minutes of all needs at each published part of all cases, by rising deviate; the typical ones stand for half of
   * all where that is not published.
   * @param {Asked} asked
   * @returns {Array<{deviate: number, minutes: Array<number|null>}>}
   */
  function published(asked) {
    // Between needs it is minutes that run straight, not factors: a cold start takes as long for one percent as for ten.
    var typical = asked.needs.map(function (need) {
      return asked.seconds(BEFORE_TAPER - need, BEFORE_TAPER);
    });
    var whole = asked.factors[0].more.length > 0;
    /** @param {number} part @param {function(Factor): number|null} of */
    function at(part, of) {
      var minutes = asked.factors.map(function (factor, need) {
        var times = of(factor);
        return times === null ? null : typical[need] * times;
      });
      return { deviate: deviate(part), minutes: minutes };
    }
    var found = [
      at(0.1, function (factor) {
        return whole || factor.low === null ? factor.low : Math.min(factor.low, 1);
      }),
      at(0.9, function (factor) {
        return whole || factor.high === null ? factor.high : Math.max(factor.high, 1);
      }),
    ];
    if (whole) {
      asked.more_parts.forEach(function (part, place) {
        found.push(
          at(part, function (factor) {
            return factor.more[place];
          })
        );
      });
    } else {
      found.push({ deviate: 0, minutes: typical });
    }
    return found.sort(function (one, other) {
      return one.deviate - other.deviate;
    });
  }

  /**
   * The cases in which something is to charge.
   * @param {Asked} asked
   * @returns {Charge}
   */
  function charges(asked) {
    var part = shareBelow(asked.start, asked.target);
    var minutes = new Float64Array(DASH_CASES * RATE_CASES);
    var sum = 0;
    var lines = published(asked);
    var shares = asked.factors.map(function (factor) {
      return factor.reached;
    });
    for (var at = 0; at < DASH_CASES; at += 1) {
      var start = between(asked.start, (part * (at + 0.5)) / DASH_CASES);
      var seconds = asked.seconds(start, asked.target);
      var gain = Math.min(asked.target - start, asked.needs[asked.needs.length - 1]);
      var usual = Math.max(asked.seconds(BEFORE_TAPER - gain, BEFORE_TAPER), SLACK);
      /** @type {Point[]} */
      var points = [];
      for (var line = 0; line < lines.length; line += 1) {
        var there = atGain(asked.needs, lines[line].minutes, gain);
        if (there !== null) points.push({ deviate: lines[line].deviate, times: Math.max(there / usual, SLACK) });
      }
      if (points.length < 2) {
        // Not even half of all get there: then the typical minutes stand for half.
        var quick = points.length && points[0].deviate < 0 ? points[0].times : 1;
        points = [{ deviate: TENTH, times: quick }, { deviate: 0, times: 1 }];
      }
      var reached = Math.max(Number(atGain(asked.needs, shares, Math.max(gain, asked.needs[0]))), SLACK);
      var tail = tailOf(asked.table, start, asked.target);
      var even = seconds - taper(tail, 1);
      var sure = reached > 1 - SLACK;
      var cases = sure ? all[at] : deviates(reached, at);
      var end = sure ? NONE : Math.max(deviate(reached), points[points.length - 1].deviate + SLACK);
      for (var of = 0; of < RATE_CASES; of += 1) {
        var times = ratio(points, cases[of], end);
        minutes[at * RATE_CASES + of] = (even * times + taper(tail, times)) / 60;
      }
      sum += reached / DASH_CASES;
    }
    return { minutes: minutes.sort(), reached: sum, part: part };
  }

  /**
   * How many of rising values are at most so much, straight between two of them: each stands for the middle of its own.
   * @param {Float64Array} rising
   * @param {number} most
   * @returns {number}
   */
  function upTo(rising, most) {
    var low = 0, high = rising.length;
    while (low < high) {
      var middle = (low + high) >> 1;
      if (rising[middle] <= most) low = middle + 1;
      else high = middle;
    }
    if (low === 0 || low === rising.length) return low;
    return low - 0.5 + (most - rising[low - 1]) / (rising[low] - rising[low - 1]);
  }

  /**
   * What a share of all cases charges at most; null where that many never get there. Some have nothing to charge.
   * @param {Charge} charge
   * @param {number} wanted
   * @returns {number|null}
   */
  function charged(charge, wanted) {
    var rising = charge.minutes;
    var done = 1 - charge.part;
    if (done >= wanted) return 0;
    if (done + charge.part * charge.reached < wanted - SLACK) return null;
    var place = ((wanted - done) / (charge.part * charge.reached)) * rising.length - 0.5;
    var below = Math.min(Math.max(Math.floor(place), 0), rising.length - 1);
    var above = Math.min(below + 1, rising.length - 1);
    return rising[below] + (rising[above] - rising[below]) * Math.max(place - below, 0);
  }

  /**
   * The share of all cases that are on site so long at most.
   * @param {Charge} charge
   * @param {number[]} around
   * @param {number} most
   * @returns {number}
   */
  function shareUpTo(charge, around, most) {
    var each = (charge.part * charge.reached) / charge.minutes.length;
    var sum = 0;
    for (var at = 0; at < around.length && around[at] <= most; at += 1) {
      sum += 1 - charge.part + each * upTo(charge.minutes, most - around[at]);
    }
    return sum / around.length;
  }

  /**
   * What a share of all cases is on site at most: the minutes of charging and, case by case, those besides.
   * @param {Charge} charge
   * @param {number[]} around
   * @param {number} wanted
   * @returns {number|null}
   */
  function onSite(charge, around, wanted) {
    var charging = charged(charge, wanted);
    if (charging === null) return null;
    var low = charging + around[0], high = charging + around[around.length - 1];
    for (var step = 0; step < HALVINGS; step += 1) {
      var middle = (low + high) / 2;
      if (shareUpTo(charge, around, middle) >= wanted) high = middle;
      else low = middle;
    }
    return high;
  }

  /**
   * The hand-shake and all that goes at the crew's pace, each case with each, rising.
   * @param {Asked} asked
   * @returns {number[]}
   */
  function besides(asked) {
    var found = [];
    for (var one = 0; one < AROUND_CASES; one += 1) {
      for (var other = 0; other < AROUND_CASES; other += 1) {
        var shake = between(asked.handshake, (one + 0.5) / AROUND_CASES);
        found.push(shake + between(asked.paced, (other + 0.5) / AROUND_CASES));
      }
    }
    return found.sort(function (a, b) {
      return a - b;
    });
  }

  /**
   * The bands of a charge. `seconds` are the typical ones between two percents, of which the first need not be whole;
   * `paced` is all that goes at the crew's pace, counted together.
   * @param {Asked} asked
   * @returns {{charging: Band, on_site: Band, reached: number}}
   */
  rangeferry.bands = function (asked) {
    var charge = charges(asked);
    var around = besides(asked);
    return {
      charging: { p10: charged(charge, 0.1), p90: charged(charge, 0.9) },
      on_site: { p10: onSite(charge, around, 0.1), p90: onSite(charge, around, 0.9) },
      reached: 1 - charge.part + charge.part * charge.reached,
    };
  };
})();
