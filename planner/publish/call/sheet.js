// Says what a call comes to: verdict, reasons, what to set, watch and do, and what the customer hears. Every sentence is
// the planner's own with its blanks filled in; the rules of place and vehicle are looked up, never decided here.

(function () {
  "use strict";

  var look = rangeferry.lookup;
  var SLACK = 1e-9;

  /**
   * A sentence with its blanks filled in.
   * @param {string} text
   * @param {Object<string, string|number>} [blanks]
   * @returns {string}
   */
  function fill(text, blanks) {
    return text.replace(/\{(\w+)\}/g, function (whole, name) {
      return blanks && name in blanks ? String(blanks[name]) : whole;
    });
  }

  /**
   * A sentence by its name.
   * @param {string} name
   * @param {Object<string, string|number>} [blanks]
   * @returns {string}
   */
  function say(name, blanks) {
    return fill(look.words().sentences[name], blanks);
  }

  // ---------------------------------------------------------------------------------------------- figures as written

  /** @param {number} value @returns {number} */
  function down(value) {
    return Math.floor(value * 10 + SLACK) / 10;
  }

  /** @param {number} value @returns {number} */
  function up(value) {
    return Math.ceil(value * 10 - SLACK) / 10;
  }

  /** @param {number} value @returns {string} */
  function amps(value) {
    return down(value) + " A";
  }

  /** @param {number} hundredths @returns {string} */
  function kilowatts(hundredths) {
    return (hundredths >= 100 ? (hundredths / 100).toFixed(1) : (hundredths / 100).toFixed(2)) + " kW";
  }

  /** @param {number} value @returns {string} */
  function wholeMiles(value) {
    return Math.floor(value + SLACK) + " mi";
  }

  /**
   * Watt-hours as kilowatt-hours to a tenth; what lies exactly between two goes to the even one, as in the planner.
   * @param {number} wh
   * @returns {string}
   */
  function tenths(wh) {
    var below = Math.floor(wh / 100);
    return wh % 500 === 250 ? ((below + (below % 2)) / 10).toFixed(1) : (wh / 1000).toFixed(1);
  }

  /** @param {number} litres @returns {string} */
  function gallons(litres) {
    return up(litres / look.words().litres_per_gallon) + " gal (" + up(litres) + " L)";
  }

  /** @param {number} minutes @returns {string} */
  function hoursMinutes(minutes) {
    var rest = String(minutes % 60);
    return minutes + " min" + (minutes < 120 ? "" : " (" + Math.floor(minutes / 60) + " h " + (rest.length < 2 ? "0" : "") + rest + " min)");
  }

  /**
   * Minutes as every sheet shows them: in fives up to two hours, more coarsely beyond, and past a day only that.
   * @param {number} minutes
   * @param {function(number): number} round up where they are the most, down where they are the least
   * @returns {number}
   */
  function shown(minutes, round) {
    var words = look.words(), most = words.most_shown_min;
    if (minutes > most + SLACK) return round(0.5) ? most + 60 : most;
    var step = words.minute_steps.filter(function (/** @type {[number, number]} */ one) {
      return minutes <= one[0] + SLACK;
    })[0][1];
    return step * round(minutes / step + (round(0.5) ? -SLACK : SLACK));
  }

  /** Minutes as people say them, never less. @param {number} minutes @returns {string} */
  function spoken(minutes) {
    var up = shown(minutes, Math.ceil);
    if (up > look.words().most_shown_min) return "more than " + look.words().most_shown_min / 60 + " hours";
    if (up < 120) return up + " minutes";
    return Math.floor(up / 60) + " hours" + (up % 60 ? " and " + (up % 60) + " minutes" : "");
  }

  // ------------------------------------------------------------------------------------------------------- the rules

  /**
   * What place and vehicle forbid, ask, take and change, the deciding one first.
   * @param {Call} call
   * @param {Data} rig
   * @param {Data} start
   * @param {number} reach_m
   * @returns {Data[]}
   */
  function rulings(call, rig, start, reach_m) {
    var words = look.words(), table = words.place, place = call.place, condition = call.condition;
    /** @type {Object<string, Object<string, number>>} */
    var codes = {};
    /** @param {string} code */
    function found(code) {
      codes[code] = codes[code] || {};
    }
    table.traffic[place.kind + "|" + place.traffic].forEach(found);
    if (rig.engine) table.exhaust[place.kind + "|" + place.openings + "|" + place.people].forEach(found);
    table.permission[(rig.engine ? "engine|" : "|") + place.kind + "|" + place.permission + "|" + place.quiet].forEach(found);
    if (place.distance_ft !== null && place.distance_ft / words.ft_per_m > reach_m + SLACK) {
      codes.cable_too_short = {
        needed_ft: Math.ceil(place.distance_ft - SLACK),
        reach_ft: Math.floor(reach_m * words.ft_per_m + SLACK),
      };
    }
    (condition.danger || []).forEach(function (seen) {
      found(words.danger[seen]);
    });
    if (condition.unknown) found(words.danger.unknown);
    [words.key[condition.key], words.port[condition.port], words.twelve_volt[condition.twelve_volt]].forEach(function (code) {
      if (code) found(code);
    });
    if (start.dead && !condition.twelve_volt) found(words.dark_dash);
    return words.rules
      .filter(function (/** @type {Data} */ rule) {
        return rule.code in codes;
      })
      .map(function (/** @type {Data} */ rule) {
        var minutes = rule.minutes ? rig.supply.minutes[rule.minutes] : null;
        var blanks = codes[rule.code];
        if (minutes) blanks.minutes = Math.ceil(minutes[2]);
        return {
          code: rule.code,
          level: rule.level,
          text: (fill(rule.text, blanks) + " " + fill(rule.remedy, blanks)).trim(),
          source: rule.source,
          question: fill(rule.question, blanks),
          minutes: minutes,
          bring: rule.bring,
          give_up: fill(rule.give_up, blanks),
          step: rule.step,
        };
      });
  }

  /**
   * @param {Data[]} several
   * @param {string} level
   * @returns {Data[]}
   */
  function ofLevel(several, level) {
    return several.filter(function (one) {
      return one.level === level;
    });
  }

  // ------------------------------------------------------------------------------------------------------ the ladder

  /**
   * The links from source to vehicle; where a path is known, up to the charger.
   * @param {Call} call
   * @param {Data} found
   * @returns {Data[]}
   */
  function chain(call, found) {
    var data = found.data, rig = found.rig, outcome = found.outcome;
    var path = outcome.path === undefined ? null : data.paths[outcome.path];
    var key = path ? path.ladder : Object.keys(rig.ladders)[0];
    /** @param {string[]} texts @returns {function(Data): Data} */
    function link(texts) {
      return function (of) {
        return {
          link: of[0], name: texts[of[1]], rating_a: of[2], limit_a: of[3], basis: texts[of[4]],
          source: texts[of[5]], protected: Boolean(of[6]),
        };
      };
    }
    var links = rig.chains[rig.ladders[key][call.fuel][found.cell]].map(function (/** @type {number} */ at) {
      return link(rig.texts)(rig.links[at]);
    });
    if (!path) return links;
    links = links.concat(path.links.map(link(data.texts)));
    if (!found.rate && !outcome.charger) return links;
    if (path.code) links.push(link(data.texts)(path.code));
    if (outcome.charger) return links.concat(link(data.texts)(outcome.charger));
    links.push({
      link: "onboard_charger", name: "Onboard charger", rating_a: found.rate.charger[0], limit_a: found.rate.charger[0],
      basis: data.texts[found.rate.charger[1]], source: "class record", protected: true,
    });
    return links;
  }

  /**
   * Marks what sets the setting and what holds the current back.
   * @param {Data} found
   * @param {Data[]} links
   */
  function mark(found, links) {
    var outcome = found.outcome;
    var code = found.data.paths[outcome.path].code;
    var by_vehicle = found.data.texts[found.rate.charger[1]].indexOf("; draws to ") >= 0;
    links.forEach(function (link, at) {
      link.sets_setting = at === outcome.set_by;
      if (by_vehicle) link.sets_current = link.link === "onboard_charger";
      else if (code && outcome.told_a) link.sets_current = link.link === "cable_code";
      else link.sets_current = link.sets_setting;
    });
  }

  // -------------------------------------------------------------------------------------------------------- the plan

  /**
   * @param {string} code
   * @param {string} text
   * @param {string} source
   * @returns {Data}
   */
  function reason(code, text, source) {
    return { code: code, text: text, source: source };
  }

  /**
   * What a call comes to, with all that is shown of it.
   * @param {Call} call
   * @returns {Data}
   */
  function plan(call) {
    var words = look.words();
    var first = look.numbers(call, { cap_min: null, ready_min: 0 });
    var path = first.outcome.path === undefined ? null : first.data.paths[first.outcome.path];
    var ruled = rulings(call, first.rig, first.start, path ? path.reach_m : first.rig.reach_m);
    var shoulder = ruled.some(function (one) {
      return one.code === "shoulder";
    });
    var tries = ofLevel(ruled, "try").filter(function (one) {
      return one.minutes;
    });
    var ready = tries.reduce(function (sum, one) {
      return sum + Math.ceil(one.minutes[1]);
    }, 0);
    var found = shoulder ? look.numbers(call, { cap_min: words.shoulder_cap_min, ready_min: ready }) : first;
    found.call = call;
    found.path = path;
    found.rulings = ruled;
    found.shoulder = shoulder;
    found.tries = tries;
    found.ready_min = ready;
    found.chain = chain(call, found);
    if (found.rate) mark(found, found.chain);
    var judged = verdict(call, found);
    // As far as rig, vehicle and need go: what place and vehicle leave to be asked stands over it.
    var charges = /^serve/.test(judged.verdict) && !ofLevel(found.rulings, "try").length;
    var nothing = judged.ask !== null && words.nothing_to_do.indexOf(judged.ask.code) >= 0;
    judged = withRulings(found, judged);
    if (judged.verdict === "serve" || judged.verdict === "serve_with_changes" || judged.verdict === "try") {
      judged.reasons = judged.reasons.concat(secondThoughts(call, found));
    }
    var served = judged.verdict !== "cannot_serve" && !nothing;
    /** @type {Data} */
    var result = {
      verdict: judged.verdict, reasons: judged.reasons, ask: judged.ask, start: found.start, chain: found.chain,
      path: served ? path : null, served: served, charges: charges, found: found, texts: found.data.texts,
      refused: found.of_rig.refused[found.inlet_key].map(function (/** @type {number} */ at) {
        return found.data.texts[at];
      }),
      miles_at_start: Math.floor((10 * Math.floor(10 * found.data.energy_kwh * found.start.percent)) / found.road.wh),
      kwh_per_100mi: found.road.wh / 100,
    };
    if (!served || !found.rate) return result;
    result.setting = settingOf(found);
    result.rate = found.rate;
    result.miles_added_per_hour = found.miles_added_per_hour;
    result.watch = watch(found);
    result.menu = menu(call, found);
    if (found.session) {
      var session = found.session;
      result.session = session;
      result.target = session.percent;
      result.parts = look.parts(found.rig.supply, found.rate, session, found.start.percent, ready);
      var on_site = look.total(result.parts);
      result.bands = bands(found);
      result.minutes_on_site = shoulder ? Math.min(on_site, words.shoulder_cap_min) : on_site;
      result.minutes_charging = result.parts.cold + result.parts.charging;
      result.allow = result.bands ? result.bands.on_site.p90 : null;
      result.at_best = result.bands ? result.bands.on_site.p10 : null;
      if (shoulder && result.bands) {
        if (result.allow !== null) result.allow = Math.min(result.allow, words.shoulder_cap_min);
        if (result.at_best !== null) result.at_best = Math.min(result.at_best, words.shoulder_cap_min);
      }
      result.steps = steps(call, found, result);
      result.nothing = found.data.sheets[found.outcome.sheet].nothing.map(function (/** @type {number} */ at) {
        return found.data.texts[at];
      });
      if (judged.verdict !== "try") {
        result.reasons = result.reasons.concat(tow(call, found, result, on_site));
      }
    }
    result.abort = abort(found);
    result.cautions = cautions(call, found, result);
    result.say = judged.verdict === "ask_first" ? "" : sentence(call, found, result);
    result.bring = bring(found);
    return result;
  }

  /**
   * @param {Data} found
   * @returns {string[]}
   */
  function bring(found) {
    var things = found.data.sheets[found.outcome.sheet].fetched.map(function (/** @type {number} */ at) {
      return found.data.texts[at];
    });
    return unique(things.concat(needed(found)));
  }

  /** @param {Data} found @returns {string[]} */
  function needed(found) {
    /** @type {string[]} */
    var things = [];
    ofLevel(found.rulings, "try").forEach(function (one) {
      things = things.concat(one.bring);
    });
    return unique(things);
  }

  /** @param {string[]} things @returns {string[]} */
  function unique(things) {
    return things.filter(function (thing, at) {
      return things.indexOf(thing) === at;
    });
  }

  /**
   * The spread of the minutes; null where it is not known.
   * @param {Data} found
   * @returns {Data}
   */
  function bands(found) {
    if (!rangeferry.bands) return null;
    var rate = found.rate, minutes = found.rig.supply.minutes, session = found.session, words = look.words();
    var flat = found.data.factors[rate.factors], shape = found.data.shapes[rate.factors];
    var paced = [[minutes.park, 1], [minutes.pack_up, 1], [minutes.refuel_stop, session.stops]];
    if (found.rig.supply.fuels) paced = paced.concat([[minutes.warm_up, 1], [minutes.cool_down, 1]]);
    found.tries.forEach(function (/** @type {Data} */ one) {
      paced.push([one.minutes, 1]);
    });
    /** @param {number} end @returns {number} */
    function sum(end) {
      return paced.reduce(function (so_far, one) {
        return so_far + one[0][end] * one[1];
      }, 0);
    }
    /** @param {number} steps @returns {number|null} */
    function times(steps) {
      return steps === words.never_steps ? null : Math.pow(words.factor_step, steps);
    }
    var factors = words.needs.map(function (/** @type {number} */ _, /** @type {number} */ need) {
      var more = shape && shape.slice(need * words.more_parts.length, (need + 1) * words.more_parts.length);
      return {
        low: times(flat[3 * need]),
        high: times(flat[3 * need + 1]),
        more: more ? more.map(times) : [],
        reached: flat[3 * need + 2] / 1000,
      };
    });
    return rangeferry.bands({
      seconds: function (/** @type {number} */ from, /** @type {number} */ to) {
        return look.secondsFrom(rate, from, to);
      },
      table: rate.steady.seconds,
      needs: words.needs,
      more_parts: words.more_parts,
      factors: factors,
      start: { low: found.start.low, typical: found.start.percent, high: found.start.high },
      target: session.percent,
      handshake: { low: minutes.handshake[0], typical: minutes.handshake[1], high: minutes.handshake[2] },
      paced: { low: sum(0), typical: sum(1), high: sum(2) },
    });
  }

  // ----------------------------------------------------------------------------------------------------- the verdict

  /**
   * @param {Call} call
   * @param {Data} found
   * @returns {{verdict: string, reasons: Data[], ask: Data|null}}
   */
  function verdict(call, found) {
    var words = look.words(), outcome = found.outcome, data = found.data, texts = data.texts;
    if (outcome.refused) {
      var stops = (outcome.stops || []).map(function (/** @type {[string, number, number]} */ stop) {
        return reason(stop[0], texts[stop[1]], texts[stop[2]]);
      });
      return {
        verdict: "cannot_serve", ask: null,
        reasons: [reason(outcome.refused, refusalText(found), texts[outcome.source])].concat(stops, otherFuel(call, found)),
      };
    }
    var need = call.need, in_miles = look.inMiles(need), from = found.start.percent, goal = found.target;
    if (need.kind === "charger" && need.fits === false) {
      return {
        verdict: "cannot_serve", ask: null,
        reasons: [reason("charger_does_not_fit", words.charger_out, words.common_practice)],
      };
    }
    if (data.engine && call.tank === false) return { verdict: "ask_first", reasons: [words.has_fuel], ask: words.met_ask };
    var changes = changesOf(found);
    if (goal.typical > 100) return beyondFull(call, found, changes);
    if (!in_miles && need.kind !== "to" && goal.percent <= from) {
      return {
        verdict: "ask_first", ask: { question: words.too_short_ask, code: "stay_too_short" },
        reasons: [reason("stay_too_short", say("too_short", { minutes: look.minutesOf(need) }), "charge table")],
      };
    }
    if (goal.percent <= from) {
      var met = say("already", { dash: dash(found), percent: goal.percent, cases: in_miles ? say("in_cases") : "" });
      return { verdict: "ask_first", reasons: [reason("need_already_met", met, "charge table")], ask: words.met_ask };
    }
    if (found.reach <= from) return beyondFull(call, found, changes);
    if (outcome.ask !== undefined) {
      var short = found.short && found.in_time === undefined ? sourceShort(call, found, []).reasons : [];
      return {
        verdict: "ask_first", ask: words.which_port_ask,
        reasons: [reason("which_port", texts[outcome.ask], "class record")].concat(short, changes),
      };
    }
    if (found.in_time !== undefined) return timeShort(found, changes);
    if (!found.session || found.short) return sourceShort(call, found, changes);
    if (goal.percent > 100) return notSure(call, found, changes);
    if (data.engine && call.tank === null) {
      return { verdict: "ask_first", reasons: [words.fuel_first].concat(changes), ask: words.fuel_ask };
    }
    if (need.kind === "charger" && need.fits !== true) {
      var open = goalText(call, found) + say("goal_open", { points: say("goal_fits") + " and " + say("goal_works") });
      return {
        verdict: "ask_first", ask: words.charger_ask,
        reasons: [reason("charger_not_known", open, words.common_practice)].concat(changes),
      };
    }
    if (changes.length) return { verdict: "serve_with_changes", reasons: changes, ask: null };
    var link = found.chain[outcome.set_by];
    var text = say("fits", { amps: amps(outcome.output_a), held_by: heldBy(link) });
    if (outcome.told_a) text = say("fits_by_code", { amps: amps(outcome.told_a) });
    return { verdict: "serve", reasons: [reason("fits", text, link.source)], ask: null };
  }

  /**
   * Why a setting is refused; what changes with height and air stands in the ladder.
   * @param {Data} found
   * @returns {string}
   */
  function refusalText(found) {
    var outcome = found.outcome, text = found.data.texts[outcome.text];
    if (outcome.set_by === undefined) return text;
    var link = found.chain[outcome.set_by], stands = found.rig.marks.filter(function (/** @type {[string, number]} */ mark) {
      return mark[0] === found.rig.stands;
    })[0][1];
    return fill(text, {
      link: link.name, allowed: amps(link.limit_a), less: amps(stands - link.limit_a), basis: link.basis,
    });
  }

  /** @param {Call} call @param {Data} found @returns {string} */
  function goalText(call, found) {
    var need = call.need;
    var far = say("goal_far", {
      goal: need.kind === "charger" ? look.words().charger_name : "Home", distance: (need.value || 0) + " mi",
    });
    var about = ".";
    if (found.session && !found.short && found.in_time === undefined) {
      var parts = look.parts(found.rig.supply, found.rate, found.session, found.start.percent, found.ready_min);
      about = say("goal_minutes", { minutes: look.total(parts) });
    }
    return say("goal_takes", { far: far, percent: found.target.percent }) + about;
  }

  /**
   * The verdict with what place and vehicle say: the worst of all decides and is told first.
   * @param {Data} found
   * @param {{verdict: string, reasons: Data[], ask: Data|null}} judged
   * @returns {{verdict: string, reasons: Data[], ask: Data|null}}
   */
  function withRulings(found, judged) {
    var refuse = ofLevel(found.rulings, "refuse"), ask = ofLevel(found.rulings, "ask");
    var rest = ofLevel(found.rulings, "try").concat(ofLevel(found.rulings, "change"));
    var open = judged.verdict === "serve" ? [] : judged.reasons;
    if (refuse.length) {
      return {
        verdict: "cannot_serve", ask: null,
        reasons: refuse.concat(judged.verdict === "cannot_serve" ? judged.reasons : []),
      };
    }
    if (judged.verdict === "cannot_serve") return judged;
    if (ask.length) {
      return {
        verdict: "ask_first", reasons: ask.concat(open, rest), ask: { question: ask[0].question, code: ask[0].code },
      };
    }
    if (judged.verdict === "ask_first") return { verdict: "ask_first", reasons: judged.reasons.concat(rest), ask: judged.ask };
    if (ofLevel(found.rulings, "try").length) return { verdict: "try", reasons: rest.concat(open), ask: null };
    if (rest.length) return { verdict: "serve_with_changes", reasons: rest.concat(open), ask: null };
    return judged;
  }

  /** @param {Data} found @returns {string} */
  function dash(found) {
    var start = found.start;
    if (start.said === null) return say("dash_percent", { percent: start.percent });
    return say("dash_taken", { said: start.said, percent: start.percent });
  }

  /** @param {Data} link @returns {string} */
  function heldBy(link) {
    return say("held_by", { link: link.name, amps: amps(link.limit_a), basis: link.basis });
  }

  /**
   * What has to be changed, or kept to, before this vehicle may be served at this setting.
   * @param {Data} found
   * @returns {Data[]}
   */
  function changesOf(found) {
    var outcome = found.outcome, words = look.words(), texts = found.data.texts, path = found.path;
    var link = found.chain[outcome.set_by];
    /** @type {Data[]} */
    var changes = [];
    if (path.kept === "at_depot") {
      changes.push(reason("bring_adapter", say("bring_adapter", { adapter: words.adapters[path.adapter] }), "rig record"));
    }
    if (outcome.moved) {
      changes.push(
        reason(
          "turn_setting",
          say(found.rig.survives ? "turn_from" : "turn_set", {
            from_mark: found.rig.stands, mark: outcome.mark, amps: amps(outcome.output_a), held_by: heldBy(link),
          }),
          link.source
        )
      );
    }
    if (outcome.cabin_off) changes.push(words.cabin_off);
    if (outcome.other_port !== undefined) changes.push(reason("other_port", texts[outcome.other_port], "class record"));
    if (outcome.this_class_only) changes.push(thisClassOnly(found));
    return changes;
  }

  /** @param {Data} found @returns {Data} */
  function thisClassOnly(found) {
    var allowed = amps(allowedA(found));
    return reason(
      "this_class_only",
      say("this_class_only", { amps: amps(found.outcome.output_a), allowed: allowed, stop: allowed }),
      look.words().common_practice
    );
  }

  /** @param {Data} found @returns {number} */
  function allowedA(found) {
    return found.chain[found.outcome.set_by].limit_a;
  }

  /**
   * What is told beside a yes: a cold start, fuel that may be the quicker help.
   * @param {Call} call
   * @param {Data} found
   * @returns {Data[]}
   */
  function secondThoughts(call, found) {
    var thoughts = [], cold = coldText(call, found);
    if (cold) thoughts.push(reason("cold_vehicle", cold, look.words().cold_source));
    if (found.data.engine) thoughts.push(look.words().fuel_first);
    return thoughts;
  }

  /**
   * What the cold does to this vehicle here; empty where it does nothing.
   * @param {Call} call
   * @param {Data} found
   * @returns {string}
   */
  function coldText(call, found) {
    var packs = found.data.packs, rate = found.rate;
    if (!rate || call.ambient >= packs.unknown.length) return "";
    var texts = [];
    if (rate.crawls) texts.push(say("cold_crawls", { power: kilowatts(rate.crawls) }));
    else if (rate.cold >= 0) {
      texts.push(
        say("cold_warms", {
          pack: packs[call.pack][call.ambient], minutes: rate.warm_min, more: Math.ceil(rate.cold_start.offset_s / 60),
        })
      );
    }
    if (Number(packs.cabin_kw[call.ambient]) > 0 && !found.outcome.cabin_off) {
      texts.push(say("cold_cabin", { cabin: packs.cabin_kw[call.ambient], share: rate.cabin_share }));
    }
    var store = found.rig.supply.battery;
    if (store && !store.cold_known) texts.push(say("cold_store"));
    return texts.join(" ");
  }

  /**
   * @param {Call} call
   * @param {Data} found
   * @param {Data[]} changes
   * @returns {{verdict: string, reasons: Data[], ask: Data|null}}
   */
  function beyondFull(call, found, changes) {
    var words = look.words(), data = found.data, kept = look.kept(call.need);
    var keeps = kept.miles
      ? say("keeps_or_miles", { percent: kept.percent, miles: kept.miles })
      : say("keeps_percent", { percent: kept.percent });
    var text = say("too_far", {
      distance: (call.need.value || 0) + " mi", kept: keeps, most: wholeMiles(found.target.most_mi),
    });
    if (data.engine) {
      return {
        verdict: "ask_first", ask: words.fuel_ask,
        reasons: [reason("need_exceeds_battery", text, "charge table")].concat(changes),
      };
    }
    var now = Math.max(data.battery_wh[found.start.percent] - found.target.kept_wh - found.road.hills, 0);
    text += say("too_far_now", {
      now: wholeMiles((10 * now) / found.road.wh), what_would_do: whatWouldDo(call, found),
    });
    return { verdict: "cannot_serve", reasons: [reason("need_exceeds_battery", text, "charge table")], ask: null };
  }

  /**
   * The mildest way of driving that would make the need in nine of ten cases, null where none does.
   * @param {Call} call
   * @param {Data} found
   * @returns {{mph: number|null, heat: boolean, how: string}|null} miles an hour where they are others, heat as it then is
   */
  function milderWay(call, found) {
    var words = look.words(), data = found.data, own_mph = words.speed_steps_mph[call.speed];
    var speeds = [call.speed];
    words.slower_mph.forEach(function (/** @type {number} */ mph) {
      if (own_mph === null || mph < own_mph) speeds.push(words.speed_steps_mph.indexOf(mph));
    });
    var heats = call.heat ? [true, false] : [false];
    for (var h = 0; h < heats.length; h += 1) {
      for (var s = 0; s < speeds.length; s += 1) {
        if (speeds[s] === call.speed && heats[h] === call.heat) continue;
        var wanted = look.takes(data, call.need, look.roadOf(data, call, speeds[s], heats[h]));
        if (Math.max(wanted.sure, wanted.typical + wanted.kept) > data.battery_wh[100]) continue;
        var how = [];
        if (speeds[s] !== call.speed) how.push(say("slower", { speed: words.speed_steps_mph[speeds[s]] }));
        if (heats[h] !== call.heat) how.push(say("no_cabin"));
        return {
          mph: speeds[s] === call.speed ? null : words.speed_steps_mph[speeds[s]], heat: heats[h], how: how.join(" and "),
        };
      }
    }
    return null;
  }

  /** @param {Call} call @param {Data} found @returns {string} */
  function whatWouldDo(call, found) {
    var way = milderWay(call, found);
    return way ? say("would_do", { how: way.how }) : "";
  }

  /**
   * @param {Call} call
   * @param {Data} found
   * @param {Data[]} changes
   * @returns {{verdict: string, reasons: Data[], ask: Data|null}}
   */
  function notSure(call, found, changes) {
    var words = look.words(), planned = found.session.percent;
    found.chance = chance(call, found, planned); // of 100
    var text = say("not_sure", {
      percent: planned, distance: (call.need.value || 0) + " mi", chance: found.chance,
      most: wholeMiles(found.target.most_mi), what_would_do: whatWouldDo(call, found),
    });
    return {
      verdict: "ask_first", ask: found.data.engine ? words.fuel_ask : words.not_sure_ask,
      reasons: [reason("need_not_sure", text, "road model, method page")].concat(changes),
    };
  }

  /**
   * In how many of 100 cases a charge makes the need, down to a ten: the published table is no finer.
   * @param {Call} call
   * @param {Data} found
   * @param {number} planned
   * @returns {number}
   */
  function chance(call, found, planned) {
    var words = look.words(), road = found.road;
    var unsure = Math.ceil(((call.need.value || 0) * road.wh) / 10) + road.hills;
    var most = (1000 * found.data.battery_wh[planned]) / unsure;
    var shares = words.chance_shares, at = 0;
    found.data.road.chance_permille.forEach(function (/** @type {number[]} */ _, /** @type {number} */ place) {
      var share = shares[place];
      if (Math.abs(share - road.share) < Math.abs(shares[at] - road.share)) at = place;
    });
    var chances = 0;
    found.data.road.chance_permille[at].forEach(function (/** @type {number} */ ratio, /** @type {number} */ place) {
      if (ratio <= most) chances = words.chances[place];
    });
    return chances;
  }

  /**
   * @param {Data} found
   * @param {Data[]} changes
   * @returns {{verdict: string, reasons: Data[], ask: Data|null}}
   */
  function timeShort(found, changes) {
    var words = look.words(), cap = words.shoulder_cap_min, data = found.data;
    var first = say("shoulder_first", { cap: cap });
    if (!found.session) {
      return {
        verdict: "cannot_serve", ask: null,
        reasons: [reason("shoulder_time_cap", say("shoulder_nothing", { first: first }), words.shoulder_source)],
      };
    }
    var added = data.battery_wh[found.in_time] - data.battery_wh[found.start.percent];
    var text = say("shoulder_gives", {
      first: first, percent: found.in_time, miles: Math.floor((10 * added) / atMostWh(found.road)),
      target: Math.min(found.target.percent, 100),
    });
    return {
      verdict: "ask_first",
      ask: { question: say("ask_shoulder", { minutes: found.too_long_min, cap: cap }), code: "shoulder_time_cap" },
      reasons: [reason("shoulder_time_cap", text, words.shoulder_source)].concat(changes),
    };
  }

  /** @param {Data} road @returns {number} */
  function atMostWh(road) {
    return Math.ceil((road.wh * road.miles_permille) / 1000);
  }

  /**
   * @param {Call} call
   * @param {Data} found
   * @param {Data[]} changes
   * @returns {{verdict: string, reasons: Data[], ask: Data|null}}
   */
  function sourceShort(call, found, changes) {
    var store = found.rig.supply.battery, rig = found.rig.name;
    var what = store ? "charge" : call.fuel;
    var kept = say(store ? (store.way_home_kwh ? "kept_floor_home" : "kept_floor") : "kept_fuel");
    if (!found.session) {
      return {
        verdict: "cannot_serve", ask: null,
        reasons: [reason("source_empty", say("source_empty", { rig: rig, what: what, kept: kept }), "rig record")].concat(
          otherFuel(call, found)
        ),
      };
    }
    var percent = found.in_reach;
    var text = say("source_short", {
      rig: rig, what: what, percent: percent, target: Math.min(found.target.percent, 100), kept: kept,
    });
    return {
      verdict: "ask_first", ask: { question: say("ask_source_short", { percent: percent, target: Math.min(found.target.percent, 100) }), code: "source_short" },
      reasons: [reason("source_short", text, "rig record")].concat(changes, otherFuel(call, found)),
    };
  }

  /**
   * Another fuel on board that would serve where this one does not, or farther.
   * @param {Call} call
   * @param {Data} found
   * @returns {Data[]}
   */
  function otherFuel(call, found) {
    var fuels = found.rig.supply.fuels;
    if (!fuels) return [];
    return Object.keys(fuels)
      .filter(function (fuel) {
        if (fuel === call.fuel || fuels[fuel].tank_l + fuels[fuel].spare_l <= 0) return false;
        var other = look.numbers(Object.assign({}, call, { fuel: fuel }), { cap_min: null, ready_min: 0 });
        if (other.outcome.refused || !other.session) return false;
        return !found.session || other.session.percent > found.session.percent;
      })
      .map(function (fuel) {
        return reason("better_fuel", fill(look.words().better_fuel, { fuel: fuel.charAt(0).toUpperCase() + fuel.slice(1) }), "rig record");
      });
  }

  /**
   * A tow, where it is the better answer.
   * @param {Call} call
   * @param {Data} found
   * @param {Data} result
   * @param {number} on_site
   * @returns {Data[]}
   */
  function tow(call, found, result, on_site) {
    var words = look.words();
    if (!look.inMiles(call.need)) return [];
    var most = on_site;
    if (result.bands) {
      if (result.bands.on_site.p90 === null) return [];
      most = result.bands.on_site.p90;
    }
    var tow_min = words.tow_hook_min + Math.ceil((60 * (call.need.value || 0)) / words.tow_mph);
    if (most <= words.tow_factor * tow_min) return [];
    var text = say("tow", { tow: spoken(tow_min), distance: (call.need.value || 0) + " mi", stay: spoken(most) });
    return [reason("tow_quicker", text, "own-judgement")];
  }

  // ------------------------------------------------------------------------------------------- what the crew is told

  /** @param {Data} found @returns {Data} */
  function settingOf(found) {
    var outcome = found.outcome, rig = found.rig, sheet = found.data.sheets[outcome.sheet];
    return {
      mark: outcome.mark,
      output_a: outcome.output_a,
      read_back_a: outcome.told_a || outcome.output_a,
      from_mark: rig.survives ? rig.stands : null,
      moved: Boolean(outcome.moved),
      start_mark: sheet.start_mark,
      allowed_a: allowedA(found),
      steps: sheet.turn.map(function (/** @type {number} */ at) {
        return found.data.texts[at];
      }),
    };
  }

  /**
   * What to watch: what it is, from, to, stop below, stop above, unit.
   * @param {Data} found
   * @returns {Array<[string, number, number, number|null, number|null, string]>}
   */
  function watch(found) {
    var rate = found.rate, high = found.outcome.watch || rate.highest, low = rate.lowest, volts = rate.volts;
    /** @type {Array<[string, number, number, number|null, number|null, string]>} */
    var lines = [
      ["current at the meter", low[0] / 10, high[0] / 10, null, high[1] / 10, "A"],
      ["volts at the EVSE", low[2] / 10, volts[0] / 10, volts[1], volts[2] / 10, "V"],
      ["power at the meter", low[1] / 10, high[2] / 10, null, high[3] / 10, "kW"],
      ["power the car shows", low[3] / 10, rate.power_inlet / 10, null, null, "kW"],
    ];
    found.rig.hertz.forEach(function (/** @type {number[]} */ hertz) {
      lines.push(["hertz at the source", hertz[0] / 10, hertz[1] / 10, hertz[2], hertz[3] / 10, "Hz"]);
    });
    return lines;
  }

  /**
   * What common stays give.
   * @param {Call} call
   * @param {Data} found
   * @returns {Data[]}
   */
  function menu(call, found) {
    var words = look.words(), data = found.data, rate = found.rate, road = found.road, from = found.start.percent;
    var most = Math.max(words.last_ordinary, found.session ? found.session.percent : 0);
    if (found.in_reach !== undefined && found.in_reach !== null && found.in_time === undefined) most = found.in_reach;
    /** @type {Array<[string, number]>} */
    var goals = look.inMiles(call.need) ? [[(call.need.value || 0) + " mi", call.need.value || 0]] : [];
    goals = goals.concat(call.places);
    var enough = mostByEnergy(call, found, most, 60 * words.menu_min[words.menu_min.length - 1] - words.handshake_s);
    most = Math.min(most, enough);
    /** @type {Data[]} */
    var entries = [];
    for (var at = 0; at < words.menu_min.length; at += 1) {
      var minutes = words.menu_min[at];
      var percent = Math.max(Math.min(look.percentAfter(data, rate, from, 60 * minutes - words.handshake_s), most), from);
      var stored = data.battery_wh[percent], added = stored - data.battery_wh[from];
      if (entries.length && percent >= most && entries[entries.length - 1].percent >= most) break;
      entries.push({
        minutes: minutes,
        wh: added,
        percent: percent,
        miles_likely: Math.floor((10 * added) / road.wh),
        miles_at_least: Math.floor((10 * added) / atMostWh(road)),
        reaches: reached(goals, stored, road),
      });
    }
    return entries;
  }

  /**
   * @param {Array<[string, number]>} goals
   * @param {number} stored
   * @param {Data} road
   * @returns {string[]}
   */
  function reached(goals, stored, road) {
    /** @type {string[]} */
    var names = [];
    goals.forEach(function (goal) {
      var likely = Math.max(Math.ceil((goal[1] * road.wh) / 10) + road.hills, 0);
      if (look.sureWh(goal[1], road) <= stored) names.push(goal[0]);
      else if (likely <= stored) names.push(goal[0] + " likely");
    });
    return names;
  }

  /**
   * The whole miles that a percent is good for in nine of ten cases, with none left over.
   * @param {Data} found
   * @param {number} percent
   * @returns {number}
   */
  function milesAt(found, percent) {
    return Math.floor(look.sureMiles(found.data.battery_wh[percent], found.road) + SLACK);
  }

  /**
   * The places that were named beside the need, and that what is charged does not reach in nine of ten cases.
   * @param {Data} plan
   * @returns {Array<[string, number]>}
   */
  function notReached(plan) {
    if (plan.target === undefined) return [];
    var found = plan.found, stored = found.data.battery_wh[plan.target];
    return found.call.places.filter(function (/** @type {[string, number]} */ goal) {
      return look.sureWh(goal[1], found.road) > stored;
    });
  }

  /**
   * The percent that the rig's own energy reaches within the longest stay, `most` where that is no bound.
   * @param {Call} call
   * @param {Data} found
   * @param {number} most
   * @param {number} longest
   * @returns {number}
   */
  function mostByEnergy(call, found, most, longest) {
    var data = found.data, rate = found.rate, supply = found.rig.supply, from = found.start.percent;
    var last = Math.min(look.percentAfter(data, rate, from, longest), most);
    if (last <= from || look.session(data, rate, supply, call, from, last).enough) return most;
    var low = from, high = last;
    while (high - low > 1) {
      var middle = Math.floor((low + high) / 2);
      if (look.session(data, rate, supply, call, from, middle).enough) low = middle;
      else high = middle;
    }
    return low;
  }

  /** @param {Data} found @returns {string[]} */
  function abort(found) {
    var words = look.words(), rig = found.rig, supply = rig.supply;
    var lines = rig.abort.slice();
    if (found.shoulder) lines.push(say("shoulder_over", { cap: words.shoulder_cap_min }));
    lines.push(words.no_current_abort);
    var from = Math.min(found.start.percent, 99);
    var one = look.seconds(found.rate, from, from + 1) / 60 + supply.minutes.handshake[2];
    lines.push(say("no_percent", { minutes: Math.max(15, 5 * Math.ceil((2 * one) / 5)) }));
    if (supply.battery) {
      var store = supply.battery, in_air = store.in_air_kwh[found.call.ambient];
      var kept = store.floor + (in_air ? store.way_home_kwh / in_air : 0);
      lines.push(
        say("store_floor", {
          percent: Math.min(Math.ceil(100 * kept), 100), what: say(store.way_home_kwh ? "kept_floor_home" : "kept_floor"),
        })
      );
    } else if (supply.fuels && found.session) {
      lines.push(say("fuel_floor", { fuel: gallons(found.session.keep_l) }));
    }
    ofLevel(found.rulings, "try").forEach(function (one_try) {
      if (one_try.give_up) lines.push(one_try.give_up);
    });
    return lines;
  }

  /** Whether a charge is so long that plugs are felt once an hour. @param {Data} session @returns {boolean} */
  function isFeltHourly(session) {
    return session.seconds > 5400;
  }

  /**
   * Whether people wait so long, in such cold, that they must know where to keep warm.
   * @param {Call} call
   * @param {Data} parts the minutes on site
   * @returns {boolean}
   */
  function isColdWait(call, parts) {
    return look.total(parts) > look.words().cold_wait_min && call.ambient < look.words().cold_wait_airs;
  }

  /**
   * The cautions that apply to this call.
   * @param {Call} call
   * @param {Data} found
   * @param {Data} result
   * @returns {Data[]}
   */
  function cautions(call, found, result) {
    var words = look.words(), texts = found.data.texts, cold = coldText(call, found);
    /** @type {Data[]} */
    var told = [];
    /** @param {string} code @param {string} level @param {string} text @param {string} source */
    function tell(code, level, text, source) {
      told.push({ code: code, level: level, text: text, source: source });
    }
    /** @param {Data} caution */
    function tellOf(caution) {
      tell(caution.code, caution.level, caution.text, caution.source);
    }
    var list = found.data.sheets[found.outcome.sheet].cautions;
    var late = ["lfp_dash", "propane_cold", "propane_frost", "ask_fuel_first", "not_by_the_clock"];
    var last = ["ask_fuel_first", "not_by_the_clock"];
    var dead_told = false, end_told = false;
    list.forEach(function (/** @type {Data} */ item) {
      if (!dead_told && late.indexOf(item[0]) >= 0) {
        dead_told = true;
        if (cold) tell("cold_vehicle", "change", cold, words.cold_source);
        if (found.start.dead && !call.condition.twelve_volt) tellOf(words.dead_caution);
      }
      if (!end_told && last.indexOf(item[0]) >= 0) {
        end_told = true;
        if (result.parts && look.total(result.parts) > words.long_stay_min) tellOf(words.long_stay_caution);
        if (result.parts && isColdWait(call, result.parts)) tellOf(words.cold_wait_caution);
        if (result.target !== undefined && result.target > words.last_ordinary) tellOf(words.last_percents_caution);
      }
      if (item[0] === "this_class_only") tell(item[0], item[1], thisClassOnly(found).text, texts[item[3]]);
      else tell(item[0], item[1], fill(texts[item[2]], { air: words.airs[call.ambient] }), texts[item[3]]);
    });
    return told;
  }

  /**
   * What the crew does, in its order.
   * @param {Call} call
   * @param {Data} found
   * @param {Data} result
   * @returns {string[]}
   */
  function steps(call, found, result) {
    var sheet = found.data.sheets[found.outcome.sheet], texts = found.data.texts, rate = found.rate;
    var session = found.session, tries = ofLevel(found.rulings, "try");
    /** @param {number[]} places @returns {string[]} */
    function told(places) {
      return places.map(function (at) {
        return texts[at];
      });
    }
    /** @type {string[]} */
    var lines = [];
    var things = [], fetched = told(sheet.fetched), wanted = needed(found);
    if (fetched.length) things.push(say("take", { things: fetched.join(" and ") }));
    if (wanted.length) things.push(say("bring", { things: wanted.join("; ") }));
    if (things.length) lines.push(say("before_driving", { things: things.join("; ") }));
    lines = lines.concat(told(sheet.arrival));
    tries.forEach(function (one) {
      if (one.step) lines.push(one.step);
    });
    var hertz = found.rig.hertz.map(function (/** @type {number[]} */ line) {
      return ", " + line[2] + " to " + Math.floor(line[3] / 10) + " Hz";
    });
    var window_text = rate.volts[3] + " to " + rate.volts[4] + " V" + hertz.join("");
    var draws = say("draws", {
      amps: rate.current / 10 + " A", power: kilowatts(rate.power_meter), volts: rate.volts_evse + " V",
    });
    told(sheet.supply.concat(sheet.plug_in)).forEach(function (line) {
      lines.push(fill(line, { window: window_text, draws: draws }));
    });
    var meanwhile = [], packs = found.data.packs;
    var cabin = call.ambient < packs.cabin_kw.length && Number(packs.cabin_kw[call.ambient]) > 0;
    if (cabin || found.outcome.cabin_off) {
      meanwhile.push(say("cabin_off_now", { must: found.outcome.cabin_off ? say("it_must") : "" }));
    }
    if (rate.warm_min) meanwhile.push(say("cold_wait", { minutes: rate.warm_min }));
    if (meanwhile.length) lines.push(meanwhile.join(" "));
    var often = isFeltHourly(session) ? "feel_hourly" : session.seconds > 1800 ? "feel_twice" : "feel_once";
    if (session.seconds > 600) lines.push(say("feel", { when: say(often) }));
    if (session.stops) {
      var stops = session.stops > 1 ? say("times", { count: session.stops }) : say("once");
      lines.push(say("refuel", { stops: stops, plug_in: texts[sheet.again] }));
    }
    var release = say("release", { percent: session.percent, energy: tenths(session.meter_wh) });
    if (result.bands && result.bands.charging.p90 !== null) {
      release += say("not_there", { stay: spoken(result.bands.charging.p90) });
    }
    lines.push(release);
    return lines.concat(told(sheet.end));
  }

  /**
   * What to tell the customer: minutes from the high end, miles from the low end.
   * @param {Call} call
   * @param {Data} found
   * @param {Data} result
   * @returns {string}
   */
  function sentence(call, found, result) {
    var words = look.words(), session = found.session;
    if (!session) return "";
    var on_site = look.total(result.parts), allow;
    if (found.shoulder) allow = say("say_shoulder", { cap: words.shoulder_cap_min });
    else if (result.bands && result.bands.on_site.p90 !== null) {
      allow = say("say_up_to", { stay: spoken(Math.max(result.bands.on_site.p90, on_site)) });
    } else allow = say("say_about", { stay: spoken(on_site) }) + (result.bands ? say("say_longer") : "");
    var stored = found.data.battery_wh[session.percent];
    var miles = Math.floor(look.sureMiles(stored, found.road) + SLACK);
    if (look.inMiles(call.need) && look.sureWh(call.need.value || 0, found.road) <= stored) miles = call.need.value || 0;
    var speed = words.speed_steps_mph[call.speed];
    var how = speed === null ? say("say_ordinary") : say("say_speed", { speed: speed });
    if (!call.heat) how += say("say_no_cabin");
    var parts = [
      say("say", {
        allow: allow, percent: session.percent, miles: say(miles === 1 ? "say_mile" : "say_miles", { miles: miles }),
        how: say("say_percent", { how: how }),
      }),
    ];
    if (found.rig.engine) parts.push(say("say_engine"));
    parts.push(say(found.data.cabin ? "say_cabin" : "say_key"));
    if (isColdWait(call, result.parts)) parts.push(say("say_warm"));
    return parts.join(" ");
  }

  rangeferry.sheet = {
    milesAt: milesAt, milderWay: milderWay,
    notReached: notReached,
    plan: plan, rulings: rulings, fill: fill, say: say, amps: amps, kilowatts: kilowatts, gallons: gallons, spoken: spoken,
    shown: shown, isColdWait: isColdWait, isFeltHourly: isFeltHourly,
    hoursMinutes: hoursMinutes, down: down, up: up,
  };
})();
