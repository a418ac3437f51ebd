// Answers a call for one class from whole numbers that the planner published. No physics: it looks up, adds, subtracts,
// divides and rounds, in the planner's own order, so that its answer is the planner's. Classic script, so that it also
// runs in a page opened from a folder.

/**
 * What the planner published, by its own names: a class, a rig, and the words that all share.
 * @typedef {any} Data
 */

/**
 * A call as the page asks it. Steps are places in the lists of `words`.
 * @typedef {{
 *   rig: string, class: string, inlet: string, fuel: string, ambient: number, altitude: number, pack: string,
 *   dash: {kind: string, value?: number, of?: number},
 *   need: {kind: string, value?: number, reserve?: number|null, fits?: boolean|null},
 *   places: Array<[string, number]>, speed: number, climb_ft: number, heat: boolean, tank: boolean|null,
 *   place: {kind: string, openings: string, people: string, traffic: string, permission: string, quiet: string,
 *     distance_ft: number|null},
 *   condition: {danger: string[]|null, unknown: boolean, port: string, twelve_volt: string, key: string},
 *   own: {tank: number|null, cans: number|null, charge: number|null}
 * }} Call
 */

/** @type {any} */
var rangeferry = rangeferry || {};

(function () {
  "use strict";

  /** @type {Object<string, Data>} */
  var classes = {};
  /** @type {Object<string, Data>} */
  var rigs = {};
  /** @type {Data} */
  var words = null;
  var renewed = false;

  var SLACK = 1e-9;

  /**
   * Differences to cumulative values: whole numbers, so the sums are exact.
   * @param {number[]} steps
   * @returns {number[]}
   */
  function sums(steps) {
    var total = 0;
    return steps.map(function (step) {
      total += step;
      return total;
    });
  }

  /**
   * A rising table from a slope, the last entry that it gives, and the differences beyond: the planner's whole numbers,
   * which it has tried on this very slope.
   * @param {number[]} written
   * @returns {number[]}
   */
  function bySlope(written) {
    var found = [];
    for (var at = 0; at <= written[1]; at += 1) found.push(Math.floor(written[0] * at + 0.5));
    var total = found[written[1]];
    return found.concat(
      written.slice(2).map(function (step) {
        total += step;
        return total;
      })
    );
  }

  /**
   * A grid from differences of rows, each as differences along the row.
   * @param {number[]} steps
   * @param {number} width
   * @returns {number[][]}
   */
  function rows(steps, width) {
    /** @type {number[][]} */
    var found = [];
    for (var at = 0; at < steps.length; at += width) {
      var above = found[found.length - 1];
      found.push(
        sums(steps.slice(at, at + width)).map(function (value, place) {
          return above ? value + above[place] : value;
        })
      );
    }
    return found;
  }

  /**
   * Rows from columns, so many a need, each but those of the first as what it is more than in the need before.
   * @param {number[][]} written
   * @param {number} size
   * @returns {number[][]}
   */
  function columns(written, size) {
    return (written[0] || []).map(function (_, row) {
      /** @type {number[]} */
      var found = [];
      written.forEach(function (column, at) {
        found.push(column[row] + (at >= size ? found[at - size] : 0));
      });
      return found;
    });
  }

  /**
   * The texts of a class or rig: one of its own, or the place of one that many share.
   * @param {Array<string|number>} texts
   * @returns {string[]}
   */
  function own(texts) {
    return texts.map(function (text) {
      return typeof text === "number" ? words.texts[text] : text;
    });
  }

  /**
   * Whether a table is of other records than the words: the pages were renewed while this one was open.
   * @param {Data} data
   * @returns {boolean}
   */
  function isOther(data) {
    if (data.data !== words.data) renewed = true;
    return data.data !== words.data;
  }

  /**
   * The words that all pages share call this as they load: first of all.
   * @param {Data} data
   */
  function setWords(data) {
    words = data;
  }

  /**
   * A class's table calls this as it loads.
   * @param {Data} data
   */
  function add(data) {
    if (isOther(data)) return;
    var width = words.ambient_steps_f.length;
    data.battery_wh = bySlope(data.battery_wh);
    data.tables.forEach(function (/** @type {Data} */ table) {
      table.seconds = bySlope(table.seconds);
      table.inlet_wh = bySlope(table.inlet_wh);
    });
    data.cold.forEach(function (/** @type {Data} */ cold) {
      cold.seconds = sums(cold.seconds);
      cold.inlet_wh = sums(cold.inlet_wh);
    });
    data.road.drive_wh = data.road.drive_wh.map(function (/** @type {number[]} */ steps) {
      return rows(steps, width);
    });
    data.road.percent_permille = sums(data.road.percent_permille);
    data.road.miles_permille = sums(data.road.miles_permille);
    words.places.forEach(function (/** @type {string} */ name) {
      data.rates[name] = sums(data.rates[name] || []);
    });
    data.rates.source_ppm = (data.rates.over_meter_ppm || []).map(function (/** @type {number} */ over, /** @type {number} */ at) {
      return data.rates.meter_ppm[at] + over;
    });
    data.factors = columns(data.factors, 3);
    var shapes = columns(data.shapes, words.more_parts.length);
    data.shapes = data.shaped.map(function (/** @type {number} */ shaped) {
      return shaped ? shapes.shift() : null;
    });
    Object.keys(data.rigs).forEach(function (id) {
      data.rigs[id].ways = data.rigs[id].ways.map(sums);
    });
    data.texts = own(data.texts);
    classes[data.class] = data;
  }

  /**
   * A rig's table calls this as it loads.
   * @param {Data} data
   */
  function addRig(data) {
    if (isOther(data)) return;
    data.texts = own(data.texts);
    rigs[data.rig] = data;
  }

  // ------------------------------------------------------------------------------------------------- start and need

  /**
   * What the dash says, in percent: likely, with its ends.
   * @param {Data} data
   * @param {{kind: string, value?: number, of?: number}} dash
   * @returns {{percent: number, low: number, high: number, said: string|null, dead: boolean}}
   */
  function start(data, dash) {
    var value = dash.value || 0;
    var found = { percent: value, low: 0, high: 0, said: /** @type {string|null} */ (null), dead: dash.kind === "dead" };
    if (dash.kind === "percent") {
      found.low = Math.max(value - words.dash_rounding, 0);
      found.high = Math.min(value + words.dash_rounding, 100);
    } else if (dash.kind === "miles") {
      var percent = (value * data.label_wh) / (100 * data.energy_kwh);
      found.percent = Math.min(Math.floor(percent + SLACK), 100);
      found.low = Math.min(words.dash_miles[0] * percent, 100);
      found.high = Math.min(words.dash_miles[1] * percent, 100);
      found.said = value + " mi";
    } else if (dash.kind === "bars") {
      var of = dash.of || 1;
      found.low = (100 * (value ? value - 1 : 0)) / of;
      found.high = (100 * (value || 0.5)) / of;
      found.percent = Math.floor((found.low + found.high) / 2 + SLACK);
      found.said = value + " of " + of + " bars";
    } else {
      var word = words.dash_words[dash.kind];
      found.low = word[0];
      found.percent = word[1];
      found.high = word[2];
      found.said = word[3];
    }
    return found;
  }

  /**
   * The whole watt-hours of the road asked about: ten miles of it, its hills, and how far they may be off.
   * @param {Data} data
   * @param {Call} call
   * @param {number} [speed]
   * @param {boolean} [heat]
   * @returns {{wh: number, hills: number, share: number, percent_permille: number, miles_permille: number}}
   */
  function roadOf(data, call, speed, heat) {
    var at = speed === undefined ? call.speed : speed;
    var drive = data.road.drive_wh[at][call.altitude][call.ambient];
    var cabin = (heat === undefined ? call.heat : heat) ? data.road.cabin_wh[at][call.ambient] : 0;
    var share = Math.floor((100 * cabin) / (drive + cabin));
    return {
      wh: drive + cabin,
      hills: Math.ceil((call.climb_ft * data.road.climb_wh_per_100ft) / 100),
      share: share,
      percent_permille: data.road.percent_permille[share],
      miles_permille: data.road.miles_permille[share],
    };
  }

  /**
   * The smallest whole percent that holds so many watt-hours; 101 where a full battery does not.
   * @param {Data} data
   * @param {number} needed
   * @returns {number}
   */
  function percentFor(data, needed) {
    for (var percent = 0; percent <= 100; percent += 1) {
      if (data.battery_wh[percent] >= needed) return percent;
    }
    return 101;
  }

  /**
   * What is to be left on arrival: percent and miles.
   * @param {Call["need"]} need
   * @returns {{percent: number, miles: number}}
   */
  function kept(need) {
    if (need.reserve !== null && need.reserve !== undefined) return { percent: need.reserve, miles: 0 };
    if (need.kind === "charger") return { percent: words.charger_reserve[0], miles: words.charger_reserve[1] };
    return { percent: words.default_reserve, miles: 0 };
  }

  /**
   * Whether a need is a distance to drive.
   * @param {Call["need"]} need
   * @returns {boolean}
   */
  function inMiles(need) {
    return need.kind === "home" || need.kind === "charger" || need.kind === "miles";
  }

  /**
   * What a distance takes on a road: typically, surely, and with what is to be left.
   * @param {Data} data
   * @param {Call["need"]} need
   * @param {ReturnType<typeof roadOf>} road
   * @returns {{typical: number, sure: number, kept: number}}
   */
  function takes(data, need, road) {
    var level = Math.ceil(((need.value || 0) * road.wh) / 10);
    var left = kept(need);
    return {
      typical: level + road.hills,
      sure: sureWh(need.value || 0, road),
      kept: Math.max(data.battery_wh[left.percent], Math.ceil((left.miles * road.wh) / 10)),
    };
  }

  /**
   * The charge that makes a distance in nine of ten cases.
   * @param {number} miles
   * @param {ReturnType<typeof roadOf>} road
   * @returns {number}
   */
  function sureWh(miles, road) {
    return Math.ceil(((Math.ceil((miles * road.wh) / 10) + road.hills) * road.percent_permille) / 1000);
  }

  /**
   * The miles that a charge makes in nine of ten cases.
   * @param {number} energy
   * @param {ReturnType<typeof roadOf>} road
   * @returns {number}
   */
  function sureMiles(energy, road) {
    return Math.max((10 * ((1000 * energy) / road.percent_permille - road.hills)) / road.wh, 0);
  }

  /**
   * Where the charge must go, and what the road typically takes with the reserve that was asked for.
   * @param {Data} data
   * @param {Call} call
   * @param {ReturnType<typeof roadOf>} road
   * @param {Data} rate
   * @param {number} from
   * @returns {{percent: number, typical: number, most_mi: number, kept_wh: number}}
   */
  function target(data, call, road, rate, from) {
    var need = call.need, full = data.battery_wh[100];
    if (!inMiles(need)) {
      var to = need.kind === "to" ? need.value || 0 : percentAfter(data, rate, from, 60 * minutesOf(need) - words.handshake_s);
      return { percent: to, typical: to, most_mi: (10 * full) / road.wh, kept_wh: 0 };
    }
    var wanted = takes(data, need, road);
    var withReserve = percentFor(data, wanted.typical + wanted.kept);
    var sure = percentFor(data, wanted.sure);
    var asked = need.reserve !== null && need.reserve !== undefined ? wanted.kept : 0;
    var above = (10 * (full - wanted.kept - road.hills)) / road.wh;
    return {
      percent: Math.max(withReserve, sure),
      typical: asked ? withReserve : percentFor(data, wanted.typical),
      most_mi: Math.max(Math.min(above, sureMiles(full, road)), 0),
      kept_wh: wanted.kept,
    };
  }

  /**
   * The minutes that a need without a target means.
   * @param {Call["need"]} need
   * @returns {number}
   */
  function minutesOf(need) {
    return need.kind === "minutes" ? need.value || 0 : words.usual_stay_min;
  }

  // ------------------------------------------------------------------------------------------------------- a charge

  /**
   * A value of a session between two percents, the cold start included.
   * @param {number[]} table
   * @param {number[]|undefined} cold
   * @param {number} offset
   * @param {number} from
   * @param {number} to
   * @returns {number}
   */
  function between(table, cold, offset, from, to) {
    var steady = table[to] - table[from];
    var gained = to - from;
    if (!cold || gained <= 0) return steady;
    return gained <= cold.length ? Math.max(cold[gained - 1], steady) : steady + offset;
  }

  /**
   * A rate, a row of the columns, with its table and its cold start.
   * @param {Data} data
   * @param {number} at
   * @returns {Data}
   */
  function rateAt(data, at) {
    /** @type {Data} */
    var rate = {};
    Object.keys(data.rates).forEach(function (name) {
      rate[name] = data.rates[name][at];
    });
    rate.steady = data.tables[rate.table];
    rate.cold_start = rate.cold < 0 ? {} : data.cold[rate.cold];
    return rate;
  }

  /**
   * Whole seconds between two percents.
   * @param {Data} rate
   * @param {number} from
   * @param {number} to
   * @returns {number}
   */
  function seconds(rate, from, to) {
    return between(rate.steady.seconds, rate.cold_start.seconds, rate.cold_start.offset_s, from, to);
  }

  /**
   * Seconds of less than the last percent: nothing, or little, is stored before the pack is warm.
   * @param {Data} rate
   * @param {number} gain
   * @param {number} to
   * @returns {number}
   */
  function secondsOfPart(rate, gain, to) {
    var one = seconds(rate, to - 1, to), steady = rate.steady.seconds;
    var warming = Math.min(60 * rate.warm_min, one);
    var stored = Math.max(1 - (one - warming) / (steady[to] - steady[to - 1]), 0);
    if (gain <= stored) return (warming * gain) / stored;
    return warming + ((one - warming) * (gain - stored)) / (1 - stored);
  }

  /**
   * Seconds from a start that need not be whole, straight between two whole ones: for bands alone.
   * @param {Data} rate
   * @param {number} from
   * @param {number} to
   * @returns {number}
   */
  function secondsFrom(rate, from, to) {
    if (from >= to) return 0;
    if (to - from < 1) return secondsOfPart(rate, to - from, to);
    var below = Math.floor(from), part = from - below;
    var first = seconds(rate, below, to);
    return part ? first + part * (seconds(rate, below + 1, to) - first) : first;
  }

  /**
   * The last whole percent that a charge reaches within so many seconds.
   * @param {Data} data
   * @param {Data} rate
   * @param {number} from
   * @param {number} most
   * @returns {number}
   */
  function percentAfter(data, rate, from, most) {
    var percent = 100;
    while (percent > from && seconds(rate, from, percent) > Math.max(most, 0)) percent -= 1;
    return Math.max(percent, from);
  }

  /**
   * What the rig carries now: litres, or the share of a full store.
   * @param {Data} supply
   * @param {Call} call
   * @returns {{tank: number, cans: number, charge: number}}
   */
  function carried(supply, call) {
    var line = supply.fuels ? supply.fuels[call.fuel] : null;
    return {
      tank: line ? (call.own.tank === null ? line.tank_l : (line.tank_l * call.own.tank) / 4) : 0,
      cans: line ? (call.own.cans === null ? line.spare_l : (line.spare_l * call.own.cans) / 4) : 0,
      charge: call.own.charge === null ? 1 : call.own.charge / 100,
    };
  }

  /**
   * One charge from a percent to another: seconds, energies, and what it does to the rig's own.
   * @param {Data} data
   * @param {Data} rate
   * @param {Data} supply
   * @param {Call} call
   * @param {number} from
   * @param {number} to
   * @returns {Data}
   */
  function session(data, rate, supply, call, from, to) {
    var time = seconds(rate, from, to);
    var inlet = between(rate.steady.inlet_wh, rate.cold_start.inlet_wh, rate.cold_start.offset_wh, from, to);
    var source = Math.ceil((inlet * rate.source_ppm) / 1000000) + Math.ceil((supply.other_loads_w * time) / 3600);
    /** @type {Data} */
    var found = {
      percent: to,
      seconds: time,
      battery_wh: data.battery_wh[to] - data.battery_wh[from],
      meter_wh: Math.ceil((inlet * rate.meter_ppm) / 1000000),
      stops: 0,
      enough: true,
    };
    var there = carried(supply, call);
    if (supply.battery) {
      var store = supply.battery, in_air = store.in_air_kwh[call.ambient];
      found.used_kwh = source / 1000 / store.efficiency;
      found.left_kwh = in_air * there.charge - found.used_kwh;
      found.enough = found.used_kwh <= Math.max(in_air * (there.charge - store.floor) - store.way_home_kwh, 0);
    } else if (supply.fuels) {
      var line = supply.fuels[call.fuel];
      var minutes = supply.minutes;
      var idle = (minutes.warm_up[1] + minutes.handshake[1] + minutes.cool_down[1]) / 60;
      var energy = source / 1000 + (supply.other_loads_w / 1000) * idle;
      var load = (rate.source_w + supply.other_loads_w) / 1000;
      var hour = line.no_load_l_per_h + line.slope_l_per_kwh * load;
      found.used_l = line.no_load_l_per_h * (time / 3600 + idle) + line.slope_l_per_kwh * energy;
      found.keep_l = Math.max(line.keep_l, hour);
      found.left_l = there.tank + there.cans - found.used_l;
      found.hours_left = found.left_l / hour;
      found.enough = found.used_l + found.keep_l <= there.tank + there.cans;
      found.stops = line.tank_l ? Math.max(Math.ceil((found.used_l - there.tank) / line.tank_l), 0) : 0;
    }
    return found;
  }

  /**
   * The last percent below one that the rig's own energy reaches, with its session; null where not one percent is.
   * @param {Data} data
   * @param {Data} rate
   * @param {Data} supply
   * @param {Call} call
   * @param {number} from
   * @param {number} to
   * @returns {Data}
   */
  function inReach(data, rate, supply, call, from, to) {
    for (var percent = to; percent > from; percent -= 1) {
      var found = session(data, rate, supply, call, from, percent);
      if (found.enough) return found;
    }
    return null;
  }

  /**
   * The minutes on site, part by part.
   * @param {Data} supply
   * @param {Data} rate
   * @param {Data} found
   * @param {number} from
   * @param {number} ready
   * @returns {Object<string, number>}
   */
  function parts(supply, rate, found, from, ready) {
    var minutes = supply.minutes;
    var engine = supply.fuels ? 1 : 0;
    var warm = Math.ceil((rate.steady.seconds[found.percent] - rate.steady.seconds[from]) / 60);
    var together = Math.ceil(found.seconds / 60);
    return {
      park: Math.ceil(minutes.park[1]),
      make_ready: ready,
      warm_up: engine * Math.ceil(minutes.warm_up[1]),
      handshake: Math.ceil(minutes.handshake[1]),
      cold: Math.max(together - warm, 0),
      charging: Math.min(warm, together),
      refuel: found.stops * Math.ceil(minutes.refuel_stop[1]),
      cool_down: engine * Math.ceil(minutes.cool_down[1]),
      pack_up: Math.ceil(minutes.pack_up[1]),
    };
  }

  /**
   * All numbers of a call that need no words: the outcome, the rate, target and session.
   * @param {Call} call
   * @param {{cap_min: number|null, ready_min: number}} bound
   * @returns {Data}
   */
  function numbers(call, bound) {
    var data = classes[call.class], rig = rigs[call.rig];
    var ofRig = data.rigs[call.rig];
    var grids = ofRig.grid[call.inlet] || ofRig.grid[""];
    var cell = call.altitude * words.ambient_steps_f.length + call.ambient;
    var more = call.pack === "unknown" ? 0 : grids[call.pack][call.fuel][cell];
    var outcome = ofRig.outcomes[grids.unknown[call.fuel][cell] + more];
    var road = roadOf(data, call);
    /** @type {Data} */
    var found = { data: data, rig: rig, of_rig: ofRig, outcome: outcome, road: road, start: start(data, call.dash) };
    found.cell = cell;
    found.inlet_key = ofRig.grid[call.inlet] ? call.inlet : "";
    if (outcome.refused) return found;
    var way = ofRig.ways[outcome.way], width = words.ambient_steps_f.length;
    var at = way[words.packs.indexOf(call.pack) * width + call.ambient];
    found.rate = rateAt(data, at < 0 ? way[call.ambient] : at);
    var from = found.start.percent, supply = rig.supply, rate = found.rate;
    found.miles_added_per_hour = Math.floor((10 * rate.battery_w) / road.wh);
    found.target = target(data, call, road, rate, from);
    var goal = found.target;
    var reach = goal.percent <= 100 || goal.typical > 100 ? goal.percent : Math.max(goal.typical, words.last_ordinary);
    found.reach = reach;
    if (!(from < reach && reach <= 100)) return found;
    found.session = session(data, rate, supply, call, from, reach);
    if (!found.session.enough) {
      found.session = inReach(data, rate, supply, call, from, reach - 1);
      found.in_reach = found.session ? found.session.percent : null;
      found.short = true;
    }
    if (bound.cap_min !== null && found.session) {
      var around = total(parts(supply, rate, { percent: from, seconds: 0, stops: 0 }, from, bound.ready_min));
      var left = 60 * (bound.cap_min - around);
      var last = left > 0 ? percentAfter(data, rate, from, left) : from;
      if (last < found.session.percent) {
        found.too_long_min = around + Math.ceil(found.session.seconds / 60);
        found.in_time = last;
        found.session = last > from ? session(data, rate, supply, call, from, last) : null;
      }
    }
    return found;
  }

  /**
   * The sum of the parts.
   * @param {Object<string, number>} found
   * @returns {number}
   */
  function total(found) {
    return Object.keys(found).reduce(function (sum, name) {
      return sum + found[name];
    }, 0);
  }

  rangeferry.setWords = setWords;
  rangeferry.add = add;
  rangeferry.addRig = addRig;
  rangeferry.lookup = {
    classes: classes,
    rigs: rigs,
    words: function () {
      return words;
    },
    renewed: function () {
      return renewed;
    },
    numbers: numbers,
    start: start,
    roadOf: roadOf,
    takes: takes,
    kept: kept,
    inMiles: inMiles,
    minutesOf: minutesOf,
    sureWh: sureWh,
    sureMiles: sureMiles,
    seconds: seconds,
    secondsFrom: secondsFrom,
    percentAfter: percentAfter,
    session: session,
    parts: parts,
    total: total,
    carried: carried,
  };
})();
