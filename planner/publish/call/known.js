// A vehicle that is not known as a class: what holds for every class it may be, and what to ask next. It goes from the
// least of the classes' one-in-ten to the greatest of their nine-in-ten; no class is weighed. The planner's own order.

(function () {
  "use strict";

  var DEPENDS_MIN = 1440; // some served and some refused is worse than any width of minutes: a day
  var SERVED = ["serve", "serve_with_changes", "try"];
  // Of a class as the words have it.
  var NAME = 0,
    BODY = 1,
    PORTS = 2,
    FROM = 3,
    TO = 4,
    LOW = 5,
    HIGH = 6,
    ENGINE = 7,
    ALSO = 8,
    CASES = 9;

  /**
   * What is known of the vehicle, empty where nobody could tell.
   * @typedef {{port: string, body: string, built: string, battery: string, door: string}} Known
   */

  /**
   * A class with a port it is taken to have, and what its call comes to.
   * @typedef {{id: string, inlet: string, plan: any}} Member
   */

  /**
   * @param {any} words
   * @param {any} item a class
   * @param {Known} known
   * @returns {boolean}
   */
  function mayBe(words, item, known) {
    var years = words.built[known.built],
      kwh = words.batteries[known.battery];
    return (
      (!known.port || item[PORTS].indexOf(known.port) >= 0) &&
      (!known.body || item[BODY] === known.body) &&
      (!years || (item[FROM] <= years[1] && item[TO] >= years[0])) &&
      (!kwh || (item[LOW] < kwh[1] && item[HIGH] >= kwh[0])) &&
      (!known.door || (known.door === "yes") === Boolean(item[ENGINE]))
    );
  }

  /**
   * The classes that the vehicle may be.
   * @param {any} words
   * @param {Known} known
   * @returns {string[]}
   */
  function matching(words, known) {
    return Object.keys(words.classes).filter(function (id) {
      return mayBe(words, words.classes[id], known);
    });
  }

  /**
   * The classes that hold every word that was typed, those whose name begins with one first.
   * @param {any} words
   * @param {string} typed
   * @returns {string[]}
   */
  function find(words, typed) {
    var wanted = runs(plain(typed));
    if (!wanted.length) return [];
    /** @type {Array<[number, number, string]>} */
    var found = [];
    Object.keys(words.classes).forEach(function (id, at) {
      var item = words.classes[id];
      var ports = item[PORTS].map(function (/** @type {string} */ port) {
        return words.inlets[port][0];
      });
      var all = [item[NAME], words.bodies[item[BODY]]].concat(item[ALSO], ports);
      var text = plain(all.join(" "));
      var parts = runs(text).concat(text.replace(/[^\p{L}\p{N} ]/gu, "").split(" "));
      var fits = wanted.every(function (word) {
        return parts.some(function (part) {
          return part.indexOf(word) === 0 || (word.length > 3 && word === part + "s");
        });
      });
      if (fits) found.push([plain(item[NAME]).indexOf(wanted[0]) === 0 ? 0 : 1, at, id]);
    });
    return found
      .sort(function (a, b) {
        return a[0] - b[0] || a[1] - b[1];
      })
      .map(function (one) {
        return one[2];
      });
  }

  /** Letters and figures, each run by itself. @param {string} text @returns {string[]} */
  function runs(text) {
    /** @type {string[]} */
    var none = [];
    return text.match(/[\p{L}\p{N}]+/gu) || none;
  }

  /** @param {string} text @returns {string} */
  function plain(text) {
    return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
  }

  /**
   * The ports that a class is taken to have: each is a case of its own where nobody has said which.
   * @param {any} words
   * @param {string} id
   * @param {Known} known
   * @returns {string[]}
   */
  function cases(words, id, known) {
    return known.port ? [known.port] : words.classes[id][CASES];
  }

  /**
   * How far a group of answers leaves it open: minutes from end to end, a day where it depends on which.
   * @param {any[]} plans
   * @returns {number}
   */
  function width(plans) {
    var served = plans.filter(isServed);
    if (!served.length) return plans.every(isRefused) ? 0 : DEPENDS_MIN;
    if (served.length < plans.length) return DEPENDS_MIN;
    var found = ends(served);
    return found.low === null || found.high === null ? DEPENDS_MIN : found.high - found.low;
  }

  /** @param {any} plan @returns {boolean} */
  function isServed(plan) {
    return SERVED.indexOf(plan.verdict) >= 0;
  }

  /** @param {any} plan @returns {boolean} */
  function isRefused(plan) {
    return plan.verdict === "cannot_serve";
  }

  /**
   * The least one-in-ten and the greatest nine-in-ten, in whole minutes; null at an end that some class never reaches.
   * @param {any[]} served
   * @returns {{low: number|null, high: number|null}}
   */
  function ends(served) {
    /** @type {number|null} */
    var low = null;
    /** @type {number|null} */
    var high = null;
    var open = false;
    served.forEach(function (plan) {
      if (plan.minutes_on_site === undefined) return;
      var best = plan.at_best === null ? null : Math.floor(plan.at_best + 1e-9);
      if (best !== null) low = low === null ? best : Math.min(low, best);
      if (plan.allow === null) open = true;
      else high = Math.max(high === null ? 0 : high, Math.ceil(plan.allow - 1e-9));
    });
    return { low: low, high: open ? null : high };
  }

  /**
   * The first and the last of some figures; null where there is none.
   * @param {any[]} plans
   * @param {function(any): number|undefined} of
   * @returns {[number, number]|null}
   */
  function range(plans, of) {
    var values = /** @type {number[]} */ (
      plans.map(of).filter(function (value) {
        return value !== undefined;
      })
    );
    return values.length ? [Math.min.apply(null, values), Math.max.apply(null, values)] : null;
  }

  /**
   * @param {string[]} things
   * @returns {string[]}
   */
  function unique(things) {
    return things.filter(function (thing, at) {
      return things.indexOf(thing) === at;
    });
  }

  /**
   * What holds for every class that the vehicle may be. `answer` gives the plan of a class with a port.
   * @param {any} words
   * @param {string[]} ids
   * @param {Known} known
   * @param {function(string, string): any} answer
   * @param {Object<string, boolean>} [passed] questions that nobody could answer
   * @returns {any}
   */
  function envelope(words, ids, known, answer, passed) {
    /** @type {Member[]} */
    var members = [];
    ids.forEach(function (id) {
      cases(words, id, known).forEach(function (inlet) {
        members.push({ id: id, inlet: inlet, plan: answer(id, inlet) });
      });
    });
    var plans = members.map(planOf);
    var open_codes = unique(
      plans
        .filter(function (plan) {
          return plan.ask && plan.verdict === "ask_first";
        })
        .map(function (plan) {
          return plan.ask.code;
        })
    );
    var of_all = open_codes.length === 1 && !plans.some(isServed);
    var served = plans.filter(function (plan) {
      return isServed(plan) || (of_all && plan.ask && plan.minutes_on_site !== undefined);
    });
    var next = questions(words, ids, known, members).filter(function (one) {
      return !(passed && passed[one.field]);
    });
    var ask = next.length && width(plans) > 0 ? next[0] : null;
    if (of_all) {
      ask = plans.filter(function (plan) {
        return plan.ask;
      })[0].ask;
    }
    var marks = unique(
      served
        .filter(function (plan) {
          return plan.setting;
        })
        .map(function (plan) {
          return plan.setting.mark;
        })
    );
    var not_refused = plans.filter(function (plan) {
      return !isRefused(plan);
    });
    return {
      members: members,
      verdict: verdictOf(plans, served, of_all, marks),
      of_all: of_all,
      served: served.length,
      refused: plans.length - not_refused.length,
      ends: ends(served),
      targets: range(served, function (plan) {
        return plan.target;
      }),
      likely: range(served, function (plan) {
        return plan.minutes_on_site;
      }),
      rates: range(served, function (plan) {
        return plan.miles_added_per_hour;
      }),
      marks: marks,
      adapters: unique(
        served
          .filter(function (plan) {
            return plan.path;
          })
          .map(function (plan) {
            return plan.path.adapter ? words.adapters[plan.path.adapter] + words.kept[plan.path.kept] : "no adapter";
          })
      ),
      reasons: ofEach(words, not_refused.length ? not_refused : plans),
      ask: ask,
      next: width(plans) > 0 && next.length ? next[0] : null,
    };
  }

  /** @param {Member} member @returns {any} */
  function planOf(member) {
    return member.plan;
  }

  /**
   * @param {any[]} plans
   * @param {any[]} served
   * @param {boolean} of_all
   * @param {string[]} marks
   * @returns {string}
   */
  function verdictOf(plans, served, of_all, marks) {
    if (of_all) return "ask_first";
    if (served.length < plans.length) return plans.every(isRefused) ? "cannot_serve" : "ask_first";
    /** @param {string} verdict @returns {boolean} */
    function any(verdict) {
      return served.some(function (plan) {
        return plan.verdict === verdict;
      });
    }
    if (any("try")) return "try";
    return any("serve_with_changes") || marks.length > 1 ? "serve_with_changes" : "serve";
  }

  /**
   * What place and vehicle say of every class alike.
   * @param {any} words
   * @param {any[]} plans
   * @returns {any[]}
   */
  function ofEach(words, plans) {
    return plans[0].reasons.filter(function (/** @type {any} */ reason) {
      var rule = words.rules.some(function (/** @type {any} */ one) {
        return one.code === reason.code;
      });
      return (
        rule &&
        plans.every(function (plan) {
          return plan.reasons.some(function (/** @type {any} */ other) {
            return other.text === reason.text;
          });
        })
      );
    });
  }

  /**
   * What could be asked next, the best first: the smallest mean width over its answers. Ties go to what can be seen.
   * @param {any} words
   * @param {string[]} ids
   * @param {Known} known
   * @param {Member[]} members
   * @returns {Array<{code: string, field: string, answers: string[], question: string, mean: number}>}
   */
  function questions(words, ids, known, members) {
    /** @type {Array<{code: string, field: string, answers: string[], question: string, mean: number}>} */
    var found = [];
    /**
     * @param {string} field
     * @param {string} code
     * @param {string[]} answers
     * @param {string} blank
     */
    function consider(field, code, answers, blank) {
      if (/** @type {any} */ (known)[field]) return;
      var groups = answers.map(function (answer) {
        var one = Object.assign({}, known);
        /** @type {any} */ (one)[field] = answer;
        return ids.filter(function (id) {
          return mayBe(words, words.classes[id], one);
        });
      });
      var told = answers.filter(function (_, at) {
        return groups[at].length;
      });
      var parts = groups.some(function (group) {
        return group.length && group.length < ids.length;
      });
      if (told.length < 2 || !(field === "port" || parts)) return;
      var sum = 0;
      answers.forEach(function (answer, at) {
        if (groups[at].length) sum += widthOf(members, groups[at], field === "port" ? answer : "");
      });
      // One answer would leave all of them, and none brings the minutes closer: not worth the caller's time.
      var idle = groups.some(function (group) {
        return group.length === ids.length;
      });
      if (field !== "port" && idle && sum / told.length >= width(members.map(planOf))) return;
      var text = words.sentences[code].replace(/\{\w+\}/, function () {
        return field === "port" || field === "body" ? told.map(nameOf).join(blank) : told.join(blank);
      });
      found.push({ code: code, field: field, answers: told, question: text, mean: sum / told.length });

      /** @param {string} answer @returns {string} */
      function nameOf(answer) {
        return field === "port" ? words.inlets[answer][0].replace(/ inlet$/, "") : words.bodies[answer].toLowerCase();
      }
    }
    /** @type {string[]} */
    var ports = [];
    /** @type {string[]} */
    var bodies = [];
    ids.forEach(function (id) {
      ports = ports.concat(words.classes[id][PORTS]);
      bodies.push(words.classes[id][BODY]);
    });
    consider("port", "ask_port", unique(ports), " or ");
    consider("body", "ask_body", unique(bodies), ", ");
    consider("door", "ask_fuel_door", ["yes", "no"], "");
    consider("built", "ask_built", Object.keys(words.built), ", ");
    consider("battery", "ask_battery", Object.keys(words.batteries), "");
    return found
      .map(function (one, at) {
        return { one: one, at: at };
      })
      .sort(function (a, b) {
        return a.one.mean - b.one.mean || a.at - b.at;
      })
      .map(function (item) {
        return item.one;
      });
  }

  /**
   * @param {Member[]} members
   * @param {string[]} group
   * @param {string} port
   * @returns {number}
   */
  function widthOf(members, group, port) {
    var several = members.filter(function (member) {
      return group.indexOf(member.id) >= 0;
    });
    var at_port = several.filter(function (member) {
      return !port || !member.inlet || member.inlet === port;
    });
    return width((at_port.length ? at_port : several).map(planOf));
  }

  rangeferry.known = { matching: matching, find: find, cases: cases, envelope: envelope };
})();
